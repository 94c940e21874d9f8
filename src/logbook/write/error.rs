//! Why a log could not be written.

use std::io;
use std::path::PathBuf;

/// A log that could not be written. What stood there before stands unharmed.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The folder cannot be made, opened or locked.
    #[error("cannot write in {}: {source}; nothing was changed", .path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A file cannot be written or put in place: full disk, no permission, held by another program.
    #[error("cannot write {}: {source}; the file stands as it was before", .path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A new log was asked for where there is one.
    #[error("{} exists already; nothing was changed", .path.display())]
    AlreadyThere {
        /// The file that is there.
        path: PathBuf,
    },
    /// The log that stands there has rows that could not be read and would be lost.
    #[error("{} holds {rows} rows that could not be read; nothing was changed", .path.display())]
    WouldLose {
        /// The folder.
        path: PathBuf,
        /// How many rows.
        rows: usize,
    },
}
