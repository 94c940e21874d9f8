//! What is remembered of a set beyond its edges' lives: nicks, grades, cracks, grinds, where it was.

use super::{Seat, SetHistory, Shop};
use crate::lives::damage::Damage;
use crate::lives::placement::Placed;
use crate::lives::set_state::Grind;
use crate::logbook::EdgeEvent;
use crate::quantities::Width;
use jiff::civil::Date;

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

    /// The sets that sat in a machine on a day; those that did last where none did. Only when the shop is closed.
    pub(in crate::lives) fn sets_in(&self, machine: &str, day: Date) -> Vec<String> {
        let lives = self.finished.iter();
        let stays = lives.flat_map(|life| life.stays.iter().map(move |stay| (life, stay)));
        let here = stays.filter(|(_, stay)| stay.machine == machine && stay.day <= day);
        let here: Vec<_> = here
            .filter_map(|(life, stay)| Some((&life.name.set, stay.out?.1)))
            .collect();
        let last = here.iter().map(|(_, out)| *out).max();
        let since = last.map_or(day, |last| last.min(day));
        let sets = here.into_iter().filter(|(_, out)| *out >= since);
        sets.map(|(set, _)| set.clone()).collect()
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
