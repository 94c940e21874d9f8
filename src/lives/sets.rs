//! The matched sets that a machine can count on.

use super::Lives;
use crate::logbook::{EventKind, Logbook, Machine};

/// Sets of a machine by what the log says of them, by name, in the order of sets.csv.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SetsOfMachine {
    /// Have worked in it, have its number of knives, and are not discarded.
    pub in_use: Vec<String>,
    /// Have its number of knives and edges, and have worked nowhere yet.
    pub never_fitted: Vec<String>,
}

impl SetsOfMachine {
    /// Whether a set is among them.
    pub fn has(&self, set: &str) -> bool {
        self.in_use
            .iter()
            .chain(&self.never_fitted)
            .any(|name| name == set)
    }

    /// Without these.
    pub fn without<'n>(mut self, sets: impl Iterator<Item = &'n str> + Clone) -> Self {
        for names in [&mut self.in_use, &mut self.never_fitted] {
            names.retain(|name| sets.clone().all(|set| set != name));
        }
        self
    }
}

impl Lives {
    /// The sets that `machine` can count on, but for those that must not be run: whoever asks takes those out.
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
            if worked(&machine.name) {
                sets.in_use.push(name);
            } else if set.edges_per_knife == machine.edges_per_knife
                && !log.machines.iter().any(|other| worked(&other.name))
            {
                sets.never_fitted.push(name);
            }
        }
        sets
    }
}
