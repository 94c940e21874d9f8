//! What can be wrong with a life table.

use crate::logbook::text_rows::READABLE;
use crate::logbook::{RowNames, TableFault};
use std::path::PathBuf;

/// One fault in a life table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{}column \"{column}\": found \"{found}\"; write {wanted}",
    rows.before_column(*line)
)]
pub struct LifeTableProblem {
    /// What its rows are called.
    pub rows: RowNames,
    /// Line in the file, the header being line 1; of a table without a header line as if it had one.
    pub line: u64,
    /// Column, as the header calls it.
    pub column: String,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub wanted: &'static str,
}

/// Why a life table cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum LifeTableReadError {
    /// The file cannot be opened or read, or is no table.
    #[error("{}: {error}", file.display())]
    File {
        /// Which file.
        file: PathBuf,
        /// Why.
        error: TableFault,
    },
    /// A column that must be there is not.
    #[error(
        "{}: {} has no column \"{column}\"; write {} with lower and upper",
        file.display(),
        rows.first(),
        rows.header()
    )]
    MissingColumn {
        /// Which file.
        file: PathBuf,
        /// What its rows are called.
        rows: RowNames,
        /// Which column.
        column: &'static str,
    },
    /// The same column stands twice.
    #[error(
        "{}: {} has two columns \"{column}\"; give each its own name",
        file.display(),
        rows.first()
    )]
    TwiceTheColumn {
        /// Which file.
        file: PathBuf,
        /// What its rows are called.
        rows: RowNames,
        /// Which column.
        column: String,
    },
    /// A covariate was asked for that the table does not have.
    #[error("{}: there is no column \"{name}\"; the columns are {}", file.display(), columns.join(", "))]
    UnknownCovariate {
        /// Which file.
        file: PathBuf,
        /// What was asked for.
        name: String,
        /// What there is.
        columns: Vec<String>,
    },
    /// A column holds what no number can be made of.
    #[error("{}: column \"{column}\": found {found}; write {READABLE}", file.display())]
    UnreadableColumn {
        /// Which file.
        file: PathBuf,
        /// Which column.
        column: String,
        /// What it holds, in words.
        found: String,
    },
    /// No rows.
    #[error("{}: there are no rows below the header", file.display())]
    Empty {
        /// Which file.
        file: PathBuf,
    },
    /// Faults in rows, all of them.
    #[error("{}: {} faults, the first on {}", file.display(), problems.len(), problems[0])]
    Rows {
        /// Which file.
        file: PathBuf,
        /// At least one.
        problems: Vec<LifeTableProblem>,
    },
}
