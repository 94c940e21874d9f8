//! Which edge is at work in which machine, and in which machine a set is.

use super::Seat;
use std::collections::{BTreeMap, BTreeSet};

/// The seats that are taken.
#[derive(Default)]
pub(in crate::lives) struct Seats<'a> {
    by_machine: BTreeMap<&'a str, Seat>,
    /// The machines that each set is in, as far as rows tell: one, unless a name stands for two sets.
    machines: BTreeMap<String, BTreeSet<&'a str>>,
}

impl<'a> Seats<'a> {
    /// Who sits in a machine.
    pub(in crate::lives) fn get(&self, machine: &str) -> Option<&Seat> {
        self.by_machine.get(machine)
    }

    /// Where a set sits: the first such machine by name.
    pub(super) fn of_set(&self, set: &str) -> Option<(&'a str, &Seat)> {
        let machine = *self.machines.get(set)?.first()?;
        Some((machine, self.get(machine)?))
    }

    /// In order of machine.
    pub(in crate::lives) fn iter(&self) -> impl Iterator<Item = (&'a str, &Seat)> {
        self.by_machine
            .iter()
            .map(|(machine, seat)| (*machine, seat))
    }

    pub(super) fn insert(&mut self, machine: &'a str, seat: Seat) {
        self.remove(machine);
        let machines = self.machines.entry(seat.set.clone()).or_default();
        machines.insert(machine);
        self.by_machine.insert(machine, seat);
    }

    pub(super) fn remove(&mut self, machine: &str) -> Option<Seat> {
        let seat = self.by_machine.remove(machine)?;
        if let Some(machines) = self.machines.get_mut(&seat.set) {
            machines.remove(machine);
        }
        Some(seat)
    }
}
