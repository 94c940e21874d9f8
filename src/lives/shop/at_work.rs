//! What is seen of, or done to, the edge at work in a machine.

use super::{Here, Seat, Shop};
use crate::lives::SAME_PLACE;
use crate::lives::note::Matter;
use crate::lives::open_life::{Seen, Sighting, StruckAt};
use crate::lives::tally::AsideReason;
use crate::logbook::EventKind;
use crate::quantities::{WearFraction, Width};

impl<'a> Shop<'a> {
    pub(super) fn seen_or_done(&mut self, here: &Here<'a>) {
        if here.event().kind == EventKind::Struck {
            self.strikes.push((here.machine, here.at()));
        }
        let seat = if self.says_nothing_of_wear(here) {
            None
        } else {
            self.meant_seat(here)
        };
        let Some(seat) = seat else {
            return self.remember_unseated(&here.placed);
        };
        self.look(&seat, here);
        self.remember(&seat, here.event());
        match here.event().kind {
            EventKind::NoticedDull => self.see(&seat, here, Seen::NoticedDull),
            EventKind::TouchedUp => self.touch_up(&seat, here),
            EventKind::Struck => self.strike(&seat, here),
            EventKind::Pulled => self.take_out(here.machine, here.at(), here.event().date),
            EventKind::Flipped => self.flip(&seat, here),
            _ => {}
        }
    }

    /// A check with nothing but a note, where no edge is known to be in: it may be of a set on the bench, and
    /// puts none to work.
    fn says_nothing_of_wear(&self, here: &Here<'a>) -> bool {
        let event = here.event();
        event.kind == EventKind::Checked
            && event.grade.is_none()
            && event.flat.is_none()
            && event.nick.is_none()
            && self.seats.get(here.machine).is_none()
    }

    /// The edge that a row speaks of; `None`, with a note, where the row cannot be used.
    pub(super) fn meant_seat(&mut self, here: &Here<'a>) -> Option<Seat> {
        let Some(seat) = self.seats.get(here.machine).cloned() else {
            return self.meet_unknown(here);
        };
        let seat = self.agree_on_set(seat, here)?;
        if let Some(named) = here.event().edge
            && named != seat.edge
            && here.event().kind != EventKind::Flipped
        {
            let edge = seat.name(here.machine);
            self.note(here.record(), Matter::OtherEdgeIn { edge, named });
        }
        Some(seat)
    }

    pub(super) fn agree_on_set(&mut self, seat: Seat, here: &Here<'a>) -> Option<Seat> {
        match here.event().set.as_deref() {
            Some(named) if seat.unnamed && self.seat_of(named).is_none() => {
                Some(self.name_the_unnamed(here.machine, &seat, named))
            }
            Some(named) if named != seat.set => {
                let matter = Matter::OtherSetIn {
                    kind: here.event().kind,
                    machine: here.machine.to_owned(),
                    named: named.to_owned(),
                    fitted: seat.set.clone(),
                };
                self.note(here.record(), matter);
                // Either may be the set that was struck.
                if here.event().kind == EventKind::Struck {
                    self.history_of(&seat).damage.suspect(here.event());
                }
                None
            }
            _ => Some(seat),
        }
    }

    pub(super) fn name_the_unnamed(&mut self, machine: &'a str, seat: &Seat, named: &str) -> Seat {
        let known = Seat {
            set: named.to_owned(),
            edge: seat.edge,
            unnamed: false,
        };
        self.finish_edge(&known.key());
        self.rename_history(&seat.set, &known.set);
        if let Some(mut life) = self.open.remove(&seat.key()) {
            life.name.set = known.set.clone();
            self.open.insert(known.key(), life);
        }
        self.seats.insert(machine, known.clone());
        known
    }

    /// A row about an edge of which no row says that it went in: it was at work before, since nobody
    /// knows when.
    pub(super) fn meet_unknown(&mut self, here: &Here<'a>) -> Option<Seat> {
        let start = self.stands.get(here.machine)?.timeline.start;
        let since = self.vacant_since.get(here.machine).copied();
        let named = here.event().set.clone();
        let elsewhere = named
            .as_deref()
            .is_some_and(|set| self.seat_of(set).is_some());
        let just_left = since.is_some_and(|since| here.at() - since <= SAME_PLACE);
        if elsewhere || just_left {
            let matter = Matter::NothingFitted {
                kind: here.event().kind,
                machine: here.machine.to_owned(),
            };
            self.note(here.record(), matter);
            return None;
        }
        let seat = Seat {
            unnamed: named.is_none(),
            set: named.unwrap_or_else(|| format!("not named, in {}", here.machine)),
            edge: here.event().edge.unwrap_or(1),
        };
        self.finish_edge(&seat.key());
        let first_seen = here.record();
        self.begin(&seat, here, since.unwrap_or(start));
        if let Some(life) = self.open.get_mut(&seat.key()) {
            life.aside = Some(AsideReason::UnknownPast { first_seen });
        }
        Some(seat)
    }

    pub(super) fn look(&mut self, seat: &Seat, here: &Here<'a>) {
        let event = here.event();
        let flat = event.flat.and_then(|flat| self.fraction(flat));
        if event.flat.is_some() && flat.is_none() {
            self.note(here.record(), Matter::FlatUnused);
        }
        match (flat, event.grade) {
            (Some(fraction), _) => self.see(seat, here, Seen::Flat(fraction)),
            (None, Some(grade)) => self.see(seat, here, Seen::Grade(grade)),
            (None, None) => {}
        }
    }

    pub(super) fn fraction(&self, flat: Width) -> Option<WearFraction> {
        let dull = self.flat_when_dull?.millimetres();
        WearFraction::new(flat.millimetres() / dull).ok()
    }

    pub(super) fn see(&mut self, seat: &Seat, here: &Here<'a>, seen: Seen) {
        let Some(life) = self.open.get_mut(&seat.key()) else {
            return;
        };
        let record = here.record();
        if life.struck.is_some() || here.event().kind == EventKind::Struck {
            let edge = life.name.clone();
            self.note(record, Matter::LookAfterStrike { edge });
        } else {
            let at = life.hours_at(here.at());
            let after_touch_up = life.just_touched_up(at);
            life.seen.push(Sighting {
                at,
                after_touch_up,
                seen,
                record,
            });
        }
    }

    pub(super) fn touch_up(&mut self, seat: &Seat, here: &Here<'a>) {
        if let Some(life) = self.open.get_mut(&seat.key()) {
            let at = life.hours_at(here.at());
            life.touch_ups.push(at);
        }
    }

    pub(super) fn strike(&mut self, seat: &Seat, here: &Here<'a>) {
        if let Some(life) = self.open.get_mut(&seat.key()) {
            let at = life.hours_at(here.at());
            let record = here.record();
            life.struck.get_or_insert(StruckAt { at, record });
        }
    }

    pub(super) fn flip(&mut self, seat: &Seat, here: &Here<'a>) {
        let listed = self.sets.get(&seat.set).map_or(0, |set| set.edges);
        let edges = if listed > 0 { listed } else { here.rotor_edges };
        if edges < 2 {
            let set = seat.set.clone();
            self.note(here.record(), Matter::FlippedSingleEdge { set });
        }
        let next = seat.edge % edges.max(2) + 1;
        let turned_to = here.event().edge.filter(|edge| *edge != seat.edge);
        let next = Seat {
            edge: turned_to.unwrap_or(next),
            ..seat.clone()
        };
        self.take_out(here.machine, here.at(), here.event().date);
        self.put_in(&next, here);
    }
}
