//! Knives that by the crew's own figures may be unfit to run.

use super::note::{Matter, Note, Record};
use crate::logbook::{EdgeEvent, EventKind, KnifeSet, Logbook, Machine};
use crate::quantities::Width;
use std::collections::BTreeMap;

/// Notes on sets fitted, or ground, that the log itself shows too narrow or incomplete. Nothing here says
/// that a set is fit.
pub(super) fn unfit(log: &Logbook) -> Vec<Note> {
    let mut events: Vec<&EdgeEvent> = log.events.iter().collect();
    events.sort_by_key(|event| (event.date, event.line));
    let mut removed: BTreeMap<&str, f64> = BTreeMap::new();
    let mut notes = Vec::new();
    for event in events {
        let Some(set) = log
            .sets
            .iter()
            .find(|set| Some(&set.name) == event.set.as_ref())
        else {
            continue;
        };
        if event.kind == EventKind::Reground {
            *removed.entry(set.name.as_str()).or_default() +=
                event.stock_removed.map_or(0.0, Width::millimetres);
        }
        let gone = removed.get(set.name.as_str()).copied().unwrap_or(0.0);
        let machines = machines_for(log, event);
        let matters = match event.kind {
            EventKind::Fitted => [too_narrow(set, gone, &machines), too_few(set, &machines)],
            EventKind::Reground => [too_narrow(set, gone, &machines), None],
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
fn machines_for<'l>(log: &'l Logbook, event: &EdgeEvent) -> Vec<&'l Machine> {
    let named = |machine: &&Machine| {
        event
            .machine
            .as_ref()
            .is_none_or(|name| *name == machine.name)
    };
    log.machines.iter().filter(named).collect()
}

/// Below the discard width of every machine that it could go into.
fn too_narrow(set: &KnifeSet, removed: f64, machines: &[&Machine]) -> Option<Matter> {
    let width = Width::new((set.width?.millimetres() - removed).max(0.0)).ok()?;
    let discards = machines
        .iter()
        .map(|machine| machine.discard_width)
        .collect::<Option<Vec<Width>>>()?;
    let discard = discards
        .into_iter()
        .reduce(|least, next| if next < least { next } else { least })?;
    (width < discard).then(|| Matter::UnderWidth {
        set: set.name.clone(),
        width,
        discard,
    })
}

fn too_few(set: &KnifeSet, machines: &[&Machine]) -> Option<Matter> {
    let [machine] = machines else { return None };
    (set.knives != machine.knives).then(|| Matter::KnivesDiffer {
        set: set.name.clone(),
        knives: set.knives,
        wanted: machine.knives,
    })
}
