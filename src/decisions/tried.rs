//! What if: the same question under other costs, in other wood or at another interval.

use super::cycles::Cycles;
use super::mean_curve::MeanCurve;
use super::spread::{estimate, mean};
use super::{CycleCosts, DecisionError};
use crate::quantities::{Estimate, Level, MeterHours, Money, Probability};
use crate::wear::DrawUnderConditions;
use serde::Serialize;

/// The hours over which costs are told.
const HUNDRED_HOURS: f64 = 100.0;

/// One way to work: how edges live, and what their cycles cost.
#[derive(Debug, Clone, Copy)]
pub struct Way<'a> {
    /// Draws under the conditions.
    pub draws: &'a [DrawUnderConditions],
    /// Costs of a cycle.
    pub costs: &'a CycleCosts,
}

/// The intervals at which both ways are priced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TriedQuestion {
    /// Today's rule.
    pub rule: Option<MeterHours>,
    /// An interval to try.
    pub interval: Option<MeterHours>,
    /// The level of every bound.
    pub level: Level,
}

/// Two ways side by side, draw by draw. Money is per 100 meter hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tried {
    /// Today's rule.
    pub rule: Option<MeterHours>,
    /// The interval tried.
    pub interval: Option<MeterHours>,
    /// As it is.
    pub as_it_is: WayCosts,
    /// As tried.
    pub as_tried: WayCosts,
    /// What the other way costs more, each at its own best.
    pub more_at_best: Estimate<Money>,
    /// Chance that it is dearer, each at its own best.
    pub chance_dearer_at_best: Probability,
    /// What it costs more, both at today's rule.
    pub more_at_rule: Option<Estimate<Money>>,
    /// What it costs more, both at the interval tried.
    pub more_at_interval: Option<Estimate<Money>>,
    /// What the interval tried, the other way, costs more than today's rule as it is.
    pub more_than_rule: Option<Estimate<Money>>,
    /// Chance of that.
    pub chance_dearer_than_rule: Option<Probability>,
}

/// What one way costs per 100 meter hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WayCosts {
    /// The interval of least cost; `None` where no planned interval pays.
    pub best: Option<Estimate<MeterHours>>,
    /// The cost there; of changing when the cut calls where there is none.
    pub at_best: Estimate<Money>,
    /// The cost at today's rule.
    pub at_rule: Option<Estimate<Money>>,
    /// The cost at the interval tried.
    pub at_interval: Option<Estimate<Money>>,
}

/// Holds `as_tried` against `as_it_is`. Both have the same draws of the posterior in the same order, so
/// that what is doubtful in both takes nothing from the difference.
///
/// # Errors
///
/// Those of [`recommend`](super::recommend), but that no planned interval pays is an answer here.
///
/// # Examples
///
/// What if the crew waited on the chipper half of the time?
///
/// ```
/// use keenspan::decisions::{KnifeLayout, ShopCosts, TriedQuestion, Way, compare_ways};
/// use keenspan::quantities::Level;
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// let layout = KnifeLayout { knives: 4, edges_per_knife: 2 };
/// let shop = ShopCosts::common_practice()?;
/// let (now, then) = (shop.cycle(layout)?, shop.with("waiting_share", 0.5)?.cycle(layout)?);
/// let as_it_is = Way { draws: &draws, costs: &now };
/// let waiting = Way { draws: &draws, costs: &then };
/// let question = TriedQuestion { rule: None, interval: None, level: Level::NINETY };
/// let tried = compare_ways(&as_it_is, &waiting, &question)?;
/// let best = |way: keenspan::decisions::WayCosts| way.best.map(|best| best.point);
/// assert!(best(tried.as_tried) < best(tried.as_it_is));
/// assert!(tried.more_at_best.lower.get() > 0.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn compare_ways(
    as_it_is: &Way<'_>,
    as_tried: &Way<'_>,
    question: &TriedQuestion,
) -> Result<Tried, DecisionError> {
    let (now, then) = (
        Priced::new(as_it_is, question)?,
        Priced::new(as_tried, question)?,
    );
    let more = |now: &Option<Vec<f64>>, then: &Option<Vec<f64>>| match (now, then) {
        (Some(now), Some(then)) => question.money(&differences(now, then)).map(Some),
        _ => Ok(None),
    };
    let best = differences(&now.at_best, &then.at_best);
    let than_rule = match (&now.at_rule, &then.at_interval) {
        (Some(rule), Some(interval)) => Some(differences(rule, interval)),
        _ => None,
    };
    Ok(Tried {
        rule: question.rule,
        interval: question.interval,
        as_it_is: now.costs(question)?,
        as_tried: then.costs(question)?,
        more_at_best: question.money(&best)?,
        chance_dearer_at_best: chance_dearer(&best)?,
        more_at_rule: more(&now.at_rule, &then.at_rule)?,
        more_at_interval: more(&now.at_interval, &then.at_interval)?,
        more_than_rule: than_rule
            .as_deref()
            .map(|more| question.money(more))
            .transpose()?,
        chance_dearer_than_rule: than_rule.as_deref().map(chance_dearer).transpose()?,
    })
}

/// Cost per hour in each draw.
struct Priced {
    best: Option<Estimate<MeterHours>>,
    at_best: Vec<f64>,
    at_rule: Option<Vec<f64>>,
    at_interval: Option<Vec<f64>>,
}

impl Priced {
    fn new(way: &Way<'_>, question: &TriedQuestion) -> Result<Self, DecisionError> {
        let draws = Cycles::new(way.draws, way.costs)?;
        let at = |hours: MeterHours| draws.rates(&draws.at(hours.get()));
        let (at_rule, at_interval) = (question.rule.map(at), question.interval.map(at));
        let until_called = draws.rates_until_called();
        let (best, at_best) = match MeanCurve::of(draws) {
            Ok(curve) => {
                let (hours, level) = (curve.best().log_hours.exp(), question.level);
                let best = estimate(hours, &curve.own.ages, level, MeterHours::new)?;
                (Some(best), curve.best().rates.clone())
            }
            Err(DecisionError::RunUntilCalled { .. }) => (None, until_called),
            Err(error) => return Err(error),
        };
        Ok(Self {
            best,
            at_best,
            at_rule,
            at_interval,
        })
    }

    fn costs(&self, question: &TriedQuestion) -> Result<WayCosts, DecisionError> {
        let money = |rates: &Option<Vec<f64>>| {
            let rates = rates.as_deref();
            rates.map(|rates| question.money(rates)).transpose()
        };
        Ok(WayCosts {
            best: self.best,
            at_best: question.money(&self.at_best)?,
            at_rule: money(&self.at_rule)?,
            at_interval: money(&self.at_interval)?,
        })
    }
}

impl TriedQuestion {
    /// Rates per hour, told over 100 hours.
    fn money(&self, rates: &[f64]) -> Result<Estimate<Money>, DecisionError> {
        estimate(mean(rates), rates, self.level, |per_hour| {
            Money::new(HUNDRED_HOURS * per_hour)
        })
    }
}

fn differences(now: &[f64], then: &[f64]) -> Vec<f64> {
    now.iter().zip(then).map(|(now, then)| then - now).collect()
}

fn chance_dearer(more: &[f64]) -> Result<Probability, DecisionError> {
    let dearer = more.iter().filter(|more| **more > 0.0).count();
    Ok(Probability::new(dearer as f64 / more.len() as f64)?)
}
