//! On what a figure of the trade rests.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Where a figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Basis {
    /// It stands in print; the source is named.
    #[serde(rename = "published")]
    Published,
    /// The trade says so, or it was judged.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Recalled; source not at hand.
    #[serde(rename = "from memory")]
    FromMemory,
    /// This shop gave it.
    #[serde(rename = "this shop")]
    ThisShop,
    /// Learned from this shop's own log.
    #[serde(rename = "own log")]
    OwnLog,
}

impl fmt::Display for Basis {
    /// As it is written in a prior pack.
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(match self {
            Basis::Published => "published",
            Basis::CommonPractice => "common practice",
            Basis::FromMemory => "from memory",
            Basis::ThisShop => "this shop",
            Basis::OwnLog => "own log",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_basis_is_shown_as_it_is_written() {
        for basis in [
            Basis::Published,
            Basis::CommonPractice,
            Basis::FromMemory,
            Basis::ThisShop,
            Basis::OwnLog,
        ] {
            let written = serde_json::to_string(&basis).expect("a word");
            assert_eq!(written, format!("\"{basis}\""));
        }
    }
}
