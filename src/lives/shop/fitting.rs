//! Sets go into machines and come out.

use super::{Here, Seat, SetHistory, Shop, WentIn};
use crate::lives::note::Matter;
use crate::lives::open_life::OpenLife;
use crate::lives::placement::Placed;
use crate::lives::tally::AsideReason;
use jiff::civil::Date;

impl<'a> Shop<'a> {
    pub(super) fn fit(&mut self, here: &Here<'a>) {
        let Some(set) = here.event().set.clone() else {
            let kind = here.event().kind;
            self.note(here.record(), Matter::NoSet { kind });
            return self.make_room(here);
        };
        let seat = Seat {
            set,
            edge: here.event().edge.unwrap_or(1),
            unnamed: false,
        };
        if let Some(same) = self.already_in(&seat, here) {
            let edge = same.name(here.machine);
            return self.note(here.record(), Matter::AlreadyFitted { edge });
        }
        self.make_room(here);
        self.take_out_elsewhere(&seat.set, &here.placed);
        self.renew_if_discarded(&seat.set, here);
        self.put_in(&seat, here);
        self.remember(&seat, here.event());
    }

    pub(super) fn already_in(&self, seat: &Seat, here: &Here<'a>) -> Option<Seat> {
        let present = self.seats.get(here.machine)?;
        let same_edge = here.event().edge.is_none_or(|edge| edge == present.edge);
        (present.set == seat.set && same_edge).then(|| present.clone())
    }

    pub(super) fn make_room(&mut self, here: &Here<'a>) {
        if let Some(present) = self.seats.get(here.machine) {
            let edge = present.name(here.machine);
            self.note(here.record(), Matter::TakenAsPulled { edge });
            self.take_out(here.machine, here.at(), here.event().date);
        }
    }

    pub(super) fn seat_of(&self, set: &str) -> Option<(&'a str, Seat)> {
        let (machine, seat) = self.seats.of_set(set)?;
        Some((machine, seat.clone()))
    }

    /// Takes a set out of the machine it is still in, as far as the log tells.
    pub(super) fn take_out_elsewhere(&mut self, set: &str, placed: &Placed<'a>) {
        let Some((machine, seat)) = self.seat_of(set) else {
            return;
        };
        let kind = placed.event.kind;
        let edge = seat.name(machine);
        self.note(placed.record(), Matter::StillFitted { edge, kind });
        let at = self.place_in(machine, placed);
        self.take_out(machine, at, placed.event.date);
    }

    /// Where an event lies on the axis of a machine that need not be its own.
    pub(super) fn place_in(&self, machine: &str, placed: &Placed<'a>) -> f64 {
        let by_date = || {
            let stand = self.stands.get(machine);
            stand.map(|stand| stand.timeline.day_end(placed.event.date))
        };
        if placed.machine == Some(machine) {
            placed.at
        } else {
            by_date().unwrap_or(placed.at)
        }
    }

    pub(super) fn renew_if_discarded(&mut self, set: &str, here: &Here<'a>) {
        if let Some(history) = self.sets.get_mut(set).filter(|history| history.discarded) {
            *history = SetHistory {
                edges: history.edges,
                renewed: true,
                damage: history.damage.renewed(here.event()),
                ..SetHistory::default()
            };
            let set = set.to_owned();
            self.note(here.record(), Matter::FittedAfterDiscard { set });
        }
    }

    pub(super) fn take_out(&mut self, machine: &'a str, at: f64, day: Date) {
        let Some(seat) = self.seats.remove(machine) else {
            return;
        };
        let mut out = at;
        if let Some(life) = self.open.get_mut(&seat.key()) {
            life.comes_out(at, day);
            out = life
                .stays
                .last()
                .and_then(|stay| stay.out)
                .map_or(at, |out| out.0);
        }
        self.vacant_since.insert(machine, out);
        self.left_last.insert(machine, seat.set);
    }

    /// An edge goes to work: fresh, or on with the life it has had since its last grind.
    pub(super) fn put_in(&mut self, seat: &Seat, here: &Here<'a>) {
        // Never before the edge that was in before it came out.
        let vacant = self.vacant_since.get(here.machine).copied();
        let from = vacant.map_or(here.at(), |since| here.at().max(since));
        let Some(rotor) = self
            .stands
            .get(here.machine)
            .map(|stand| stand.machine.rotor)
        else {
            return;
        };
        let known = self.open.get(&seat.key()).map(|life| life.rotor == rotor);
        match known {
            Some(true) => self.go_on(seat, here, from),
            Some(false) => {
                self.finish_edge(&seat.key());
                self.begin(seat, here, from);
                let fitted = here.record();
                if let Some(life) = self.open.get_mut(&seat.key()) {
                    life.aside = Some(AsideReason::OtherRotor { fitted });
                }
            }
            None => self.begin(seat, here, from),
        }
    }

    pub(super) fn go_on(&mut self, seat: &Seat, here: &Here<'a>, from: f64) {
        let Some(life) = self.open.get_mut(&seat.key()) else {
            return;
        };
        let moved = life
            .stays
            .last()
            .is_some_and(|stay| stay.machine != here.machine);
        life.goes_in(here.machine, from, here.event().date);
        let edge = life.name.clone();
        if moved {
            let to = here.machine.to_owned();
            self.note(here.record(), Matter::MovedMachine { edge, to });
        }
        self.sits(seat, here, from);
    }

    pub(super) fn begin(&mut self, seat: &Seat, here: &Here<'a>, from: f64) {
        let Some(stand) = self.stands.get(here.machine) else {
            return;
        };
        let history = self.sets.get(&seat.set);
        let mut life = OpenLife {
            name: seat.name(here.machine),
            rotor: stand.machine.rotor,
            regrinds: history.map_or(0, |set| set.regrinds),
            ground_by: history.map_or_else(String::new, |set| set.ground_by.clone()),
            began: here.record(),
            stays: Vec::new(),
            seen: Vec::new(),
            touch_ups: Vec::new(),
            struck: None,
            aside: None,
            running: false,
            at_end: false,
        };
        life.goes_in(here.machine, from, here.event().date);
        self.open.insert(seat.key(), life);
        self.sits(seat, here, from);
    }

    pub(super) fn sits(&mut self, seat: &Seat, here: &Here<'a>, from: f64) {
        self.seats.insert(here.machine, seat.clone());
        self.remember_place(seat, here.machine);
        let date = here.event().date;
        self.went_in.insert(here.machine, WentIn { at: from, date });
    }
}
