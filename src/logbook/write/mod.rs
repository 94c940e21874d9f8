//! Writing a log so that nothing is ever lost: a file is replaced whole or not at all.

mod amounts;
mod append;
mod atomic;
mod edge_runs;
mod error;
mod parquet;
mod rows;
mod text;

pub use append::{AppendError, append_row, read_with_row};
pub use edge_runs::EdgeRunsText;
pub use error::WriteError;
pub use parquet::{ParquetValues, write_parquet};

use super::{LogFile, Logbook, read};
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
/// [`WriteError`], naming the file. [`WriteError::WouldLose`] where the log that stands there has rows
/// that could not be read: a record was never made of them, so writing would drop them.
pub fn write_logbook(folder: &Path, logbook: &Logbook) -> Result<(), WriteError> {
    let locked = LogFolder::lock(folder)?;
    let unread = read::read_logbook(folder).map_or(0, |there| there.set_aside());
    if unread > 0 {
        return Err(WriteError::WouldLose {
            path: folder.to_owned(),
            rows: unread,
        });
    }
    write_all(&locked, logbook)
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
    write_all(&locked, logbook)
}

/// The text of every file of a log, as [`write_logbook`] writes it; opens nothing.
pub fn texts(logbook: &Logbook) -> Vec<(LogFile, String)> {
    LogFile::ALL
        .map(|file| (file, text::whole(file, logbook)))
        .into()
}

/// Writes a file beside logs, such as a saved model: replaced whole or not at all.
///
/// # Errors
///
/// [`WriteError::File`]; what stood there before stands unharmed.
pub fn write_text_file(path: &Path, text: &str) -> Result<(), WriteError> {
    write_file(path, text.as_bytes())
}

/// Writes a file that is no text, such as a PDF: replaced whole or not at all.
///
/// # Errors
///
/// [`WriteError::File`]; what stood there before stands unharmed.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    atomic::replace(path, bytes)
}

fn write_all(folder: &LogFolder, logbook: &Logbook) -> Result<(), WriteError> {
    for file in LogFile::ALL {
        folder.replace(file.name(), text::whole(file, logbook).as_bytes())?;
    }
    Ok(())
}
