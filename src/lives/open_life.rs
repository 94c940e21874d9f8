//! An edge's life while it is being put together.

use super::SAME_PLACE;
use super::note::{EdgeName, Record};
use super::tally::AsideReason;
use super::tidy;
use crate::logbook::Rotor;
use crate::quantities::{Grade, WearFraction};
use jiff::civil::Date;

/// Time in one machine, from fitted to pulled, on that machine's axis.
#[derive(Debug, Clone)]
pub(super) struct Stay {
    pub(super) machine: String,
    pub(super) from: f64,
    /// The day on which it went in.
    pub(super) day: Date,
    /// Where it came out, and on which day; `None` while it is in.
    pub(super) out: Option<(f64, Date)>,
}

impl Stay {
    fn length(&self) -> f64 {
        self.out.map_or(0.0, |(to, _)| to - self.from)
    }
}

/// What somebody saw of the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Seen {
    Grade(Grade),
    Flat(WearFraction),
    NoticedDull,
}

/// What was seen, at which hour of the life, by which row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sighting {
    pub(super) at: f64,
    /// Seen just after a touch-up at this very hour.
    pub(super) after_touch_up: bool,
    pub(super) seen: Seen,
    pub(super) record: Record,
}

/// The moment of a strike.
#[derive(Debug, Clone, Copy)]
pub(super) struct StruckAt {
    pub(super) at: f64,
    pub(super) record: Record,
}

/// One edge since its last grind.
#[derive(Debug, Clone)]
pub(super) struct OpenLife {
    pub(super) name: EdgeName,
    pub(super) rotor: Rotor,
    pub(super) regrinds: u32,
    pub(super) ground_by: String,
    /// The row that began it.
    pub(super) began: Record,
    pub(super) stays: Vec<Stay>,
    pub(super) seen: Vec<Sighting>,
    pub(super) touch_ups: Vec<f64>,
    pub(super) struck: Option<StruckAt>,
    /// Known from the start to be of no use.
    pub(super) aside: Option<AsideReason>,
    /// Still at work when the log ends.
    pub(super) running: bool,
    /// Not ground since, when the log ends.
    pub(super) at_end: bool,
}

impl OpenLife {
    /// Hours of this life when its present machine stands at `at`.
    pub(super) fn hours_at(&self, at: f64) -> f64 {
        let closed = self.stays.iter().map(Stay::length).sum::<f64>();
        let open = self.stays.last().filter(|stay| stay.out.is_none());
        tidy(closed + open.map_or(0.0, |stay| (at - stay.from).max(0.0)))
    }

    /// Hours in all, up to where it last came out.
    pub(super) fn total(&self) -> f64 {
        tidy(self.stays.iter().map(Stay::length).sum())
    }

    /// Hours up to where wear stops being observed: the strike, or the end.
    pub(super) fn observed(&self) -> f64 {
        let total = self.total();
        self.struck.map_or(total, |struck| struck.at.min(total))
    }

    pub(super) fn goes_in(&mut self, machine: &str, from: f64, day: Date) {
        self.stays.push(Stay {
            machine: machine.to_owned(),
            from,
            day,
            out: None,
        });
    }

    pub(super) fn comes_out(&mut self, at: f64, day: Date) {
        if let Some(stay) = self.stays.last_mut().filter(|stay| stay.out.is_none()) {
            stay.out = Some((at.max(stay.from), day));
        }
    }

    /// Whether dullness was noticed in the cut and no touch-up came after.
    pub(super) fn called_dull(&self) -> bool {
        let noticed = |sighting: &&Sighting| sighting.seen == Seen::NoticedDull;
        let last = self.seen.iter().rev().find(noticed);
        last.is_some_and(|last| !self.touched_up_since(last.at))
    }

    /// Whether a touch-up came at or after this hour of the life, with work still to follow.
    pub(super) fn touched_up_since(&self, at: f64) -> bool {
        let end = self.observed() - SAME_PLACE;
        self.touch_ups.iter().any(|up| *up >= at && *up < end)
    }

    /// Whether its last touch-up was at this very hour.
    pub(super) fn just_touched_up(&self, at: f64) -> bool {
        self.touch_ups
            .last()
            .is_some_and(|up| (up - at).abs() <= SAME_PLACE)
    }

    /// The day on which it last came out.
    pub(super) fn last_day(&self) -> Date {
        let out = self.stays.last().and_then(|stay| stay.out);
        out.map_or(Date::MIN, |(_, day)| day)
    }

    /// The day on which it first went in.
    pub(super) fn first_day(&self) -> Option<Date> {
        self.stays.first().map(|stay| stay.day)
    }

    /// Its hours machine by machine, each with those after a strike: (machine, before, after).
    pub(super) fn hours_by_machine(&self) -> impl Iterator<Item = (&str, f64, f64)> {
        let observed = self.observed();
        let mut begun = 0.0;
        self.stays.iter().map(move |stay| {
            let before = (observed - begun).clamp(0.0, stay.length());
            begun += stay.length();
            (stay.machine.as_str(), before, stay.length() - before)
        })
    }
}
