//! A row that was set aside, as far as it can be understood.

use super::{Line, LogFile};
use jiff::civil::Date;

/// A row of sets.csv, runs.csv or events.csv that was set aside for something in it that cannot be read. It
/// counts for nothing, but what it says of damage must not be lost with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnreadRow {
    /// The file.
    pub file: LogFile,
    /// The line in that file.
    pub line: Line,
    /// The day, where that can be read.
    pub date: Option<Date>,
    /// The machines that it names.
    pub machines: Vec<String>,
    /// The knife sets that it names.
    pub sets: Vec<String>,
    /// What was written of what happened, and beside it.
    pub words: String,
}
