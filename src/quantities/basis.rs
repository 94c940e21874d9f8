//! On what a figure of the trade rests.

use serde::{Deserialize, Serialize};

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
}
