//! Reading a log: typed records, and every problem in one pass.

mod cells;
mod error;
mod events;
mod header;
mod jobs;
mod key_values;
mod known;
mod machines;
mod row;
mod runs;
mod sets;
mod table;
mod unread;
mod woods;

pub use error::{JobListError, LogbookError};
pub use jobs::read_job_list;

use super::{ExtraColumns, Extras, LogFile, Logbook, Problem, UnreadRow};
use crate::quantities::{Units, Width};
use cells::Ways;
use known::Known;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use table::TableReading;
use unread::RawUnread;

/// The bytes of the files of a log; a file that does not exist is absent.
pub type LogTexts = BTreeMap<LogFile, Vec<u8>>;

/// How many rows a file had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FileCount {
    /// The file.
    pub file: LogFile,
    /// Its rows, without the header and blank rows.
    pub rows: usize,
    /// Those with a problem. The rest were used.
    pub set_aside: usize,
}

/// A log as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was understood. A run or event may name a machine or set whose own row was set aside.
    pub logbook: Logbook,
    /// Everything that is wrong, in the order of the files and their lines.
    pub problems: Vec<Problem>,
    /// The files that exist, with their rows.
    pub files: Vec<FileCount>,
}

impl Reading {
    /// Rows set aside in all files.
    pub fn set_aside(&self) -> usize {
        self.files.iter().map(|count| count.set_aside).sum()
    }
}

/// Reads a log folder. What is wrong with a row sets that row aside and goes into
/// [`Reading::problems`]; everything else is used. Files other than machines.csv may be missing.
///
/// # Errors
///
/// [`LogbookError`] where there is no folder, no machines.csv, or a file that the system will not
/// hand out.
pub fn read_logbook(folder: &Path) -> Result<Reading, LogbookError> {
    Ok(read_texts(&load(folder)?))
}

/// The bytes of a log folder's files.
///
/// # Errors
///
/// As for [`read_logbook`].
pub fn load(folder: &Path) -> Result<LogTexts, LogbookError> {
    if !folder.is_dir() {
        return Err(LogbookError::NoFolder {
            path: folder.to_owned(),
        });
    }
    let mut texts = LogTexts::new();
    for file in LogFile::ALL {
        let path = folder.join(file.name());
        match fs::read(&path) {
            Ok(bytes) => {
                texts.insert(file, bytes);
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(source) => return Err(LogbookError::Unreadable { path, source }),
        }
    }
    if texts.contains_key(&LogFile::Machines) {
        Ok(texts)
    } else {
        Err(LogbookError::NoMachines {
            path: folder.join(LogFile::Machines.name()),
        })
    }
}

/// Reads a file beside logs, such as a saved model.
///
/// # Errors
///
/// [`LogbookError::Unreadable`] where the system will not hand it out, or it is not UTF-8 text.
pub fn read_text_file(path: &Path) -> Result<String, LogbookError> {
    fs::read_to_string(path).map_err(|source| LogbookError::Unreadable {
        path: path.to_owned(),
        source,
    })
}

/// Reads a width or depth as it would be read in a log: "0.970 in", `15/16"`, "24.6 mm"; a bare number is
/// in these units.
///
/// # Errors
///
/// What would be right, in words.
pub fn read_width(text: &str, units: Units) -> Result<Width, String> {
    let ways = Ways {
        units,
        dates: None,
        comma_decimal: false,
    };
    cells::width(text.trim(), ways)
}

/// Reads a file that need be no text.
///
/// # Errors
///
/// [`LogbookError::Unreadable`] where the system will not hand it out.
pub fn read_file(path: &Path) -> Result<Vec<u8>, LogbookError> {
    fs::read(path).map_err(|source| LogbookError::Unreadable {
        path: path.to_owned(),
        source,
    })
}

/// Reads a log from the bytes of its files. Any bytes will do: what cannot be read is a problem.
pub fn read_texts(texts: &LogTexts) -> Reading {
    let mut gathered = Gathered::default();
    let shop = gathered.take(texts, LogFile::Shop, key_values::shop);
    let ways = Ways {
        units: shop.settings.units,
        dates: shop.settings.dates,
        comma_decimal: false,
    };
    let items = gathered.take(texts, LogFile::Costs, |it| key_values::costs(it, ways));
    let machines = gathered.take(texts, LogFile::Machines, |it| machines::read(it, ways));
    let sets = gathered.take(texts, LogFile::Sets, |it| sets::read(it, ways));
    let known = Known {
        machines: machines.names,
        sets: sets.names,
    };
    let (runs, events) = rayon::join(
        || {
            texts
                .get(&LogFile::Runs)
                .map(|it| runs::read(it, ways, &known))
        },
        || {
            texts
                .get(&LogFile::Events)
                .map(|it| events::read(it, ways, &known))
        },
    );
    let runs = gathered.keep(LogFile::Runs, runs);
    let events = gathered.keep(LogFile::Events, events);
    let logbook = Logbook {
        machines: machines.records,
        sets: sets.records,
        runs,
        events,
        unread: gathered.unread_rows(&known),
        costs: super::CostEntries {
            items,
            currency: shop.currency,
            flat_when_dull: shop.flat_when_dull,
        },
        shop: shop.settings,
        extras: gathered.extras,
    };
    Reading {
        logbook,
        problems: gathered.problems,
        files: gathered.files,
    }
}

/// What every file adds to.
#[derive(Debug, Default)]
struct Gathered {
    problems: Vec<Problem>,
    files: Vec<FileCount>,
    extras: Extras,
    unread: Vec<(LogFile, RawUnread)>,
}

impl Gathered {
    /// What is left of the rows on sets, runs and events that were set aside.
    fn unread_rows(&mut self, known: &Known) -> Vec<UnreadRow> {
        let rows = std::mem::take(&mut self.unread).into_iter();
        rows.filter(|(file, _)| matches!(file, LogFile::Sets | LogFile::Runs | LogFile::Events))
            .map(|(file, row)| row.resolved(file, known))
            .collect()
    }

    /// Reads one file, keeps what is common to all of them and hands on the rest.
    fn take<T: Default>(
        &mut self,
        texts: &LogTexts,
        file: LogFile,
        read: impl FnOnce(&[u8]) -> (T, TableReading),
    ) -> T {
        self.keep(file, texts.get(&file).map(|bytes| read(bytes)))
    }

    /// Keeps of what was read what is common to all files, and hands on the rest. A file that does not exist is an
    /// empty table and has no count.
    fn keep<T: Default>(&mut self, file: LogFile, read: Option<(T, TableReading)>) -> T {
        let Some((value, reading)) = read else {
            return T::default();
        };
        self.problems.extend(reading.problems);
        let unread = reading.unread.into_iter().map(|row| (file, row));
        self.unread.extend(unread);
        self.files.push(FileCount {
            file,
            rows: reading.rows,
            set_aside: reading.set_aside,
        });
        if reading.extras != ExtraColumns::default() {
            self.extras.insert(file, reading.extras);
        }
        value
    }
}
