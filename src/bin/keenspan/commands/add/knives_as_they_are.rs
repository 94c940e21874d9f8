//! Rows about knives that cannot be as they say: thrown away and fitted again, flipped with one edge.
//!
//! A log written by hand that holds such a row is read, with an alarm or a note; here it is refused while
//! whoever writes it still stands by the machine.

use crate::failure::Failure;
use keenspan::lives::{Matter, Record, edge_lives};
use keenspan::logbook::write::read_with_row;
use keenspan::logbook::{EdgeEvent, EventKind, Line, LogFile, Logbook};
use std::path::Path;

/// Refuses the row where the log, read with it, says that of it.
pub fn check(folder: &Path, file: LogFile, cells: &[(&str, String)]) -> Result<(), Failure> {
    if file != LogFile::Events {
        return Ok(());
    }
    let (reading, line) = read_with_row(folder, file, cells)?;
    let log = &reading.logbook;
    let notes = edge_lives(log).tally.notes;
    let own = notes
        .iter()
        .filter(|note| note.record == Record::Event(line));
    let refused = own.filter_map(|note| match &note.matter {
        Matter::FittedAfterDiscard { set } => Some(discarded(log, set, line)),
        Matter::FlippedSingleEdge { set } => Some(format!(
            "the knives of {set} have one cutting edge each and cannot be flipped. Write pulled where they came out, \
             or put right the column edges of sets.csv"
        )),
        _ => None,
    });
    match refused.into_iter().next() {
        Some(why) => Err(Failure::Usage(format!("nothing was written: {why}"))),
        None => Ok(()),
    }
}

/// That a set was thrown away: when, and by which row.
fn discarded(log: &Logbook, set: &str, line: Line) -> String {
    let fitted = log.events.iter().find(|event| event.line == line);
    let before = |event: &&EdgeEvent| {
        event.kind == EventKind::Discarded
            && event.set.as_deref() == Some(set)
            && fitted.is_none_or(|fitted| event.date <= fitted.date)
    };
    let last = log
        .events
        .iter()
        .filter(before)
        .max_by_key(|it| (it.date, it.line));
    let when = last.map_or(String::new(), |event| {
        format!(" on {} (events.csv line {})", event.date, event.line.0)
    });
    format!(
        "{set} was discarded{when}; give the new knives a name of their own: keenspan add set --name NAME --knives N"
    )
}
