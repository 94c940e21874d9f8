//! A job that has not been done yet.

use super::Line;
use crate::quantities::MeterHours;
use crate::wood::{Contamination, WoodMix, WoodState};

/// How long a job is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum JobLength {
    /// Meter hours.
    Hours(MeterHours),
    /// Truck or trailer loads.
    Loads(f64),
}

/// One job on a list. What is `None` was left blank: as the machine usually has it.
#[derive(Debug, Clone, PartialEq)]
pub struct JobToCome {
    /// Line in the list.
    pub line: Line,
    /// What the crew calls it.
    pub name: String,
    /// How long it is.
    pub length: JobLength,
    /// What will be chipped.
    pub wood: Option<WoodMix>,
    /// How dirty.
    pub contamination: Option<Contamination>,
    /// Green, dry or frozen.
    pub state: Option<WoodState>,
}
