//! One run looked at: whether it is over, by how much lives changed, what carries it, what to look at.

use super::FinishedEdge;
use super::answer::Shift;
use super::carriers::carriers;
use super::change::{Change, Shifts};
use super::cusum::Side;
use super::look_at::{BedKnifeWork, look_at};
use super::series::Sign;
use crate::decisions::DecisionError;
use crate::quantities::Level;
use std::ops::RangeInclusive;

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
    pub fn within<'a>(&self, edges: &'a [FinishedEdge]) -> impl Iterator<Item = &'a FinishedEdge> {
        edges.iter().take(self.last + 1).skip(self.first)
    }
}

/// What runs are looked at against.
pub(super) struct Looked<'a> {
    pub edges: &'a [FinishedEdge],
    pub bed_knife: &'a [BedKnifeWork],
    pub shifts: Shifts,
    pub level: Level,
}

impl Looked<'_> {
    /// What a sign comes to; `None` where all edges together do not bear it out.
    pub fn shift(&self, sign: &Sign, earliest: usize) -> Result<Option<Shift>, DecisionError> {
        let run = &sign.run;
        let starts = earliest..=run.signalled;
        let end = self.edges.len().saturating_sub(1);
        let own: Vec<bool> = self.edges.iter().map(|edge| sign.has(edge)).collect();
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
        let (carriers, spread_evenly) = carriers(self.edges, &self.shifts, &stretch, self.level)?;
        let bed_knife = self.just_before(sign);
        Ok(Some(Shift {
            side: run.side,
            group: sign.group.clone(),
            first: start.map(|place| earliest + place),
            noticed: run.signalled,
            last: over,
            edges: stretch
                .within(self.edges)
                .filter(|edge| sign.has(edge))
                .count(),
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
