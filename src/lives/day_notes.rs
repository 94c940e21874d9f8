//! Notes on days that cannot be. They need today's date, which only those who have a clock can give.

use super::note::{Matter, Note, Record};
use super::tally::Tally;
use crate::logbook::{ImpossibleDay, LogFile, Logbook, impossible_days};
use jiff::civil::Date;

impl Tally {
    /// Adds a note for every row about a day after `today`, or with more hours than a day has.
    pub fn note_days(&mut self, log: &Logbook, today: Date) {
        let days = impossible_days(log, today);
        self.notes.extend(days.into_iter().filter_map(note));
        self.notes.sort_by_key(|note| note.record);
    }
}

fn note(day: ImpossibleDay) -> Option<Note> {
    let record = match day.file {
        LogFile::Runs => Record::Run(day.line),
        LogFile::Events => Record::Event(day.line),
        _ => return None,
    };
    Some(Note {
        record,
        matter: Matter::ImpossibleDay(day),
    })
}
