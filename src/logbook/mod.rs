//! What the crew wrote: a folder of plain CSV files, read into typed records and a list of problems.
//!
//! This room knows files and people's ways of writing; it knows nothing of statistics or the clock.
//! `read` and `write` are the only places in the library that open files.
//!
//! # Examples
//!
//! A row that cannot be read is set aside with what would be right; everything else is used.
//!
//! ```
//! use keenspan::logbook::LogFile;
//! use keenspan::logbook::read::{LogTexts, read_texts};
//!
//! let text = |text: &str| text.as_bytes().to_vec();
//! let reading = read_texts(&LogTexts::from([
//!     (LogFile::Machines, text("name,rotor,knives,edges,meter\nbig drum,drum,4,2,1200\n")),
//!     (LogFile::Runs, text("date,machine,hours,wood,dirt\n\
//!         2026-03-02,big drum,6,oak,dusty\n\
//!         2026-03-03,big drum,5.5,oak,filthy\n")),
//! ]));
//! assert_eq!(reading.logbook.runs.len(), 1);
//! let problem = &reading.problems[0];
//! assert_eq!((problem.file, problem.line.0, problem.column.as_str()), (LogFile::Runs, 3, "dirt"));
//! assert_eq!((problem.found.as_str(), reading.set_aside()), ("filthy", 1));
//! ```
//!
//! A folder is read with [`read::read_logbook`], and written with [`write::write_new_logbook`] or, row by row,
//! [`write::append_row`]. What is written reads back as it was.
//!
//! ```
//! use keenspan::logbook::read::read_logbook;
//! use keenspan::logbook::write::write_new_logbook;
//!
//! let demo = read_logbook("datasets/demo-riverbank".as_ref())?.logbook;
//! let folder = tempfile::tempdir()?;
//! write_new_logbook(folder.path(), &demo)?;
//! let back = read_logbook(folder.path())?;
//! assert!(back.problems.is_empty());
//! assert_eq!(back.logbook.runs.len(), demo.runs.len());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod apostrophe;
mod costs;
mod days;
mod edge_event;
mod edge_runs;
mod extras;
mod files;
mod job_to_come;
mod knife_set;
mod life_table;
mod machine;
mod own_conditions;
mod parquet_table;
mod plain;
mod problem;
pub mod read;
mod row_with_mark;
mod run;
mod sheet;
mod shop;
mod text_rows;
mod unread_row;
pub mod write;

pub use costs::{CostEntries, CostItem};
pub use days::{DayFault, ImpossibleDay, impossible_days};
pub use edge_event::{EdgeEvent, EventKind};
pub use edge_runs::{
    CovariateRows, Dulling, EdgeHours, EdgeRun, EdgeRuns, EdgeRunsProblem, EdgeRunsReadError,
    EdgeSeen, EdgeWithRuns, UnusedEdge, has_lines, read_edge_hours, read_edge_runs,
};
pub use extras::{ExtraColumns, Extras, RowKey};
pub use files::{Column, LogFile};
pub use job_to_come::{JobLength, JobToCome};
pub use knife_set::KnifeSet;
pub use life_table::{
    LifeTableBlock, LifeTableFile, LifeTableProblem, LifeTableReadError, read_life_table,
};
pub use machine::{Machine, Rotor};
pub use own_conditions::{OwnConditions, UnreadColumn, UnreadReason};
pub use parquet_table::{ParquetFault, is_parquet};
pub use problem::Problem;
pub use row_with_mark::row_with_mark;
pub use run::{MeterSpan, Run};
pub use shop::{DateOrder, ShopSettings};
pub use text_rows::{RowNames, TableFault};
pub use unread_row::UnreadRow;

/// Where a record stands in its file: 1-based line, the header being line 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Line(pub u64);

/// Everything that was read and understood.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Logbook {
    /// The machines.
    pub machines: Vec<Machine>,
    /// The matched knife sets.
    pub sets: Vec<KnifeSet>,
    /// What was chipped, in the order of the file.
    pub runs: Vec<Run>,
    /// What happened to the edges, in the order of the file.
    pub events: Vec<EdgeEvent>,
    /// Rows on sets, runs and events that were set aside: nothing of them counts above.
    pub unread: Vec<UnreadRow>,
    /// What things cost this crew; items not given fall back on the defaults.
    pub costs: CostEntries,
    /// Whose log it is and how it is written.
    pub shop: ShopSettings,
    /// Columns that the crew added for itself.
    pub extras: Extras,
}
