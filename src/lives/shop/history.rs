//! What is remembered of a set beyond its edges' lives: nicks, grades, cracks, grinds, where it was.

use super::{Seat, SetHistory, Shop};
use crate::lives::note::Record;
use crate::lives::note_words::{says_sound, speaks_of_crack};
use crate::lives::set_state::Grind;
use crate::logbook::{EdgeEvent, EventKind};
use crate::quantities::Width;

impl Shop<'_> {
    pub(super) fn remember(&mut self, seat: &Seat, event: &EdgeEvent, record: Record) {
        let history = self.history_of(seat);
        history.remember_damage(event, record);
        if let Some(grade) = event.grade {
            history.grades.insert(seat.edge, grade);
        }
    }

    /// Of a row that tells nothing of wear, damage to the set that it names still counts.
    pub(super) fn remember_named(&mut self, event: &EdgeEvent, record: Record) {
        let named = event.set.as_deref().and_then(|set| self.sets.get_mut(set));
        if let Some(history) = named {
            history.remember_damage(event, record);
        }
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
        history.crack = history.crack.or(unnamed.crack);
        history.inspected = history.inspected.or(unnamed.inspected);
        history.machine = unnamed.machine.or(history.machine.take());
        history.most_edges = history.most_edges.max(unnamed.most_edges);
        if unnamed.nick > history.nick {
            history.nick = unnamed.nick;
        }
        history.grades.extend(unnamed.grades);
    }
}

impl SetHistory {
    fn remember_damage(&mut self, event: &EdgeEvent, record: Record) {
        self.remember_crack(event, record);
        if event.nick > self.nick {
            self.nick = event.nick;
        }
        if event.kind == EventKind::Checked && says_sound(&event.note) {
            self.inspected = Some((event.date, event.line));
        }
    }

    /// After a strike no earlier inspection counts. A check stands before a strike at one reading; a row of that
    /// day below the strike's own was written after it all the same.
    pub(super) fn struck(&mut self, event: &EdgeEvent) {
        let since = |(day, line): &(_, _)| *day == event.date && *line > event.line;
        self.inspected = self.inspected.filter(since);
    }

    pub(super) fn remember_crack(&mut self, event: &EdgeEvent, record: Record) {
        if speaks_of_crack(&event.note) {
            self.crack.get_or_insert(record);
        }
    }

    /// A grind takes stock and clears nicks and grades away; a crack stays.
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
        self.nick = None;
        self.inspected = None;
        self.grades.clear();
    }
}
