//! Machines and knife sets by name.

use crate::logbook::{KnifeSet, Logbook, Machine};
use std::collections::BTreeMap;

/// The machines and sets that a log lists. Rows name them by the thousand, so that a fleet's are looked up
/// and not searched for.
pub(super) struct Fleet<'l> {
    machines: BTreeMap<&'l str, &'l Machine>,
    sets: BTreeMap<&'l str, &'l KnifeSet>,
}

impl<'l> Fleet<'l> {
    pub(super) fn of(log: &'l Logbook) -> Self {
        Self {
            machines: by_name(&log.machines, |machine| &machine.name),
            sets: by_name(&log.sets, |set| &set.name),
        }
    }

    pub(super) fn machine(&self, name: &str) -> Option<&'l Machine> {
        self.machines.get(name).copied()
    }

    pub(super) fn set(&self, name: &str) -> Option<&'l KnifeSet> {
        self.sets.get(name).copied()
    }

    /// The machines in order of name.
    pub(super) fn machines(&self) -> impl Iterator<Item = &'l Machine> {
        self.machines.values().copied()
    }
}

/// The first of each name.
fn by_name<'l, T>(all: &'l [T], name: impl Fn(&'l T) -> &'l str) -> BTreeMap<&'l str, &'l T> {
    let mut named = BTreeMap::new();
    for one in all {
        named.entry(name(one)).or_insert(one);
    }
    named
}
