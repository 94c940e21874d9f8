//! A stretch of chipping.

use super::Line;
use crate::quantities::MeterHours;
use crate::wood::{Contamination, WoodMix, WoodState};
use jiff::civil::Date;

/// How the crew wrote down the length of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MeterSpan {
    /// Hour-meter readings at start and end; end is not before start.
    Readings {
        /// Reading at the start.
        start: MeterHours,
        /// Reading at the end.
        end: MeterHours,
    },
    /// Only how long it ran.
    Hours(MeterHours),
}

/// One run: one machine, one kind of work.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Line in runs.csv.
    pub line: Line,
    /// The day.
    pub date: Date,
    /// Which machine, by name.
    pub machine: String,
    /// How long.
    pub span: MeterSpan,
    /// What was chipped. `None` where the crew left it blank: counted as the usual mix.
    pub wood: Option<WoodMix>,
    /// How dirty. `None` where blank: counted as the usual mix.
    pub contamination: Option<Contamination>,
    /// Green, dry or frozen; blank is green.
    pub state: WoodState,
    /// Truck or trailer loads, where counted.
    pub loads: Option<f64>,
    /// Who ran it.
    pub who: String,
    /// Whatever else.
    pub note: String,
}

impl Run {
    /// A run of which nobody wrote more than when, where and how long. Its line is 0 until it stands in
    /// a file.
    pub fn on(date: Date, machine: &str, span: MeterSpan) -> Self {
        Self {
            line: Line(0),
            date,
            machine: machine.to_owned(),
            span,
            wood: None,
            contamination: None,
            state: WoodState::Green,
            loads: None,
            who: String::new(),
            note: String::new(),
        }
    }
}
