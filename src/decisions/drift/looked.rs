//! One run looked at: whether it is over, by how much lives changed, what carries it, what to look at.

use super::FinishedEdge;
use super::answer::Shift;
use super::carriers::carriers;
use super::change::{Change, Shifts};
use super::cusum::Side;
use super::levels::Levels;
use super::look_at::{BedKnifeWork, look_at};
use super::series::Sign;
use crate::decisions::DecisionError;
use crate::quantities::Level;
use rayon::prelude::*;
use std::ops::{Range, RangeInclusive};

/// The edges of a run.
pub(super) struct Stretch {
    /// Where it may have begun.
    pub starts: RangeInclusive<usize>,
    /// Its first edge.
    pub first: usize,
    /// Its last.
    pub last: usize,
}

impl Stretch {
    /// The places of its edges.
    pub fn places(&self) -> Range<usize> {
        self.first..self.last + 1
    }
}

/// A mean score, and how much it tells: see [`ScoreSpan::mean`](super::ScoreSpan::mean).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Told {
    pub mean: f64,
    pub told: f64,
}

/// What runs are looked at against.
pub(super) struct Looked<'a> {
    pub levels: &'a Levels<'a>,
    pub bed_knife: &'a [BedKnifeWork],
    pub shifts: Shifts,
    pub level: Level,
    /// Edge by edge, as all others foretell it.
    pub told: Vec<Told>,
}

impl<'a> Looked<'a> {
    pub fn new(
        (edges, levels): (&[FinishedEdge], &'a Levels<'a>),
        bed_knife: &'a [BedKnifeWork],
        level: Level,
    ) -> Self {
        let told = |edge: &FinishedEdge| Told {
            mean: edge.together.mean(),
            told: edge.together.told(),
        };
        Self {
            levels,
            bed_knife,
            shifts: Shifts::new(edges),
            level,
            told: edges.par_iter().map(told).collect(),
        }
    }

    /// What a sign comes to; `None` where all edges together do not bear it out.
    pub fn shift(&self, sign: &Sign, earliest: usize) -> Result<Option<Shift>, DecisionError> {
        let run = &sign.run;
        let starts = earliest..=run.signalled;
        let end = self.levels.edges().saturating_sub(1);
        let own = self.levels.has(sign.group.as_ref());
        let changed = |place: usize| own.get(place) == Some(&true);
        let over = self.shifts.over(changed, &starts, run.signalled, end);
        let stretch = Stretch {
            first: run.first,
            last: over.unwrap_or(end),
            starts: starts.clone(),
        };
        let change = self.shifts.change(changed, starts, stretch.last);
        if !borne_out(&change, run.side)? {
            return Ok(None);
        }
        let start = change.start(run.first - earliest, self.level);
        let (carriers, spread_evenly) = carriers(self, &stretch)?;
        let bed_knife = self.just_before(sign);
        Ok(Some(Shift {
            side: run.side,
            group: sign.group.clone(),
            first: start.map(|place| earliest + place),
            noticed: run.signalled,
            last: over,
            edges: stretch.places().filter(|place| changed(*place)).count(),
            ratio: change.ratio(self.level)?,
            look_at: look_at(run.side, &carriers, spread_evenly, bed_knife),
            carriers,
            spread_evenly,
        }))
    }

    /// Work on the bed knife shortly before the first edge of a run came out: while it was at work, or the one
    /// before it.
    fn just_before(&self, sign: &Sign) -> Option<&BedKnifeWork> {
        let near = sign.before.unwrap_or(0)..=sign.run.first;
        let mut works = self.bed_knife.iter().rev();
        works.find(|work| near.contains(&work.edges_before))
    }
}

/// Whether lives of the run differ from all others on its side, three chances in four. Basis: judged; the sum has
/// spoken already, and this only drops what the other edges do not agree to.
fn borne_out(change: &Change, side: Side) -> Result<bool, DecisionError> {
    let ratio = change.ratio(Level::new(0.5)?)?;
    Ok(match side {
        Side::Longer => ratio.lower > 1.0,
        Side::Shorter => ratio.upper < 1.0,
    })
}
