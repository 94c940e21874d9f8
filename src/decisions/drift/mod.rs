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
use change::Shifts;

/// Fewer edges than this tell no change. Basis: a shift of one standard deviation takes some ten to be found.
const FEW: usize = 10;

/// One finished edge.
#[derive(Debug, Clone, PartialEq)]
pub struct FinishedEdge {
    /// The score of its life.
    pub span: ScoreSpan,
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
/// # Errors
///
/// [`DecisionError::Quantity`] where a score is no number.
pub fn drift(
    edges: &[FinishedEdge],
    bed_knife: &[BedKnifeWork],
    scheme: Scheme,
    level: Level,
) -> Result<DriftAnswer, DecisionError> {
    let spans: Vec<ScoreSpan> = edges.iter().map(|edge| edge.span).collect();
    let mut cusum = Cusum::new(scheme);
    let chart: Vec<Sums> = spans.iter().map(|span| cusum.push(*span)).collect();
    let runs = cusum.runs();
    let worth: f64 = spans.iter().map(|span| span.told()).sum();
    let looked = Looked {
        edges,
        bed_knife,
        shifts: Shifts::new(edges),
        level,
    };
    // Each run is looked for behind the one before it on the same side.
    let mut shifts: Vec<Shift> = Vec::new();
    for run in &runs {
        let before = shifts.iter().rev().filter(|shift| shift.side == run.side);
        let earliest = before.filter_map(|shift| shift.last).next();
        shifts.push(looked.shift(run, earliest.map_or(0, |last| last + 1))?);
    }
    Ok(DriftAnswer {
        verdict: verdict(&runs),
        edges: edges.len(),
        worth,
        scheme: figures(scheme, scale(edges)),
        chart: chart_edges(&spans, &chart),
        caveats: caveats(edges),
        shifts,
    })
}

/// Log of life for one unit of score: the mean over edges, each counted by how much it tells.
fn scale(edges: &[FinishedEdge]) -> f64 {
    let weights = || edges.iter().map(|edge| edge.span.told());
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
fn verdict(runs: &[Run]) -> DriftVerdict {
    let now = runs.iter().rev().find(|run| run.last.is_none());
    match (now, runs.last()) {
        (Some(run), _) => DriftVerdict::Runs(run.side),
        (None, Some(run)) => DriftVerdict::Ran(run.side),
        (None, None) => DriftVerdict::NoSign,
    }
}

fn chart_edges(spans: &[ScoreSpan], chart: &[Sums]) -> Vec<ChartEdge> {
    let edge = |(span, sums): (&ScoreSpan, &Sums)| ChartEdge {
        score: span.mean(),
        low: Some(span.low).filter(|low| low.is_finite()),
        high: Some(span.high).filter(|high| high.is_finite()),
        told: span.told(),
        longer: sums.longer,
        shorter: sums.shorter,
    };
    spans.iter().zip(chart).map(edge).collect()
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

/// What runs are looked at against.
struct Looked<'a> {
    edges: &'a [FinishedEdge],
    bed_knife: &'a [BedKnifeWork],
    shifts: Shifts,
    level: Level,
}

impl Looked<'_> {
    fn shift(&self, run: &Run, earliest: usize) -> Result<Shift, DecisionError> {
        let last = run.last.unwrap_or(self.edges.len().saturating_sub(1));
        let earliest = earliest.min(run.first);
        let change = self.shifts.change(|_| true, earliest..=run.signalled, last);
        let start = change.start(run.first - earliest, self.level);
        let (carriers, spread_evenly) =
            carriers(self.edges, &self.shifts, run, earliest, self.level)?;
        Ok(Shift {
            side: run.side,
            first: start.map(|place| earliest + place),
            noticed: run.signalled,
            last: run.last,
            edges: last + 1 - run.first,
            ratio: change.ratio(self.level)?,
            look_at: look_at::look_at(run.side, &carriers, spread_evenly, self.just_before(run)),
            carriers,
            spread_evenly,
        })
    }

    /// Work on the bed knife shortly before the first edge of a run came out: while it was at work, or the one
    /// before it.
    fn just_before(&self, run: &Run) -> Option<&BedKnifeWork> {
        let near = run.first.saturating_sub(1)..=run.first;
        let mut works = self.bed_knife.iter().rev();
        works.find(|work| near.contains(&work.edges_before))
    }
}
