//! What the crew should know about their meter readings.

use super::hours;
use super::meter_line::{MachineLog, Mark, MeterLine, Owner, Side, Spot};
use super::note::{Matter, Note, Record};
use crate::logbook::{Machine, MeterSpan};

/// Notes where the meter of one machine moved by more hours than there were.
pub(super) fn note_jumps<'a>(
    used: impl Iterator<Item = &'a Mark>,
    machine: &Machine,
    notes: &mut Vec<Note>,
) {
    let mut last: Option<&Mark> = None;
    for mark in used.filter(|mark| mark.date.is_some()) {
        if let Some(jump) = last.and_then(|last| jump(last, mark, machine)) {
            notes.push(jump);
        }
        last = Some(mark);
    }
}

fn jump(from: &Mark, to: &Mark, machine: &Machine) -> Option<Note> {
    let days = to.date?.since(from.date?).ok()?.get_days() + 1;
    let rise = to.reading - from.reading;
    (rise > 24.0 * f64::from(days)).then(|| Note {
        record: to.record,
        matter: Matter::Jump {
            machine: machine.name.clone(),
            from: from.record,
            hours: hours(rise),
            days,
        },
    })
}

/// Notes on readings that were not used. A run's start alone is an overlap, noted with the run.
pub(super) fn note_out_of_line(log: &MachineLog<'_>, line: &MeterLine, notes: &mut Vec<Note>) {
    let mut note = |record, reading| {
        let machine = log.machine.name.clone();
        let matter = Matter::ReadingOutOfLine { machine, reading };
        notes.push(Note { record, matter });
    };
    let off = |owner, side| matches!(line.spot(owner, side), Some(Spot::Off { .. }));
    if let Some(meter) = log.machine.meter.filter(|_| off(Owner::Machine, Side::At)) {
        note(Record::Machine(log.machine.line), meter);
    }
    for (index, run) in log.runs.iter().enumerate() {
        if let MeterSpan::Readings { end, .. } = run.span
            && off(Owner::Run(index), Side::End)
        {
            note(Record::Run(run.line), end);
        }
    }
    for (index, event) in log.events.iter().enumerate() {
        let old = event.meter.filter(|_| {
            off(Owner::Event(index), Side::At) || off(Owner::Event(index), Side::Begin)
        });
        let new = event
            .new_meter
            .filter(|_| off(Owner::Event(index), Side::End));
        for reading in old.into_iter().chain(new) {
            note(Record::Event(event.line), reading);
        }
    }
}
