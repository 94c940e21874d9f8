//! events.csv.

use super::cells::{Parsed, Ways, count, date, hours, one_of, width};
use super::known::Known;
use super::machines::MOST_EDGES;
use super::row::RowReader;
use super::table::{TableReading, read_many_rows};
use crate::logbook::{EdgeEvent, EventKind, LogFile, RowKey};
use crate::quantities::Grade;

pub(super) fn read(bytes: &[u8], ways: Ways, known: &Known) -> (Vec<EdgeEvent>, TableReading) {
    read_many_rows(LogFile::Events, bytes, ways, |row| {
        event(row, known).map(|event| (RowKey::Line(event.line), event))
    })
}

fn event(row: &mut RowReader<'_>, known: &Known) -> Option<EdgeEvent> {
    let ways = row.ways;
    let date = row.required("date", "the day, such as 2026-03-05", |text| {
        date(text, ways.dates)
    });
    let kind = row.required("event", "what was done or seen, such as fitted", kind);
    let machine = row.optional("machine", |text| {
        known.machines.resolve(text, LogFile::Machines)
    });
    let set = row.optional("set", |text| known.sets.resolve(text, LogFile::Sets));
    let edge = edge(row, known, machine.as_deref(), set.as_deref());
    let meter = row.optional("meter", |text| hours(text, ways));
    let new_meter = row.optional("new meter", |text| hours(text, ways));
    let grade = row.optional("grade", grade);
    let flat = row.optional("flat", |text| width(text, ways));
    let stock_removed = row.optional("stock removed", |text| width(text, ways));
    let nick = row.optional("nick", |text| width(text, ways));
    needs(row, kind?);
    Some(EdgeEvent {
        line: row.line(),
        date: date?,
        kind: kind?,
        machine,
        meter,
        set,
        edge,
        grade,
        flat,
        stock_removed,
        nick,
        new_meter,
        by: row.text("by").to_owned(),
        note: row.text("note").to_owned(),
    })
}

fn kind(text: &str) -> Parsed<EventKind> {
    let kind = one_of(text, &EventKind::ALL.map(|kind| (kind.words(), kind)));
    // The word that looks most like "cracked" is "checked": such a hint would hide the crack.
    kind.map_err(|instead| {
        let damage = text.to_lowercase();
        let damage = ["crack", "brok", "chip", "split", "bent", "fract", "snap"]
            .iter()
            .any(|word| damage.contains(word));
        if damage {
            "\"checked\", with what is wrong in its note, such as \"cracked at a bolt hole\"; the set is not to be run then"
                .to_owned()
        } else {
            instead
        }
    })
}

fn grade(text: &str) -> Parsed<Grade> {
    one_of(text, &Grade::ALL.map(|grade| (grade.word(), grade)))
}

/// No higher than the knives of that set, or else of that machine, have edges.
fn edge(
    row: &mut RowReader<'_>,
    known: &Known,
    machine: Option<&str>,
    set: Option<&str>,
) -> Option<u32> {
    let of_set = set.and_then(|name| known.sets.find(name));
    let of_machine = machine.and_then(|name| known.machines.find(name));
    let edges = of_set
        .and_then(|named| named.edges)
        .or(of_machine.and_then(|named| named.edges));
    row.optional("edge", |text| count(text, 1, edges.unwrap_or(MOST_EDGES)))
}

/// What an event says nothing without.
fn needs(row: &mut RowReader<'_>, kind: EventKind) {
    let blank = |row: &RowReader<'_>, column: &str| row.text(column).is_empty();
    match kind {
        EventKind::Fitted => {
            need(row, "machine", "the machine that the set went into");
            need(row, "set", "the set that was fitted");
        }
        EventKind::Reground | EventKind::Discarded => need(row, "set", "which set"),
        EventKind::BedKnifeTurned | EventKind::BedKnifeReset => {
            need(row, "machine", "the machine whose bed knife it is");
        }
        EventKind::MeterReplaced => {
            need(row, "machine", "the machine whose meter it is");
            need(row, "new meter", "what the new meter reads, such as 0");
        }
        _ if blank(row, "set") => need(row, "machine", "the machine, or the set in the set column"),
        _ => {}
    }
    let seen = ["grade", "flat", "nick", "note"];
    if kind == EventKind::Checked && seen.iter().all(|column| blank(row, column)) {
        need(
            row,
            "grade",
            "what it looked like: keen, working, dull or overrun, or a flat, a nick or a note",
        );
    }
}

fn need(row: &mut RowReader<'_>, column: &'static str, what: &str) {
    if row.text(column).is_empty() {
        row.fault(column, what.to_owned());
    }
}
