//! What is remembered of a set beyond its edges' lives: nicks, grades, cracks, grinds, where it was.

use super::{Seat, SetHistory, Shop};
use crate::lives::damage::Damage;
use crate::lives::placement::Placed;
use crate::lives::set_state::Grind;
use crate::logbook::EdgeEvent;
use crate::quantities::Width;
use jiff::civil::Date;
use std::collections::BTreeMap;

impl Shop<'_> {
    pub(super) fn remember(&mut self, seat: &Seat, event: &EdgeEvent) {
        let history = self.history_of(seat);
        history.damage.remember(event);
        if let Some(grade) = event.grade {
            history.grades.insert(seat.edge, grade);
        }
    }

    /// Of a row that is about no edge at work, what it says of the set that it names still counts. Where it
    /// names none, it may be about the set that left its machine last: what it says against that one counts.
    pub(super) fn remember_unseated(&mut self, placed: &Placed<'_>) {
        let event = placed.event;
        if let Some(named) = &event.set {
            self.damage_of(named).remember(event);
        } else if let Some(left) = placed
            .machine
            .and_then(|it| self.left_last.get(it))
            .cloned()
        {
            self.damage_of(&left).suspect(event);
        }
    }

    pub(in crate::lives) fn damage_of(&mut self, set: &str) -> &mut Damage {
        &mut self.sets.entry(set.to_owned()).or_default().damage
    }

    /// Which set sat in which machine when. Only when the shop is closed.
    pub(in crate::lives) fn stays(&self) -> Stays<'_> {
        let mut stays = Stays::default();
        for life in &self.finished {
            for stay in &life.stays {
                let Some((_, until)) = stay.out else { continue };
                let here = stays.by_machine.entry(stay.machine.as_str()).or_default();
                here.push((&life.name.set, stay.day, until));
            }
        }
        stays
    }

    pub(super) fn remember_place(&mut self, seat: &Seat, machine: &str) {
        let history = self.history_of(seat);
        history.machine = Some(machine.to_owned());
        history.most_edges = history.most_edges.max(seat.edge);
    }

    pub(super) fn history_of(&mut self, seat: &Seat) -> &mut SetHistory {
        let history = self.sets.entry(seat.set.clone()).or_default();
        history.unnamed = seat.unnamed;
        history
    }

    /// A set is named at last: what was noted of it goes on under its name.
    pub(super) fn rename_history(&mut self, from: &str, to: &str) {
        let Some(unnamed) = self.sets.remove(from) else {
            return;
        };
        let history = self.sets.entry(to.to_owned()).or_default();
        history.damage.join(&unnamed.damage);
        history.machine = unnamed.machine.or(history.machine.take());
        history.most_edges = history.most_edges.max(unnamed.most_edges);
        history.grades.extend(unnamed.grades);
    }
}

/// Machine by machine the sets that sat in it, each with its first and last day.
#[derive(Default)]
pub(in crate::lives) struct Stays<'s> {
    by_machine: BTreeMap<&'s str, Vec<(&'s str, Date, Date)>>,
}

impl<'s> Stays<'s> {
    /// The sets that sat in a machine on a day; those that did last where none did.
    pub(in crate::lives) fn sets_in(
        &self,
        machine: &str,
        day: Date,
    ) -> impl Iterator<Item = &'s str> {
        let stays = self.by_machine.get(machine).into_iter().flatten();
        let begun = stays.filter(move |(_, from, _)| *from <= day);
        let last = begun.clone().map(|(_, _, until)| *until).max();
        let since = last.map_or(day, |last| last.min(day));
        begun
            .filter(move |(_, _, until)| *until >= since)
            .map(|(set, _, _)| *set)
    }
}

impl SetHistory {
    /// A grind takes stock and makes every edge keen.
    pub(super) fn grind(&mut self, event: &EdgeEvent) {
        self.regrinds += 1;
        self.ground_by = event.by.clone();
        self.grinds.push(Grind {
            on: event.date,
            by: event.by.clone(),
            removed: event.stock_removed,
        });
        match event.stock_removed.map(Width::millimetres) {
            Some(removed) => self.removed.push(removed),
            None => self.ungauged = true,
        }
        self.damage.grind(event);
        self.grades.clear();
    }
}
