//! Follows every set through the shop, event by event: which edge is at work where.

mod at_work;
mod bench;
mod fitting;
mod history;
mod seats;

use super::damage::Damage;
use super::note::{EdgeName, Matter, Note, Record};
use super::open_life::OpenLife;
use super::placement::Placed;
use super::set_state::Grind;
use super::timeline::Timeline;
use super::{SAME_PLACE, hours};
use crate::logbook::{EdgeEvent, EventKind, KnifeSet, Machine};
use crate::quantities::{Grade, Width};
pub(super) use history::Stays;
use jiff::civil::Date;
use seats::Seats;
use std::collections::BTreeMap;

/// One machine with its axis.
pub(super) struct Stand<'a> {
    pub(super) machine: &'a Machine,
    pub(super) timeline: Timeline,
}

/// Which edge is at work in a machine.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Seat {
    pub(super) set: String,
    pub(super) edge: u32,
    /// No row has named the set yet.
    unnamed: bool,
}

/// What is known of a set beyond its edges.
#[derive(Debug, Clone, Default)]
pub(super) struct SetHistory {
    pub(super) regrinds: u32,
    ground_by: String,
    edges: u32,
    pub(super) discarded: bool,
    /// Other knives than those listed: fitted after the listed ones were discarded.
    pub(super) renewed: bool,
    /// No row has named it.
    pub(super) unnamed: bool,
    /// The machine it was in last.
    pub(super) machine: Option<String>,
    /// The highest number that an edge of it goes by.
    pub(super) most_edges: u32,
    /// Stock that its grinds removed, millimetres, where they say.
    pub(super) removed: Vec<f64>,
    /// Its grinds in this log, oldest first.
    pub(super) grinds: Vec<Grind>,
    /// A grind does not say what it removed.
    pub(super) ungauged: bool,
    /// The last grade of each edge since then.
    pub(super) grades: BTreeMap<u32, Grade>,
    /// What rows say for and against running it.
    pub(super) damage: Damage,
}

/// When an edge last went to work in a machine.
#[derive(Debug, Clone, Copy)]
pub(super) struct WentIn {
    pub(super) at: f64,
    pub(super) date: Date,
}

/// What was done to a machine's bed knife, with its place.
#[derive(Debug, Clone, Copy)]
pub(super) struct BedKnifeWork {
    pub(super) kind: EventKind,
    pub(super) at: f64,
    pub(super) date: Date,
}

/// The shop at one moment of its log.
pub(super) struct Shop<'a> {
    stands: &'a BTreeMap<&'a str, Stand<'a>>,
    flat_when_dull: Option<Width>,
    pub(super) seats: Seats<'a>,
    /// Since when no row says which edge is in.
    vacant_since: BTreeMap<&'a str, f64>,
    left_last: BTreeMap<&'a str, String>,
    pub(super) sets: BTreeMap<String, SetHistory>,
    open: BTreeMap<(String, u32), OpenLife>,
    pub(super) finished: Vec<OpenLife>,
    pub(super) strikes: Vec<(&'a str, f64)>,
    pub(super) bed_knives: BTreeMap<&'a str, Vec<BedKnifeWork>>,
    pub(super) went_in: BTreeMap<&'a str, WentIn>,
    pub(super) notes: Vec<Note>,
}

impl<'a> Shop<'a> {
    pub(super) fn new(
        stands: &'a BTreeMap<&'a str, Stand<'a>>,
        sets: &[KnifeSet],
        flat_when_dull: Option<Width>,
    ) -> Self {
        let history = |set: &KnifeSet| SetHistory {
            regrinds: set.regrinds,
            edges: set.edges_per_knife,
            damage: Damage::listed(&set.note, Record::Set(set.line)),
            ..SetHistory::default()
        };
        Self {
            stands,
            flat_when_dull,
            seats: Seats::default(),
            vacant_since: BTreeMap::new(),
            left_last: BTreeMap::new(),
            sets: sets.iter().map(|s| (s.name.clone(), history(s))).collect(),
            open: BTreeMap::new(),
            finished: Vec::new(),
            strikes: Vec::new(),
            bed_knives: BTreeMap::new(),
            went_in: BTreeMap::new(),
            notes: Vec::new(),
        }
    }

    pub(super) fn apply(&mut self, placed: &Placed<'a>) {
        let kind = placed.event.kind;
        if matches!(kind, EventKind::Reground | EventKind::Discarded) {
            self.bench_work(placed);
        } else if let Some((name, stand)) = placed.machine.and_then(|m| self.stand(m)) {
            let here = Here {
                machine: name,
                rotor_edges: stand.machine.edges_per_knife,
                placed: *placed,
            };
            match kind {
                EventKind::Fitted => self.fit(&here),
                EventKind::BedKnifeTurned | EventKind::BedKnifeReset => self.bed_knife(&here),
                EventKind::MeterReplaced => {}
                _ => self.seen_or_done(&here),
            }
        } else {
            self.remember_unseated(placed);
        }
    }

    /// The log ends: what is in stays in, and every life is closed as far as it is known.
    pub(super) fn close(&mut self) {
        for (machine, seat) in self.seats.iter() {
            let end = self.stands.get(machine).map(|stand| stand.timeline.end);
            let life = self.open.get_mut(&(seat.set.clone(), seat.edge));
            if let (Some(end), Some(life)) = (end, life) {
                life.comes_out(end, Date::MAX);
                life.running = true;
            }
        }
        let open = std::mem::take(&mut self.open);
        for mut life in open.into_values() {
            life.at_end = true;
            self.finish(life);
        }
    }

    fn stand(&self, machine: &str) -> Option<(&'a str, &'a Stand<'a>)> {
        let (name, stand) = self.stands.get_key_value(machine)?;
        Some((name, stand))
    }

    fn note(&mut self, record: Record, matter: Matter) {
        self.notes.push(Note { record, matter });
    }

    fn bed_knife(&mut self, here: &Here<'a>) {
        let work = BedKnifeWork {
            kind: here.event().kind,
            at: here.at(),
            date: here.event().date,
        };
        if here.event().set.is_some() {
            self.remember_unseated(&here.placed);
        }
        self.bed_knives.entry(here.machine).or_default().push(work);
    }

    fn finish_edge(&mut self, key: &(String, u32)) {
        if let Some(life) = self.open.remove(key) {
            self.finish(life);
        }
    }

    fn finish(&mut self, life: OpenLife) {
        let ran_on = life.total() - life.observed();
        if let Some(struck) = life.struck.filter(|_| ran_on > SAME_PLACE) {
            let edge = life.name.clone();
            let hours = hours(ran_on);
            self.note(struck.record, Matter::RanOnAfterStrike { edge, hours });
        }
        self.finished.push(life);
    }
}

/// An event of one machine.
struct Here<'a> {
    machine: &'a str,
    rotor_edges: u32,
    placed: Placed<'a>,
}

impl<'a> Here<'a> {
    fn event(&self) -> &'a EdgeEvent {
        self.placed.event
    }

    fn at(&self) -> f64 {
        self.placed.at
    }

    fn record(&self) -> Record {
        self.placed.record()
    }
}

impl Seat {
    fn key(&self) -> (String, u32) {
        (self.set.clone(), self.edge)
    }

    fn name(&self, machine: &str) -> EdgeName {
        EdgeName {
            machine: machine.to_owned(),
            set: self.set.clone(),
            edge: self.edge,
        }
    }
}
