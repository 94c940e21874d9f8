//! What can be wrong with tables of edges and runs.

use crate::logbook::{RowNames, TableFault};
use std::path::PathBuf;

/// One fault in one of the two files.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{}: {}column \"{column}\": found {}; write {wanted}",
    file.display(),
    rows.before_column(*line),
    if found.is_empty() { "nothing".to_string() } else { format!("\"{found}\"") }
)]
pub struct EdgeRunsProblem {
    /// Which file.
    pub file: PathBuf,
    /// What its rows are called.
    pub rows: RowNames,
    /// Line in the file, the header being line 1; of a table without a header line as if it had one.
    pub line: u64,
    /// Column, as the header calls it.
    pub column: String,
    /// What stands there; blank where nothing does.
    pub found: String,
    /// What would be right, in words that follow "write".
    pub wanted: String,
}

/// Why tables of edges and runs cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum EdgeRunsReadError {
    /// A file cannot be opened or read, or is no table.
    #[error("{}: {error}", file.display())]
    File {
        /// Which file.
        file: PathBuf,
        /// Why.
        error: TableFault,
    },
    /// The group was asked for by a name that no column has, or by one that says what was seen.
    #[error(
        "{}: there is no column \"{name}\" that edges can be grouped by; there are {}",
        file.display(),
        if columns.is_empty() { "none".to_string() } else { columns.join(", ") }
    )]
    Group {
        /// Which file.
        file: PathBuf,
        /// What was asked for.
        name: String,
        /// Columns that edges can be grouped by.
        columns: Vec<String>,
    },
    /// Faults in headers and rows, all of them.
    #[error("{}", lines(problems))]
    Faults {
        /// At least one.
        problems: Vec<EdgeRunsProblem>,
    },
}

/// One line a fault.
fn lines(problems: &[EdgeRunsProblem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}
