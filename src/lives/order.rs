//! One order of events over all machines and the bench.
//!
//! Days order most of it. Within a day each machine's events keep their own order, and a set is
//! ground after it came out and before it is fitted again.

use super::placement::Placed;
use crate::logbook::EventKind;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Puts the events of all machines (each machine's own in order) and of the bench into one order.
pub(super) fn in_order_of_time<'a>(
    machines: Vec<Vec<Placed<'a>>>,
    bench: Vec<Placed<'a>>,
) -> Vec<Placed<'a>> {
    let mut days: BTreeMap<jiff::civil::Date, Day<'a>> = BTreeMap::new();
    for placed in machines.into_iter().flatten() {
        let day = days.entry(placed.day).or_default();
        let queue = day.machines.entry(placed.machine.unwrap_or_default());
        queue.or_default().push_back(placed);
    }
    for placed in bench {
        days.entry(placed.day).or_default().bench.push(placed);
    }
    let mut seated = Seated::default();
    let mut ordered = Vec::new();
    for mut day in days.into_values() {
        day.bench.sort_by(Placed::before);
        while let Some(next) = day.take_next(&seated) {
            seated.follow(&next);
            ordered.push(next);
        }
    }
    ordered
}

/// Which set is in which machine.
#[derive(Default)]
struct Seated<'a> {
    sets: BTreeMap<&'a str, &'a str>,
    /// The same the other way round.
    machines: BTreeMap<&'a str, BTreeSet<&'a str>>,
}

impl<'a> Seated<'a> {
    fn follow(&mut self, placed: &Placed<'a>) {
        let Some(machine) = placed.machine else {
            return;
        };
        match (placed.event.kind, placed.event.set.as_deref()) {
            (EventKind::Fitted, Some(set)) => {
                self.empty(machine);
                self.sets.insert(machine, set);
                self.machines.entry(set).or_default().insert(machine);
            }
            (EventKind::Pulled, _) => self.empty(machine),
            _ => {}
        }
    }

    fn empty(&mut self, machine: &str) {
        let set = self.sets.remove(machine);
        if let Some(machines) = set.and_then(|set| self.machines.get_mut(set)) {
            machines.remove(machine);
        }
    }

    /// Whether this set is in this machine.
    fn holds(&self, machine: &str, set: &str) -> bool {
        self.sets.get(machine) == Some(&set)
    }

    fn machines_with(&self, set: &str) -> impl Iterator<Item = &'a str> {
        let machines = self.machines.get(set);
        machines.into_iter().flatten().copied()
    }
}

/// What is left of a day.
#[derive(Default)]
struct Day<'a> {
    /// Machines of which something is left.
    machines: BTreeMap<&'a str, VecDeque<Placed<'a>>>,
    bench: Vec<Placed<'a>>,
}

impl<'a> Day<'a> {
    fn take_next(&mut self, seated: &Seated<'a>) -> Option<Placed<'a>> {
        let free = self.heads().find(|(_, head)| !self.must_wait(head, seated));
        if let Some(machine) = free.map(|(machine, _)| machine) {
            return self.pop(machine);
        }
        let waiting = |work: &Placed<'a>| self.work_comes_first(work, seated);
        if let Some(index) = self.bench.iter().position(|work| !waiting(work)) {
            return Some(self.bench.remove(index));
        }
        // Everything waits for something else: the set that comes out again today went in first.
        let comes_out = self
            .heads()
            .find(|(machine, head)| self.comes_out_here(head, machine));
        let first = comes_out.or_else(|| self.heads().next());
        match first.map(|(machine, _)| machine) {
            Some(machine) => self.pop(machine),
            None => (!self.bench.is_empty()).then(|| self.bench.remove(0)),
        }
    }

    fn heads(&self) -> impl Iterator<Item = (&'a str, &Placed<'a>)> {
        self.machines
            .iter()
            .filter_map(|(machine, queue)| Some((*machine, queue.front()?)))
    }

    fn pop(&mut self, machine: &str) -> Option<Placed<'a>> {
        let queue = self.machines.get_mut(machine)?;
        let first = queue.pop_front();
        if queue.is_empty() {
            self.machines.remove(machine);
        }
        first
    }

    /// A set is fitted after it was ground and after it came out of another machine.
    fn must_wait(&self, head: &Placed<'a>, seated: &Seated<'a>) -> bool {
        let Some(set) = head.event.set.as_deref() else {
            return false;
        };
        head.event.kind == EventKind::Fitted
            && (self
                .bench
                .iter()
                .any(|work| work.event.set.as_deref() == Some(set))
                || self.comes_out_elsewhere(set, head.machine, seated))
    }

    fn comes_out_here(&self, head: &Placed<'a>, machine: &str) -> bool {
        let set = head.event.set.as_deref();
        let queue = self.machines.get(machine);
        queue.into_iter().flatten().any(|placed| {
            placed.event.kind == EventKind::Pulled && placed.event.set.as_deref() == set
        })
    }

    fn comes_out_elsewhere(&self, set: &str, here: Option<&str>, seated: &Seated<'a>) -> bool {
        seated
            .machines_with(set)
            .filter(|machine| Some(*machine) != here)
            .filter_map(|machine| self.machines.get(machine))
            .flatten()
            .any(|placed| placed.event.kind == EventKind::Pulled)
    }

    /// Bench work on a set waits for what the set still does in a machine that day.
    fn work_comes_first(&self, work: &Placed<'a>, seated: &Seated<'a>) -> bool {
        let Some(set) = work.event.set.as_deref() else {
            return false;
        };
        let about = |machine: &str, placed: &Placed<'a>| match placed.event.set.as_deref() {
            Some(named) => named == set,
            None => seated.holds(machine, set),
        };
        self.machines.iter().any(|(machine, queue)| {
            queue
                .iter()
                .any(|placed| placed.event.kind != EventKind::Fitted && about(machine, placed))
        })
    }
}
