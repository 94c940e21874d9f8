//! Where on a machine's hours each event lies, and in which order events happened.

use super::meter_line::{MachineLog, Owner, Side};
use super::note::{Matter, Note, Record};
use super::timeline::Timeline;
use crate::logbook::{EdgeEvent, EventKind};
use jiff::civil::Date;

/// An event with its place. Bench work has neither machine nor place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed<'a> {
    pub(super) event: &'a EdgeEvent,
    pub(super) machine: Option<&'a str>,
    /// Hours on the machine's axis.
    pub(super) at: f64,
    /// The day it counts under: the first of all days for an edge fitted before the log starts.
    pub(super) day: Date,
    /// Its set went in at this very place, in a row above.
    after_fit: bool,
}

impl<'a> Placed<'a> {
    pub(super) fn on_the_bench(event: &'a EdgeEvent) -> Self {
        Self {
            event,
            machine: None,
            at: 0.0,
            day: event.date,
            after_fit: false,
        }
    }

    pub(super) fn moved_to(self, at: f64) -> Self {
        Self { at, ..self }
    }

    pub(super) fn record(&self) -> Record {
        Record::Event(self.event.line)
    }

    /// Order at one place: what is seen of an edge comes before its pull, a pull before the next fit.
    /// A check and a touch-up stand as they were written: an edge is looked at before honing and after.
    fn rank(&self) -> u8 {
        match self.event.kind {
            EventKind::NoticedDull => 0,
            EventKind::Checked | EventKind::TouchedUp => 1,
            EventKind::Struck => 3,
            EventKind::BedKnifeTurned | EventKind::BedKnifeReset | EventKind::MeterReplaced => 4,
            EventKind::Pulled => 5,
            EventKind::Flipped => 6,
            EventKind::Reground => 7,
            EventKind::Discarded => 8,
            EventKind::Fitted => 9,
        }
    }

    fn fits_before(&self, later: &Self) -> bool {
        self.event.kind == EventKind::Fitted
            && self.event.set.is_some()
            && self.event.set == later.event.set
            && self.event.line < later.event.line
            && (self.day, self.at) == (later.day, later.at)
    }

    pub(super) fn before(&self, other: &Self) -> std::cmp::Ordering {
        self.day
            .cmp(&other.day)
            .then(self.at.total_cmp(&other.at))
            .then(self.after_fit.cmp(&other.after_fit))
            .then(self.rank().cmp(&other.rank()))
            .then(self.event.line.cmp(&other.event.line))
    }
}

/// Places every event of one machine, in order.
pub(super) fn place<'a>(
    log: &MachineLog<'a>,
    timeline: &Timeline,
    notes: &mut Vec<Note>,
) -> Vec<Placed<'a>> {
    let places = Places { log, timeline };
    let mut placed: Vec<Placed<'a>> = Vec::new();
    for (index, event) in log.events.iter().enumerate() {
        if event.kind == EventKind::MeterReplaced {
            continue;
        }
        if event.meter.is_none() {
            let (kind, date) = (event.kind, event.date);
            notes.push(Note {
                record: Record::Event(event.line),
                matter: Matter::PlacedByDate { kind, date },
            });
        }
        placed.push(places.of(index, event));
    }
    placed.sort_by(Placed::before);
    mark_after_fit(&mut placed);
    placed
}

/// Rows about a set below the row that fitted it, at one place: they follow the fitting.
fn mark_after_fit(placed: &mut [Placed<'_>]) {
    let same_place = |a: &Placed<'_>, b: &Placed<'_>| (a.day, a.at) == (b.day, b.at);
    for group in placed.chunk_by_mut(same_place) {
        for index in 0..group.len() {
            let fits = |other: &Placed<'_>| other.fits_before(&group[index]);
            group[index].after_fit = group.iter().any(fits);
        }
        group.sort_by(Placed::before);
    }
}

struct Places<'p, 'a> {
    log: &'p MachineLog<'a>,
    timeline: &'p Timeline,
}

impl<'a> Places<'_, 'a> {
    fn of(&self, index: usize, event: &'a EdgeEvent) -> Placed<'a> {
        let read = self.read(index);
        let at = read.unwrap_or_else(|| self.by_date(event));
        let start = self.timeline.log_start();
        let early = event.kind == EventKind::Fitted
            && read.is_some_and(|at| start.is_some_and(|start| at < start));
        Placed {
            event,
            machine: Some(&self.log.machine.name),
            at,
            day: if early { Date::MIN } else { event.date },
            after_fit: false,
        }
    }

    fn read(&self, index: usize) -> Option<f64> {
        self.timeline.meter.on(Owner::Event(index), Side::At)
    }

    fn by_date(&self, event: &EdgeEvent) -> f64 {
        if event.kind == EventKind::Fitted {
            self.fitted_by_date(event)
        } else {
            self.other_by_date(event)
        }
    }

    /// The events of one day, with their readings where those were used.
    fn same_day(&self, date: Date) -> impl Iterator<Item = (&'a EdgeEvent, Option<f64>)> {
        let events = &self.log.events;
        let first = events.partition_point(|event| event.date < date);
        let count = events[first..].partition_point(|event| event.date == date);
        (first..first + count).map(|index| (events[index], self.read(index)))
    }

    /// A set is fitted where the one before it came out that day; else before the day's first run,
    /// or after its last one where the edge before it was felt dull or struck that day.
    fn fitted_by_date(&self, fit: &EdgeEvent) -> f64 {
        let others = || {
            self.same_day(fit.date)
                .filter(|(event, _)| event.set.is_none() || event.set != fit.set)
                .filter(|(event, _)| event.set.is_some() || event.line < fit.line)
        };
        let came_out = others()
            .filter(|(event, _)| matches!(event.kind, EventKind::Pulled | EventKind::Flipped))
            .filter_map(|(_, at)| at)
            .max_by(f64::total_cmp);
        let worked = others()
            .any(|(event, _)| matches!(event.kind, EventKind::NoticedDull | EventKind::Struck));
        let day_end = self.timeline.day_end(fit.date);
        let planned = self.timeline.day_start(fit.date).filter(|_| !worked);
        came_out.or(planned).unwrap_or(day_end)
    }

    /// Whatever else happened is placed after the day's last run, but not beyond the moment at which
    /// the edge it speaks of came out.
    fn other_by_date(&self, event: &EdgeEvent) -> f64 {
        let came_out = self
            .same_day(event.date)
            .filter(|(later, _)| ends_the_stay(event, later))
            .filter_map(|(later, at)| {
                let fit = later.kind == EventKind::Fitted;
                at.or_else(|| fit.then(|| self.fitted_by_date(later)))
            })
            .min_by(f64::total_cmp);
        let day_end = self.timeline.day_end(event.date);
        came_out.map_or(day_end, |out| out.min(day_end))
    }
}

/// Whether `later` ends the stay of the edge that `event` speaks of, both on one day.
fn ends_the_stay(event: &EdgeEvent, later: &EdgeEvent) -> bool {
    let after = later.line > event.line;
    let named = event.set.is_some() && later.set.is_some();
    let same = event.set == later.set;
    match later.kind {
        EventKind::Pulled | EventKind::Flipped => {
            later.line != event.line && if named { same } else { after }
        }
        EventKind::Fitted => {
            if named {
                !same
            } else {
                after
            }
        }
        _ => false,
    }
}
