//! One edge's life.

use super::{Exposure, Look, Observation, Sight};
use crate::logbook::Rotor;
use crate::quantities::{Grade, MeterHours, WearFraction};
use jiff::civil::Date;

/// How a life ended, or that it has not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ending {
    /// The operator noticed in the cut that it had gone dull.
    NoticedDull,
    /// Taken out or flipped away while nobody had called it dull.
    PulledOnSchedule,
    /// Hit metal or stone; wear is unknown beyond that moment.
    Struck,
    /// Still at work.
    Running,
}

/// What an edge is, as far as its life depends on it.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeFeatures {
    /// Which rotor it works on.
    pub rotor: Rotor,
    /// How often the knives had been ground before this life; 0 is new steel.
    pub regrinds: u32,
    /// Who ground it, as written; blank for new steel.
    pub ground_by: String,
}

/// When an edge last came out of its machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameOut {
    /// The day.
    pub date: Date,
    /// What the machine's present hour meter read then; `None` without readings, or before that meter.
    pub meter: Option<MeterHours>,
}

/// One edge from fresh to finished (or to today).
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeLife {
    /// Machine, by name.
    pub machine: String,
    /// Knife set, by name.
    pub set: String,
    /// Which edge of the knives, from 1.
    pub edge: u32,
    /// What kind of edge.
    pub features: EdgeFeatures,
    /// What it went through.
    pub exposure: Exposure,
    /// What is known of when it went dull.
    pub observation: Observation,
    /// Left truncation: this edge came into the log at this many hours of its life, not yet dull.
    pub entry: Option<MeterHours>,
    /// How it ended.
    pub ending: Ending,
    /// When it came out; `None` while it is at work, and for edges without a calendar.
    pub came_out: Option<CameOut>,
}

/// The last that somebody saw of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastLook {
    /// Meter hours of the edge's life at the time.
    pub at: MeterHours,
    /// What was seen.
    pub saw: Saw,
    /// It has been touched up since: it is not as it was seen.
    pub touched_up_since: bool,
}

/// What somebody saw of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Saw {
    /// In the cut, that it had gone dull.
    NoticedDull,
    /// How it looked.
    Graded(Grade),
    /// Its bright flat, measured: a fraction of the width at which this crew calls an edge dull.
    Flat(WearFraction),
}

impl LastLook {
    /// Whether somebody took it to be dull, and nothing was done to it since.
    pub fn calls_it_dull(&self) -> bool {
        let dull = match self.saw {
            Saw::NoticedDull | Saw::Graded(Grade::Dull | Grade::Overrun) => true,
            Saw::Graded(Grade::Keen | Grade::Working) => false,
            Saw::Flat(share) => share.get() >= 1.0,
        };
        dull && !self.touched_up_since
    }
}

impl EdgeLife {
    /// The last that somebody saw of it; `None` where nobody looked. Noticed in the cut goes before a grade of the same
    /// hour.
    pub fn last_look(&self) -> Option<LastLook> {
        let Observation::Graded { looks, noticed } = &self.observation else {
            return None;
        };
        let saw = |look: &Look| match look.sight {
            Sight::Graded(grade) => Some((look.at, Saw::Graded(grade))),
            Sight::Measured(share) => Some((look.at, Saw::Flat(share))),
            Sight::NotCalled => None,
        };
        let looked = looks.iter().rev().find_map(saw);
        let noticed = noticed.map(|noticed| (noticed.at, Saw::NoticedDull));
        let (at, saw) = match (looked, noticed) {
            (Some(looked), Some(noticed)) if looked.0 > noticed.0 => looked,
            (looked, noticed) => noticed.or(looked)?,
        };
        let mut touch_ups = self.exposure.touch_ups.iter();
        Some(LastLook {
            at,
            saw,
            touched_up_since: touch_ups.any(|touched| touched.at >= at),
        })
    }

    /// Somebody graded or measured it, or noticed it going dull.
    pub fn was_seen(&self) -> bool {
        match &self.observation {
            Observation::Graded { looks, noticed } => {
                noticed.is_some() || looks.iter().any(|look| look.sight != Sight::NotCalled)
            }
            _ => true,
        }
    }
}
