//! Writing a log so that nothing is ever lost: a file is replaced whole or not at all.

mod amounts;
mod atomic;
mod error;
mod rows;
mod text;

pub use error::WriteError;

use super::{LogFile, Logbook};
use atomic::LogFolder;
use std::path::Path;

/// Writes every file of a log, making the folder where there is none. Each file is replaced whole or
/// not at all; a stop in between leaves some files new and some old, each of them sound.
///
/// The line numbers in the records do not set the order: rows stand in the order of the vectors.
/// Extra columns go to the record of the same line. Blanks at the ends of a text are not kept.
///
/// # Errors
///
/// [`WriteError`], naming the file.
pub fn write_logbook(folder: &Path, logbook: &Logbook) -> Result<(), WriteError> {
    let folder = LogFolder::lock(folder)?;
    for file in LogFile::ALL {
        folder.replace(file.name(), text::whole(file, logbook).as_bytes())?;
    }
    Ok(())
}

/// Starts a log in a folder that has none.
///
/// # Errors
///
/// [`WriteError::AlreadyThere`] where a file of the log exists; nothing is written then.
pub fn write_new_logbook(folder: &Path, logbook: &Logbook) -> Result<(), WriteError> {
    let locked = LogFolder::lock(folder)?;
    if let Some(file) = LogFile::ALL.iter().find(|file| locked.has(file.name())) {
        return Err(WriteError::AlreadyThere {
            path: folder.join(file.name()),
        });
    }
    for file in LogFile::ALL {
        locked.replace(file.name(), text::whole(file, logbook).as_bytes())?;
    }
    Ok(())
}
