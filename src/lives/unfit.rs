//! Knives that by the crew's own figures may be unfit to run.

use super::fleet::Fleet;
use super::note::{Matter, Note, Record};
use crate::logbook::{EdgeEvent, EventKind, KnifeSet, Logbook, Machine};
use crate::quantities::Width;
use std::collections::BTreeMap;

/// Notes on sets fitted, or ground, that the log itself shows too narrow or incomplete. Nothing here says
/// that a set is fit.
pub(super) fn unfit(log: &Logbook) -> Vec<Note> {
    let mut events: Vec<&EdgeEvent> = log.events.iter().collect();
    events.sort_by_key(|event| (event.date, event.line));
    let fleet = Fleet::of(log);
    let discard_of_all = least_discard(&log.machines);
    let mut removed: BTreeMap<&str, f64> = BTreeMap::new();
    let mut notes = Vec::new();
    for event in events {
        let Some(set) = event.set.as_deref().and_then(|name| fleet.set(name)) else {
            continue;
        };
        let gone = removed.entry(set.name.as_str()).or_default();
        if event.kind == EventKind::Reground {
            *gone += event.stock_removed.map_or(0.0, Width::millimetres);
        }
        let machines = machines_for(log, &fleet, event);
        let discard = match event.machine {
            Some(_) => least_discard(machines),
            None => discard_of_all,
        };
        let matters = match event.kind {
            EventKind::Fitted => [too_narrow(set, *gone, discard), too_few(set, machines)],
            EventKind::Reground => [too_narrow(set, *gone, discard), None],
            _ => [None, None],
        };
        let record = Record::Event(event.line);
        notes.extend(
            matters
                .into_iter()
                .flatten()
                .map(|matter| Note { record, matter }),
        );
    }
    notes
}

/// The machine that the event names; all of them where it names none, as on the bench.
fn machines_for<'l>(log: &'l Logbook, fleet: &Fleet<'l>, event: &EdgeEvent) -> &'l [Machine] {
    match event.machine.as_deref() {
        Some(name) => fleet.machine(name).map_or(&[], std::slice::from_ref),
        None => &log.machines,
    }
}

/// The least discard width of these machines; `None` where one has none.
fn least_discard(machines: &[Machine]) -> Option<Width> {
    let discards = machines
        .iter()
        .map(|machine| machine.discard_width)
        .collect::<Option<Vec<Width>>>()?;
    discards
        .into_iter()
        .reduce(|least, next| if next < least { next } else { least })
}

/// Below the discard width of every machine that it could go into.
fn too_narrow(set: &KnifeSet, removed: f64, discard: Option<Width>) -> Option<Matter> {
    let discard = discard?;
    let width = Width::new((set.width?.millimetres() - removed).max(0.0)).ok()?;
    (width < discard).then(|| Matter::UnderWidth {
        set: set.name.clone(),
        width,
        discard,
    })
}

fn too_few(set: &KnifeSet, machines: &[Machine]) -> Option<Matter> {
    let [machine] = machines else { return None };
    (set.knives != machine.knives).then(|| Matter::KnivesDiffer {
        set: set.name.clone(),
        knives: set.knives,
        wanted: machine.knives,
    })
}
