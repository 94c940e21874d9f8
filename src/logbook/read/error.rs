//! Why a log could not be read at all.

use std::io;
use std::path::PathBuf;

/// A log that cannot be read at all. What is wrong inside its files is a
/// [`Problem`](crate::logbook::Problem) instead.
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
