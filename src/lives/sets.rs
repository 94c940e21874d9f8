//! The matched sets that a machine can count on.

use super::Lives;
use super::note::Matter;
use crate::logbook::{EventKind, KnifeSet, Logbook, Machine};

/// Sets of a machine by what the log says of them, by name, in the order of sets.csv.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SetsOfMachine {
    /// Have worked in it, have its number of knives, and are neither discarded nor too narrow.
    pub in_use: Vec<String>,
    /// Have its number of knives and edges, and have worked nowhere yet.
    pub never_fitted: Vec<String>,
    /// Have worked in it and are by the log's own figures below the discard width.
    pub too_narrow: Vec<String>,
}

impl Lives {
    /// The sets that `machine` can count on. That one stands here does not say that it is fit to run: a
    /// log knows no cracks.
    pub fn sets_of(&self, log: &Logbook, machine: &Machine) -> SetsOfMachine {
        let mut sets = SetsOfMachine::default();
        for set in log.sets.iter().filter(|set| set.knives == machine.knives) {
            let event = |kind: EventKind| {
                log.events.iter().filter(move |event| {
                    event.kind == kind && event.set.as_deref() == Some(&set.name)
                })
            };
            if event(EventKind::Discarded).next().is_some() {
                continue;
            }
            let worked = |machine: &str| {
                self.lives
                    .iter()
                    .any(|life| life.set == set.name && life.machine == machine)
                    || event(EventKind::Fitted)
                        .any(|event| event.machine.as_deref() == Some(machine))
            };
            let name = set.name.clone();
            if self.is_too_narrow(set) {
                if worked(&machine.name) {
                    sets.too_narrow.push(name);
                }
            } else if worked(&machine.name) {
                sets.in_use.push(name);
            } else if set.edges_per_knife == machine.edges_per_knife
                && !log.machines.iter().any(|other| worked(&other.name))
            {
                sets.never_fitted.push(name);
            }
        }
        sets
    }

    fn is_too_narrow(&self, set: &KnifeSet) -> bool {
        self.tally.notes.iter().any(
            |note| matches!(&note.matter, Matter::UnderWidth { set: narrow, .. } if *narrow == set.name),
        )
    }
}
