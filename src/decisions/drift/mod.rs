//! Whether edges last shorter or longer than they should, since when, by how much, and what carries it.
//!
//! ```text
//! span        what was seen of an edge's life, as normal scores, and how much it tells
//! scheme      how long scores are summed before they count as a sign
//! cusum       the sums, and the runs in which they gave a sign
//! series      the sums that are kept: over all edges, machine by machine, grinder by grinder
//! change      when lives changed and by how much
//! ending      whether that is over
//! carriers    which set, grinder, machine or dirt carries it
//! look_at     what to look at first
//! looked      one run looked at in all these ways
//! answer      the shape of the answer
//! ```

mod answer;
mod carriers;
mod change;
mod cusum;
mod ending;
mod levels;
mod look_at;
mod looked;
mod scheme;
mod series;
mod span;

pub use answer::{ChartEdge, DriftAnswer, DriftVerdict, SchemeFigures, Shift};
pub use carriers::{Carrier, Factor};
pub use cusum::{Cusum, Run, Side, Sums};
pub use look_at::{BedKnifeWork, LookAt};
pub use scheme::Scheme;
pub use series::{Group, GroupChart, GroupEdge};
pub use span::ScoreSpan;

use super::{Caveat, DecisionError};
use crate::lives::EdgeLife;
use crate::quantities::Level;
use crate::wear::LifeScore;
use levels::Levels;
use looked::Looked;
use series::Sign;

/// Fewer edges than this tell no change. Basis: a shift of one standard deviation takes some ten to be found.
const FEW: usize = 10;

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
    /// Of a life and its score.
    pub fn of(life: &EdgeLife, score: &LifeScore) -> Self {
        let mut levels = vec![
            (Factor::Machine, life.machine.clone()),
            (Factor::Set, life.set.clone()),
            (
                Factor::Dirt,
                life.exposure.main_contamination().word().to_owned(),
            ),
        ];
        // New steel has no grinder, whoever is written down.
        let ground_by = life.features.ground_by.trim();
        if life.features.regrinds > 0 && !ground_by.is_empty() {
            levels.push((Factor::Grinder, ground_by.to_owned()));
        }
        Self {
            ahead: ScoreSpan::of(&score.ahead),
            together: ScoreSpan::of(&score.together),
            log_life_per_score: score.log_life_per_score,
            rough: score.ahead.rough || score.together.rough,
            levels,
        }
    }

    /// Its levels; of a factor that is named twice, the first.
    fn each_factor_once(&self) -> impl Iterator<Item = (&Factor, &str)> {
        let levels = self.levels.iter().enumerate();
        let first = |place: usize, factor: &Factor| {
            let mut before = self.levels.iter().take(place);
            before.all(|(other, _)| other != factor)
        };
        levels
            .filter(move |(place, (factor, _))| first(*place, factor))
            .map(|(_, (factor, level))| (factor, level.as_str()))
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
///
/// # Examples
///
/// Twenty edges as foretold, then ten of which each falls short by two standard deviations.
///
/// ```
/// use keenspan::decisions::{Factor, FinishedEdge, Scheme, ScoreSpan, Side, drift};
/// use keenspan::quantities::Level;
///
/// let edge = |score: f64| {
///     let seen = ScoreSpan { low: score, high: score };
///     FinishedEdge {
///         ahead: seen,
///         together: seen,
///         log_life_per_score: 0.3,
///         rough: false,
///         levels: vec![(Factor::Machine, "big drum".to_string())],
///     }
/// };
/// let edges: Vec<FinishedEdge> = (0..30).map(|place| edge(if place < 20 { 0.0 } else { -2.0 })).collect();
/// let answer = drift(&edges, &[], Scheme::USUAL, Level::NINETY)?;
/// let shift = answer.shifts.first().ok_or("no sign")?;
/// assert_eq!((shift.side, shift.first.point), (Side::Shorter, 20));
/// // In 465 edges that last as they should, one false sign is to be expected.
/// assert!((Scheme::USUAL.run_length(0.0) - 465.0).abs() < 1.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn drift(
    edges: &[FinishedEdge],
    bed_knife: &[BedKnifeWork],
    scheme: Scheme,
    level: Level,
) -> Result<DriftAnswer, DecisionError> {
    let levels = Levels::of(edges);
    let groups = series::groups(&levels);
    let sums_an_edge = series::sums_an_edge(&groups);
    let watched = series::watch(edges, (groups, &levels), scheme);
    let shifts = shifts((edges, &levels), bed_knife, &watched.signs, level)?;
    Ok(DriftAnswer {
        verdict: verdict(&shifts),
        edges: edges.len(),
        worth: edges.iter().map(|edge| edge.ahead.told()).sum(),
        scheme: figures(scheme, scale(edges), sums_an_edge),
        chart: chart_edges(edges, &watched.all),
        groups: watched.groups,
        caveats: caveats(edges),
        shifts,
    })
}

/// What signs come to, as far as all edges together bear them out.
fn shifts(
    (edges, levels): (&[FinishedEdge], &Levels<'_>),
    bed_knife: &[BedKnifeWork],
    signs: &[Sign],
    level: Level,
) -> Result<Vec<Shift>, DecisionError> {
    let mut shifts: Vec<Shift> = Vec::new();
    // Most logs give none, and to say how likely each edge makes each shift is most of the work.
    if signs.is_empty() {
        return Ok(shifts);
    }
    let mut looked = Looked::new((edges, levels), bed_knife, level);
    let mut borne_out: Vec<(&Sign, usize)> = Vec::new();
    for sign in signs {
        let before = shifts
            .iter()
            .rev()
            .find(|shift| shift.side == sign.run.side && !sign.is_apart_from(shift));
        let over = before.map_or(Some(0), |shift| shift.last.map(|last| last + 1));
        // A second sign of what goes on says nothing new.
        if let Some(earliest) = over.filter(|over| *over <= sign.run.first) {
            looked.shifts.leave_out(odd(shifts.iter(), sign, levels));
            if let Some(shift) = looked.shift(sign, earliest)? {
                shifts.push(shift);
                borne_out.push((sign, earliest));
            }
        }
    }
    measure_again(&mut shifts, &borne_out, &mut looked)?;
    Ok(shifts)
}

/// Shifts found first were measured against edges that a later one has since explained.
fn measure_again(
    shifts: &mut [Shift],
    signs: &[(&Sign, usize)],
    looked: &mut Looked<'_>,
) -> Result<(), DecisionError> {
    for (place, (sign, earliest)) in signs.iter().enumerate() {
        let (before, later) = shifts.split_at(place);
        let later = later.iter().skip(1);
        if later.clone().any(|shift| sign.is_apart_from(shift)) {
            let others = before.iter().chain(later);
            looked.shifts.leave_out(odd(others, sign, looked.levels));
            if let Some(again) = looked.shift(sign, *earliest)? {
                shifts[place] = again;
            }
        }
    }
    Ok(())
}

/// Edges of other shifts are no measure of what lives should be: those that went before, and all of those
/// that the sign has no edge in common with.
fn odd<'s>(
    shifts: impl Iterator<Item = &'s Shift>,
    sign: &Sign,
    levels: &Levels<'_>,
) -> Vec<usize> {
    let of_shift = |shift: &Shift| {
        let apart = sign.is_apart_from(shift);
        let mut own = levels.within(shift.group.as_ref(), shift.places(levels.edges()));
        own.retain(|place| apart || *place < sign.run.first);
        own
    };
    shifts.flat_map(of_shift).collect()
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

fn figures(scheme: Scheme, scale: f64, sums_an_edge: usize) -> SchemeFigures {
    SchemeFigures {
        reference: scheme.reference(),
        decision: scheme.decision(),
        // Signs of several sums come at most as often as those of each added up.
        edges_between_false_signs: scheme.run_length(0.0) / sums_an_edge as f64,
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
