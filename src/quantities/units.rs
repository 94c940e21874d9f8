//! Inches or millimetres.

use serde::{Deserialize, Serialize};

/// The units that a shop writes and reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Inches and pound-feet.
    #[default]
    Us,
    /// Millimetres and newton metres.
    Metric,
}

impl Units {
    /// Both.
    pub const ALL: [Units; 2] = [Units::Us, Units::Metric];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Units::Us => "us",
            Units::Metric => "metric",
        }
    }
}
