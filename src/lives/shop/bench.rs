//! Grinding and discarding: what ends the lives of a set's edges.

use super::{Here, Seat, Shop};
use crate::lives::note::Matter;
use crate::lives::placement::Placed;
use crate::logbook::{EdgeEvent, EventKind};

impl<'a> Shop<'a> {
    pub(super) fn bench_work(&mut self, placed: &Placed<'a>) {
        let event = placed.event;
        let Some(set) = self.set_on_the_bench(event) else {
            let kind = event.kind;
            return self.note(placed.record(), Matter::NoSet { kind });
        };
        self.look_on_the_bench(&set, placed);
        self.take_out_elsewhere(&set, placed);
        self.finish_set(&set);
        let history = self.sets.entry(set).or_default();
        history.damage.remember(event);
        if event.kind == EventKind::Reground {
            history.grind(event);
        } else {
            history.discarded = true;
        }
    }

    pub(super) fn set_on_the_bench(&self, event: &EdgeEvent) -> Option<String> {
        let machine = event.machine.as_deref();
        let seated = || self.seats.get(machine?).map(|seat| seat.set.clone());
        let left = || self.left_last.get(machine?).cloned();
        event.set.clone().or_else(left).or_else(seated)
    }

    /// A grade given on the bench is a look at the edge named, or at the only one that has worked.
    pub(super) fn look_on_the_bench(&mut self, set: &str, placed: &Placed<'a>) {
        let worked: Vec<u32> = self.edges_of(set).map(|(_, edge)| edge).collect();
        let only = worked.first().copied().filter(|_| worked.len() == 1);
        let Some(edge) = placed.event.edge.or(only) else {
            return;
        };
        let seat = Seat {
            set: set.to_owned(),
            edge,
            unnamed: false,
        };
        let life = self.open.get(&seat.key());
        let last = life
            .and_then(|life| life.stays.last())
            .map(|stay| stay.machine.clone());
        if let Some((machine, _)) = last.and_then(|machine| self.stand(&machine)) {
            let at = self.place_in(machine, placed);
            let here = Here {
                machine,
                rotor_edges: 0,
                placed: placed.moved_to(at),
            };
            self.look(&seat, &here);
        }
    }

    pub(super) fn edges_of(&self, set: &str) -> impl Iterator<Item = (String, u32)> {
        let from = (set.to_owned(), 0);
        let upto = (set.to_owned(), u32::MAX);
        self.open.range(from..=upto).map(|(key, _)| key.clone())
    }

    pub(super) fn finish_set(&mut self, set: &str) {
        let keys: Vec<_> = self.edges_of(set).collect();
        for key in keys {
            self.finish_edge(&key);
        }
    }
}
