//! What an edge looks like to the person who checks it.

use serde::{Deserialize, Serialize};

/// The four grades that a person gives an edge, each a band of the wear fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// Less than half of its life used.
    Keen,
    /// Half to 85 % used: cuts, but no longer like new.
    Working,
    /// About at the end: 85 to 115 %.
    Dull,
    /// Run on past dull: more than 115 %.
    Overrun,
}

impl Grade {
    /// Every grade, sharpest first.
    pub const ALL: [Grade; 4] = [Grade::Keen, Grade::Working, Grade::Dull, Grade::Overrun];

    /// The wear fractions where one grade gives way to the next.
    /// Basis: common practice, set for this program; no source prints thresholds for chipper edges.
    pub const CUTS: [f64; 3] = [0.5, 0.85, 1.15];

    /// The band of wear fraction that the grade stands for; `None` where it is open-ended.
    pub fn band(self) -> (Option<f64>, Option<f64>) {
        match self {
            Grade::Keen => (None, Some(Self::CUTS[0])),
            Grade::Working => (Some(Self::CUTS[0]), Some(Self::CUTS[1])),
            Grade::Dull => (Some(Self::CUTS[1]), Some(Self::CUTS[2])),
            Grade::Overrun => (Some(Self::CUTS[2]), None),
        }
    }

    /// The word the crew uses.
    pub fn word(self) -> &'static str {
        match self {
            Grade::Keen => "keen",
            Grade::Working => "working",
            Grade::Dull => "dull",
            Grade::Overrun => "overrun",
        }
    }
}
