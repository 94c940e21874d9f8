//! What a crew keeps in its log beyond what keenspan reads: carried along, never judged.

use super::{Line, LogFile};
use std::collections::BTreeMap;

/// Which row an extra cell belongs to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RowKey {
    /// A record of machines.csv, sets.csv, runs.csv or events.csv.
    Line(Line),
    /// A row of shop.csv or costs.csv, by its key.
    Key(String),
}

/// The columns of one file that keenspan does not know.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ExtraColumns {
    /// Their names, in the order of the file.
    pub names: Vec<String>,
    /// Their cells, as many as there are names. A row that is absent has them blank.
    pub cells: BTreeMap<RowKey, Vec<String>>,
    /// What the note column of shop.csv or costs.csv says, by key.
    pub notes: BTreeMap<String, String>,
}

/// The extra columns of every file that has any.
pub type Extras = BTreeMap<LogFile, ExtraColumns>;
