//! Why a log could not be read at all.

use crate::logbook::{Line, Problem};
use std::io;
use std::path::{Path, PathBuf};

/// A log that cannot be read at all. What is wrong inside its files is a
/// [`Problem`] instead.
#[derive(Debug, thiserror::Error)]
pub enum LogbookError {
    /// No such folder.
    #[error("there is no folder {}", .path.display())]
    NoFolder {
        /// The folder.
        path: PathBuf,
    },
    /// Without machines there is no log.
    #[error("there is no {}", .path.display())]
    NoMachines {
        /// The file that is missing.
        path: PathBuf,
    },
    /// The system will not hand out a file.
    #[error("cannot read {}: {source}", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

/// Why a list of jobs could not be read.
#[derive(Debug, thiserror::Error)]
pub enum JobListError {
    /// The system will not hand out the file.
    #[error(transparent)]
    Unreadable(LogbookError),
    /// What is wrong in it.
    #[error("{}", told(path, problems))]
    Rows {
        /// The file.
        path: PathBuf,
        /// In the order of its lines.
        problems: Vec<Problem>,
    },
    /// It lists no job.
    #[error("{} lists no job; write a row for each, below the header", .path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
}

/// Every problem in a line of its own, under the name of the file.
fn told(path: &Path, problems: &[Problem]) -> String {
    let line = |problem: &Problem| {
        let found = match problem.found_in_short() {
            found if found.is_empty() => "nothing".to_owned(),
            found => format!("\"{found}\""),
        };
        let Problem {
            line: Line(line),
            column,
            wanted,
            ..
        } = problem;
        let file = path.display();
        format!("{file} line {line}, column \"{column}\": found {found}; write {wanted}")
    };
    problems.iter().map(line).collect::<Vec<_>>().join("\n")
}
