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
//!
//! Nobody has called the edge at work yet: lives that would have been called by now are none of its own, and a draw
//! counts by the chance that is left. So hours that were to be worked and have been leave the mark where it was, as
//! they do in age replacement under one law (Barlow and Proschan, Mathematical Theory of Reliability, 1965). That it has
//! not been struck since the log ends is not counted so: how often strikes come differs little between draws.

use super::caveats;
use super::mean_curve::OwnBest;
use super::spread::mean;
use super::worn::worn;
use super::{Caveat, CycleCosts, DecisionError, Evidence};
use crate::quantities::{Estimate, Level, MeterHours, Probability, WearFraction};
use crate::wear::{AgedDraw, DrawUnderConditions};
use serde::{Deserialize, Serialize};

mod present;
#[cfg(test)]
mod tests;
mod turns;

use turns::Turns;

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
    /// Wear hours per meter hour in what it did last: hours since it was due are told in such.
    pub lately: &'a [f64],
}

/// When the edge at work is due.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DueAnswer {
    /// Meter hours left; bounds are the spread of each draw's own best. Zero: due.
    pub hours_left: Estimate<MeterHours>,
    /// What the hour meter reads then; `None` where it is not known what it reads now.
    pub mark: Option<Estimate<MeterHours>>,
    /// Meter hours since it was due, of such work as it did last, bounds by each draw's own; `None` where it is not due
    /// yet.
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
/// let worn = |wear| vec![AgedDraw { wear, lives: vec![(40.0, 0.3), (55.0, 0.4), (75.0, 0.3)].into() }; 3];
/// let hours_left = |wear| {
///     let edge = worn(wear);
///     let meter = MeterHours::new(1240.0).ok();
///     let rates = &[1.0; 3];
///     let at_work = AtWorkIn { edge: &edge, laws: &draws, rates, meter, lately: rates };
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
    let own = OwnBest::where_plans_pay(at_work.laws, costs)?;
    let checked = costs.check()?;
    let left = Turns::ahead(at_work, &own, &checked)?;
    let (wear, level) = (worn.wear, worn.wear.level);
    let of_interval = caveats::of_interval(evidence, true, Probability::new(own.until_called)?)?;
    let called = (worn.called_dull && left.mean > 0.0).then_some(Caveat::CalledDull);
    let beyond = (wear.lower.get() > checked.call_at).then_some(Caveat::WornBeyondCalling);
    let meter = at_work.meter.map(MeterHours::get);
    let overdue = || Turns::behind(&left, at_work, &own, &checked).estimate(0.0, level);
    Ok(DueAnswer {
        hours_left: left.estimate(0.0, level)?,
        mark: meter.map(|meter| left.estimate(meter, level)).transpose()?,
        overdue: (left.mean == 0.0).then(overdue).transpose()?,
        wear,
        past_dull: worn.past_dull,
        caveats: called
            .into_iter()
            .chain(beyond)
            .chain(of_interval)
            .collect(),
    })
}

/// How far the edge at work is worn by now, as the log has it. That nobody has called the edge since is left out here:
/// whoever types a reading may well be asking whether it should have been called.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WornNow {
    /// Wear so far; at 1 the edge is just dull.
    pub wear: Estimate<WearFraction>,
    /// Chance that it is dull already.
    pub past_dull: Probability,
    /// Somebody called it dull, and it has not been touched up since.
    pub called_dull: bool,
}

impl WornNow {
    /// Of an edge as each draw has it, that nobody called.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`].
    pub fn of(edge: &[AgedDraw], level: Level) -> Result<Self, DecisionError> {
        Ok(Self {
            wear: worn(edge, level)?,
            past_dull: Probability::new(mean(&chances_dull(edge)))?,
            called_dull: false,
        })
    }
}

fn chances_dull(edge: &[AgedDraw]) -> Vec<f64> {
    let chance = |draw: &AgedDraw| {
        let dull = draw.lives.iter().filter(|(life, _)| *life <= draw.wear);
        dull.fold(0.0, |sum: f64, (_, chance)| sum + chance)
            .min(1.0)
    };
    edge.iter().map(chance).collect()
}
