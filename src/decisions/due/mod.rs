//! The reading at which the edge at work is due: the operator's mark.
//!
//! With `g` what the shop pays per hour in the long run (renewal reward), an edge is worth running `h` more hours
//! as long as
//!
//! ```text
//! J(h) = E[ cost of the next h hours ] - g E[ hours worked of them ]
//! ```
//!
//! falls. Hours end early where the crew calls the edge or a strike forces a change. What comes next is taken
//! to go on, for this edge and those after it: whoever changes early in gritty wood wears the next edge in
//! gritty wood too.
//!
//! `J` is averaged over the draws, each with the least `g` that it allows: by the time later edges are at work the
//! crew knows which draw it lives in, and changes by that. So a draw in which edges last for ever has no more to
//! lose by an early change than the change itself, and cannot carry the mark away; and where draws agree, a fresh
//! edge is due after the interval.

use super::caveats;
use super::cycle_costs::CheckedCosts;
use super::mean_curve::MeanCurve;
use super::spread::{estimate, mean, weighted_quantile};
use super::{Caveat, CycleCosts, DecisionError, Evidence};
use crate::quantities::{Estimate, Level, MeterHours, Probability, WearFraction};
use crate::wear::{AgedDraw, DrawUnderConditions};
use serde::{Deserialize, Serialize};

mod present;
#[cfg(test)]
mod tests;

use present::{Course, Present};

/// Hours are looked at up to this many times the interval.
const REACH: f64 = 3.0;
/// In so many steps, close together at the start.
const STEPS: u32 = 96;

/// The edge at work and what comes next, draw by draw.
#[derive(Debug, Clone, Copy)]
pub struct AtWorkIn<'a> {
    /// The edge; of a fresh one the wear is zero.
    pub edge: &'a [AgedDraw],
    /// Laws and strikes of such edges in what comes next.
    pub laws: &'a [DrawUnderConditions],
    /// Wear hours per meter hour in what comes next.
    pub rates: &'a [f64],
    /// What the hour meter reads now, where that is known.
    pub meter: Option<MeterHours>,
}

/// When the edge at work is due.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DueAnswer {
    /// Meter hours left; bounds are the spread of each draw's own best. Zero: due.
    pub hours_left: Estimate<MeterHours>,
    /// What the hour meter reads then; `None` where it is not known what it reads now.
    pub mark: Option<Estimate<MeterHours>>,
    /// Meter hours since it was due by the interval, bounds by each draw's own; `None` where it is not yet.
    pub overdue: Option<Estimate<MeterHours>>,
    /// Wear so far; at 1 the edge is just dull.
    pub wear: Estimate<WearFraction>,
    /// Chance that it is dull already.
    #[serde(rename = "chance_dull")]
    pub past_dull: Probability,
    /// What must be said beside it.
    pub caveats: Vec<Caveat>,
}

/// When the edge at work is due, if what comes next goes on and on.
///
/// # Errors
///
/// [`DecisionError::RunUntilCalled`] where no planned interval pays, [`DecisionError::NoDraws`], and those of
/// the cost of a cycle.
///
/// # Examples
///
/// A fresh edge is due after the interval; one that has 30 of its wear hours behind it, sooner. (From a log: the
/// front page of this crate.)
///
/// ```
/// use keenspan::decisions::{AtWorkIn, Evidence, KnifeLayout, ShopCosts, due};
/// use keenspan::quantities::{Level, MeterHours};
/// use keenspan::wear::AgedDraw;
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// # let evidence = Evidence {
/// #     edges_finished: 12,
/// #     edges_graded: 10,
/// #     prior_variance: 0.16,
/// #     posterior_variance: 0.02,
/// # };
/// let costs = ShopCosts::common_practice()?.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
/// // In each draw the edge may last 40, 55 or 75 wear hours.
/// let worn = |wear| vec![AgedDraw { wear, lives: vec![(40.0, 0.3), (55.0, 0.4), (75.0, 0.3)] }; 3];
/// let hours_left = |wear| {
///     let edge = worn(wear);
///     let meter = MeterHours::new(1240.0).ok();
///     let at_work = AtWorkIn { edge: &edge, laws: &draws, rates: &[1.0; 3], meter };
///     due(at_work, &costs, Level::NINETY, &evidence)
/// };
/// let (fresh, worn) = (hours_left(0.0)?, hours_left(30.0)?);
/// assert!(worn.hours_left.point < fresh.hours_left.point);
/// assert!(worn.mark.ok_or("no reading")?.point.get() >= 1240.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn due(
    at_work: AtWorkIn<'_>,
    costs: &CycleCosts,
    level: Level,
    evidence: &Evidence,
) -> Result<DueAnswer, DecisionError> {
    due_as_worn(at_work, &WornNow::of(at_work.edge, level)?, costs, evidence)
}

/// The same of an edge whose wear is known, at the level that it is known at: what is told of the wear so far is one
/// and the same whatever comes next.
///
/// # Errors
///
/// As [`due()`].
pub fn due_as_worn(
    at_work: AtWorkIn<'_>,
    worn: &WornNow,
    costs: &CycleCosts,
    evidence: &Evidence,
) -> Result<DueAnswer, DecisionError> {
    let curve = MeanCurve::best_alone(at_work.laws, costs)?;
    let checked = costs.check()?;
    let (left, own) = hours_left(at_work, &curve, &checked);
    let (wear, level) = (worn.wear, worn.wear.level);
    let of_interval = caveats::of_interval(evidence, true, Probability::new(curve.until_called)?)?;
    let beyond = (wear.lower.get() > checked.call_at).then_some(Caveat::WornBeyondCalling);
    let by = |from: f64| estimate(left, &own, level, |left| MeterHours::new(from + left));
    let meter = at_work.meter.map(MeterHours::get);
    Ok(DueAnswer {
        hours_left: by(0.0)?,
        mark: meter.map(by).transpose()?,
        overdue: (left == 0.0)
            .then(|| overdue(at_work, &curve, level))
            .transpose()?,
        wear,
        past_dull: worn.past_dull,
        caveats: beyond.into_iter().chain(of_interval).collect(),
    })
}

/// How far the edge at work is worn by now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WornNow {
    /// Wear so far; at 1 the edge is just dull.
    pub wear: Estimate<WearFraction>,
    /// Chance that it is dull already.
    pub past_dull: Probability,
}

impl WornNow {
    /// Of an edge as each draw has it.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`].
    pub fn of(edge: &[AgedDraw], level: Level) -> Result<Self, DecisionError> {
        Ok(Self {
            wear: wear(edge, level)?,
            past_dull: Probability::new(mean(&chances_dull(edge)))?,
        })
    }
}

/// Hours left on the mean, and each draw's own.
fn hours_left(at_work: AtWorkIn<'_>, curve: &MeanCurve, costs: &CheckedCosts) -> (f64, Vec<f64>) {
    let interval = curve.best().log_hours.exp();
    let step = |step: u32| (f64::from(step) / f64::from(STEPS)).powi(2) * REACH * interval;
    let grid: Vec<f64> = (0..=STEPS).map(step).collect();
    let mut course = Course::new(&grid);
    let (mut gain, mut gains) = (vec![0.0; grid.len()], Vec::with_capacity(grid.len()));
    let mut own = Vec::with_capacity(at_work.laws.len());
    let edges = at_work.edge.iter().zip(at_work.rates).zip(at_work.laws);
    for (((edge, &rate), law), long_run) in edges.zip(&curve.own_least) {
        let present = Present {
            edge,
            rate,
            strikes: law.strikes_per_hour,
        };
        let spent = course.spend(&present, costs).iter();
        gains.clear();
        gains.extend(spent.map(|at| at.cost - long_run * at.hours));
        for (sum, at) in gain.iter_mut().zip(&gains) {
            *sum += at;
        }
        own.push(turn(&grid, &gains));
    }
    (turn(&grid, &gain), own)
}

/// Hours for which the edge has been worn beyond the interval; in each draw beyond its own.
fn overdue(
    at_work: AtWorkIn<'_>,
    curve: &MeanCurve,
    level: Level,
) -> Result<Estimate<MeterHours>, DecisionError> {
    let edges = at_work.edge.iter().zip(at_work.rates);
    let worked: Vec<f64> = edges.map(|(edge, rate)| edge.wear / rate).collect();
    let draws = worked.iter().zip(&curve.own_best);
    let own: Vec<f64> = draws.map(|(hours, best)| (hours - best).max(0.0)).collect();
    let by = (mean(&worked) - curve.best().log_hours.exp()).max(0.0);
    estimate(by, &own, level, MeterHours::new)
}

/// The place on the grid where a cost is least.
fn turn(grid: &[f64], costs: &[f64]) -> f64 {
    let least = costs.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1));
    least.map_or(0.0, |(least, _)| near(grid, costs, least))
}

/// A least place of the grid, between its points by the parabola through three of them.
fn near(grid: &[f64], costs: &[f64], least: usize) -> f64 {
    if least == 0 || least + 1 >= grid.len() {
        return grid[least];
    }
    let (before, here, after) = (least - 1, least, least + 1);
    let left = (grid[here] - grid[before], costs[here] - costs[before]);
    let right = (grid[after] - grid[here], costs[after] - costs[here]);
    let (fall, rise) = (left.1 / left.0, right.1 / right.0);
    let bend = (rise - fall) / (0.5 * (left.0 + right.0));
    let at_here = (fall * right.0 + rise * left.0) / (left.0 + right.0);
    if bend > 0.0 {
        (grid[here] - at_here / bend).clamp(grid[before], grid[after])
    } else {
        grid[here]
    }
}

fn wear(edge: &[AgedDraw], level: Level) -> Result<Estimate<WearFraction>, DecisionError> {
    let count = edge.iter().map(|draw| draw.lives.len()).sum();
    let mut fractions = Vec::with_capacity(count);
    for draw in edge {
        let lives = draw.lives.iter();
        fractions.extend(lives.map(|(life, chance)| (draw.wear / life, *chance)));
    }
    let at = |share| weighted_quantile(&fractions, share).ok_or(DecisionError::NoDraws);
    Ok(Estimate {
        point: WearFraction::new(at(0.5)?)?,
        lower: WearFraction::new(at(level.tail())?)?,
        upper: WearFraction::new(at(1.0 - level.tail())?)?,
        level,
    })
}

fn chances_dull(edge: &[AgedDraw]) -> Vec<f64> {
    let chance = |draw: &AgedDraw| {
        let dull = draw.lives.iter().filter(|(life, _)| *life <= draw.wear);
        dull.fold(0.0, |sum: f64, (_, chance)| sum + chance)
            .min(1.0)
    };
    edge.iter().map(chance).collect()
}
