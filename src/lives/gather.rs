//! Sorts the rows of a log by machine.

use super::meter_line::MachineLog;
use super::note::{Matter, Note, Record};
use super::placement::Placed;
use crate::logbook::{EdgeEvent, EventKind, Line, Logbook, OwnConditions};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// The rows of each machine, in order of its name, and the work on the bench, with rows of which no machine
/// is known: what they say of a set counts all the same.
pub(super) struct Gathered<'a> {
    pub(super) machines: Vec<MachineLog<'a>>,
    pub(super) bench: Vec<Placed<'a>>,
}

pub(super) fn gather<'a>(
    log: &'a Logbook,
    own: &'a OwnConditions,
    notes: &mut Vec<Note>,
) -> Gathered<'a> {
    let mut machines: BTreeMap<&str, MachineLog<'a>> = BTreeMap::new();
    for machine in &log.machines {
        machines.entry(&machine.name).or_insert(MachineLog {
            machine,
            runs: Vec::new(),
            events: Vec::new(),
            own,
        });
    }
    gather_runs(log, &mut machines, notes);
    let bench = gather_events(log, &mut machines, notes);
    let machines = machines.into_values().map(sorted).collect();
    Gathered { machines, bench }
}

fn sorted(mut log: MachineLog<'_>) -> MachineLog<'_> {
    log.runs.sort_by_key(|run| (run.date, run.line));
    log.events.sort_by_key(|event| (event.date, event.line));
    log
}

fn gather_runs<'a>(
    log: &'a Logbook,
    machines: &mut BTreeMap<&str, MachineLog<'a>>,
    notes: &mut Vec<Note>,
) {
    for run in &log.runs {
        match machines.get_mut(run.machine.as_str()) {
            Some(machine) => machine.runs.push(run),
            None => notes.push(unknown(Record::Run(run.line), &run.machine)),
        }
    }
}

fn gather_events<'a>(
    log: &'a Logbook,
    machines: &mut BTreeMap<&str, MachineLog<'a>>,
    notes: &mut Vec<Note>,
) -> Vec<Placed<'a>> {
    let fittings = fittings(log);
    let mut bench = Vec::new();
    for event in &log.events {
        if on_the_bench(event) {
            bench.push(Placed::on_the_bench(event));
            continue;
        }
        let record = Record::Event(event.line);
        let Some(name) = machine_of(event, log, &fittings) else {
            let kind = event.kind;
            let matter = Matter::NoMachine { kind };
            notes.push(Note { record, matter });
            bench.push(Placed::on_the_bench(event));
            continue;
        };
        match machines.get_mut(name) {
            Some(machine) => machine.events.push(event),
            None => {
                notes.push(unknown(record, name));
                bench.push(Placed::on_the_bench(event));
            }
        }
    }
    bench
}

fn unknown(record: Record, machine: &str) -> Note {
    let machine = machine.to_owned();
    let matter = Matter::UnknownMachine { machine };
    Note { record, matter }
}

/// Grinding and discarding happen on the bench, unless the row gives a place on a machine's meter.
fn on_the_bench(event: &EdgeEvent) -> bool {
    let bench = matches!(event.kind, EventKind::Reground | EventKind::Discarded);
    bench && (event.machine.is_none() || event.meter.is_none())
}

/// Which machine each set was fitted in, and when.
type Fittings<'a> = BTreeMap<&'a str, Vec<(Date, Line, &'a str)>>;

fn fittings(log: &Logbook) -> Fittings<'_> {
    let mut fittings: Fittings<'_> = BTreeMap::new();
    for event in &log.events {
        if let (EventKind::Fitted, Some(set), Some(machine)) =
            (event.kind, event.set.as_deref(), event.machine.as_deref())
        {
            let fitted = (event.date, event.line, machine);
            fittings.entry(set).or_default().push(fitted);
        }
    }
    for fitted in fittings.values_mut() {
        fitted.sort();
    }
    fittings
}

/// The machine named; else the one in which the set was last fitted; else the only one there is.
fn machine_of<'a>(
    event: &'a EdgeEvent,
    log: &'a Logbook,
    fittings: &Fittings<'a>,
) -> Option<&'a str> {
    let fitted_in = || {
        let fitted = fittings.get(event.set.as_deref()?)?;
        let earlier = fitted.partition_point(|(date, _, _)| *date <= event.date);
        let (_, _, machine) = fitted[..earlier].last()?;
        Some(*machine)
    };
    let only = || match log.machines.as_slice() {
        [only] => Some(only.name.as_str()),
        _ => None,
    };
    event.machine.as_deref().or_else(fitted_in).or_else(only)
}
