//! A matched set of knives.

use super::Line;
use crate::quantities::Width;

/// One set: knives ground together and kept together.
#[derive(Debug, Clone, PartialEq)]
pub struct KnifeSet {
    /// Line in sets.csv.
    pub line: Line,
    /// What the crew calls it.
    pub name: String,
    /// Knives in the set.
    pub knives: u32,
    /// Cutting edges on each knife.
    pub edges_per_knife: u32,
    /// Width when the log was started, or when bought.
    pub width: Option<Width>,
    /// Regrinds it had before the log was started.
    pub regrinds: u32,
    /// Steel, as written.
    pub steel: String,
    /// Whatever else.
    pub note: String,
}

impl KnifeSet {
    /// A new set of reversible knives, every other cell blank. Its line is 0 until it stands in a file.
    pub fn named(name: &str, knives: u32) -> Self {
        Self {
            line: Line(0),
            name: name.to_owned(),
            knives,
            edges_per_knife: 2,
            width: None,
            regrinds: 0,
            steel: String::new(),
            note: String::new(),
        }
    }
}
