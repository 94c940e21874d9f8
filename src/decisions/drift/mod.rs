//! Whether edges last shorter or longer than they should, since when, by how much, and what carries it.
//!
//! ```text
//! span        what was seen of an edge's life, as normal scores, and how much it tells
//! scheme      how long scores are summed before they count as a sign
//! cusum       the sums, and the runs in which they gave a sign
//! change      when lives changed and by how much
//! carriers    which set, grinder, machine or dirt carries it
//! look_at     what to look at first
//! answer      the shape of the answer
//! ```

mod answer;
mod carriers;
mod change;
mod cusum;
mod look_at;
mod scheme;
mod span;

pub use answer::{ChartEdge, DriftAnswer, DriftVerdict, SchemeFigures, Shift};
pub use carriers::{Carrier, Factor};
pub use cusum::{Cusum, Run, Side, Sums};
pub use look_at::{BedKnifeWork, LookAt};
pub use scheme::Scheme;
pub use span::ScoreSpan;

use super::{Caveat, DecisionError};
use crate::quantities::Level;
use carriers::carriers;
use change::{Change, Shifts};
use std::ops::RangeInclusive;

/// Fewer edges than this tell no change. Basis: a shift of one standard deviation takes some ten to be found.
const FEW: usize = 10;

/// A run counts as over if that is so much likelier than that it goes on, on the log scale: twenty times. Basis:
/// judged.
const CLEARLY_OVER: f64 = 3.0;

/// One finished edge.
#[derive(Debug, Clone, PartialEq)]
pub struct FinishedEdge {
    /// The score of its life, as the edges before it foretell it.
    pub ahead: ScoreSpan,
    /// The same, as all other edges foretell it.
    pub together: ScoreSpan,
    /// Log of life for one unit of score.
    pub log_life_per_score: f64,
    /// Whether its score is rough.
    pub rough: bool,
    /// What it has in common with others, each factor once.
    pub levels: Vec<(Factor, String)>,
}

impl FinishedEdge {
    fn level(&self, factor: Factor) -> Option<&str> {
        let mut own = self.levels.iter();
        own.find(|(known, _)| *known == factor)
            .map(|(_, level)| level.as_str())
    }
}

/// Whether these edges, in order of time, last shorter or longer than they should.
///
/// A change is noticed by the scores that edges before foretell, so that a false sign is as seldom as the scheme
/// says; it is dated, measured and blamed by the scores that all edges foretell. A sign that those do not bear out
/// is dropped: once lives have come back to what they were, the first edges after that outlast what the last ones
/// had taught to expect.
///
/// # Errors
///
/// [`DecisionError::Quantity`] where a score is no number.
pub fn drift(
    edges: &[FinishedEdge],
    bed_knife: &[BedKnifeWork],
    scheme: Scheme,
    level: Level,
) -> Result<DriftAnswer, DecisionError> {
    let mut cusum = Cusum::new(scheme);
    let chart: Vec<Sums> = edges.iter().map(|edge| cusum.push(edge.ahead)).collect();
    let mut looked = Looked {
        edges,
        bed_knife,
        shifts: Shifts::new(edges),
        level,
    };
    let mut shifts: Vec<Shift> = Vec::new();
    for run in cusum.runs() {
        let before = shifts.iter().rev().find(|shift| shift.side == run.side);
        let over = before.map_or(Some(0), |shift| shift.last.map(|last| last + 1));
        // A second sign of what goes on says nothing new.
        if let Some(earliest) = over.filter(|over| *over <= run.first) {
            // Edges of a shift that went before are no measure of what lives should be.
            let odd = shifts.iter().flat_map(|shift| shift.places(edges.len()));
            looked
                .shifts
                .leave_out(odd.filter(|place| *place < run.first));
            shifts.extend(looked.shift(run, earliest)?);
        }
    }
    Ok(DriftAnswer {
        verdict: verdict(&shifts),
        edges: edges.len(),
        worth: edges.iter().map(|edge| edge.ahead.told()).sum(),
        scheme: figures(scheme, scale(edges)),
        chart: chart_edges(edges, &chart),
        caveats: caveats(edges),
        shifts,
    })
}

/// Log of life for one unit of score: the mean over edges, each counted by how much it tells.
fn scale(edges: &[FinishedEdge]) -> f64 {
    let weights = || edges.iter().map(|edge| edge.together.told());
    let own = edges.iter().zip(weights());
    let sum: f64 = own.map(|(edge, told)| told * edge.log_life_per_score).sum();
    let scale = sum / weights().sum::<f64>();
    if scale.is_finite() && scale > 0.0 {
        scale
    } else {
        1.0
    }
}

fn figures(scheme: Scheme, scale: f64) -> SchemeFigures {
    SchemeFigures {
        reference: scheme.reference(),
        decision: scheme.decision(),
        edges_between_false_signs: scheme.run_length(0.0),
        clear_ratio: (-scale).exp(),
        edges_to_notice: scheme.run_length(1.0),
    }
}

/// What goes on counts before what is over, and the latest of those.
fn verdict(shifts: &[Shift]) -> DriftVerdict {
    let now = shifts.iter().rev().find(|shift| shift.last.is_none());
    match (now, shifts.last()) {
        (Some(shift), _) => DriftVerdict::Runs(shift.side),
        (None, Some(shift)) => DriftVerdict::Ran(shift.side),
        (None, None) => DriftVerdict::NoSign,
    }
}

fn chart_edges(edges: &[FinishedEdge], chart: &[Sums]) -> Vec<ChartEdge> {
    let place = |(edge, sums): (&FinishedEdge, &Sums)| ChartEdge {
        score: edge.ahead.mean(),
        low: Some(edge.ahead.low).filter(|low| low.is_finite()),
        high: Some(edge.ahead.high).filter(|high| high.is_finite()),
        told: edge.ahead.told(),
        score_by_all: edge.together.mean(),
        longer: sums.longer,
        shorter: sums.shorter,
    };
    edges.iter().zip(chart).map(place).collect()
}

fn caveats(edges: &[FinishedEdge]) -> Vec<Caveat> {
    let rough = edges.iter().filter(|edge| edge.rough).count();
    let finished = edges.len();
    let applies = [
        (finished < FEW, Caveat::TooFewToTell { finished }),
        (rough > 0, Caveat::RoughScores { edges: rough }),
    ];
    let applies = applies.into_iter().filter(|(applies, _)| *applies);
    applies.map(|(_, caveat)| caveat).collect()
}

/// The edges of a run.
struct Stretch {
    /// Where it may have begun.
    starts: RangeInclusive<usize>,
    first: usize,
    last: usize,
}

impl Stretch {
    fn within<'a>(&self, edges: &'a [FinishedEdge]) -> impl Iterator<Item = &'a FinishedEdge> {
        edges.iter().take(self.last + 1).skip(self.first)
    }
}

/// What runs are looked at against.
struct Looked<'a> {
    edges: &'a [FinishedEdge],
    bed_knife: &'a [BedKnifeWork],
    shifts: Shifts,
    level: Level,
}

impl Looked<'_> {
    /// What a run comes to; `None` where all edges together do not bear it out.
    fn shift(&self, run: &Run, earliest: usize) -> Result<Option<Shift>, DecisionError> {
        let starts = earliest..=run.signalled;
        let end = self.edges.len().saturating_sub(1);
        let over = self.over(&starts, run.signalled, end);
        let stretch = Stretch {
            first: run.first,
            last: over.unwrap_or(end),
            starts: starts.clone(),
        };
        let change = self.shifts.change(|_| true, starts, stretch.last);
        if !borne_out(&change, run.side)? {
            return Ok(None);
        }
        let start = change.start(run.first - earliest, self.level);
        let (carriers, spread_evenly) = carriers(self.edges, &self.shifts, &stretch, self.level)?;
        Ok(Some(Shift {
            side: run.side,
            first: start.map(|place| earliest + place),
            noticed: run.signalled,
            last: over,
            edges: stretch.within(self.edges).count(),
            ratio: change.ratio(self.level)?,
            look_at: look_at::look_at(run.side, &carriers, spread_evenly, self.just_before(run)),
            carriers,
            spread_evenly,
        }))
    }

    /// The edge with which it was over, if it clearly is.
    fn over(&self, starts: &RangeInclusive<usize>, signalled: usize, end: usize) -> Option<usize> {
        let evidence = |last: usize| self.shifts.log_evidence(|_| true, starts.clone(), last);
        let going_on = evidence(end);
        let (last, best) = (signalled..end)
            .map(|last| (last, evidence(last)))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        (best - going_on > CLEARLY_OVER).then_some(last)
    }

    /// Work on the bed knife shortly before the first edge of a run came out: while it was at work, or the one
    /// before it.
    fn just_before(&self, run: &Run) -> Option<&BedKnifeWork> {
        let near = run.first.saturating_sub(1)..=run.first;
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
