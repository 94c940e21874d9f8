//! What is left of rows that were set aside.

use super::cells::date;
use super::known::{Known, Names};
use super::row::RowReader;
use crate::logbook::{Line, LogFile, UnreadRow};
use jiff::civil::Date;

/// A row set aside, its names still as written.
#[derive(Debug)]
pub(super) struct RawUnread {
    line: Line,
    date: Option<Date>,
    names: Vec<String>,
    words: String,
}

impl RawUnread {
    /// Of a row out of shape any cell may be a name or a note.
    pub(super) fn of(row: &RowReader<'_>) -> Self {
        let of = |columns: &[&str]| columns.iter().map(|column| row.text(column)).collect();
        let (names, words): (Vec<&str>, Vec<&str>) = if row.is_out_of_shape() {
            (row.texts().collect(), row.texts().collect())
        } else {
            (of(&["machine", "set", "name"]), of(&["event", "note"]))
        };
        Self {
            line: row.line(),
            date: date(row.text("date"), row.ways.dates).ok(),
            names: names.into_iter().map(str::to_owned).collect(),
            // A stop between two cells: a "no" in one denies nothing in the next.
            words: words.join(". "),
        }
    }

    pub(super) fn resolved(self, file: LogFile, known: &Known) -> UnreadRow {
        let names_in = |names: &Names| {
            let written = self.names.iter().filter(|name| !name.is_empty());
            let found = written.filter_map(|name| names.find(name));
            found.map(|named| named.name.clone()).collect()
        };
        UnreadRow {
            file,
            line: self.line,
            date: self.date,
            machines: names_in(&known.machines),
            sets: names_in(&known.sets),
            words: self.words,
        }
    }
}
