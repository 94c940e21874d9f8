//! When to change: the interval of least expected cost, and what today's rule costs against it.

use super::caveats;
use super::interval_answer::{
    CurvePoint, FlatPart, IntervalAnswer, Question, RuleComparison, ServiceInterval,
};
use super::mean_curve::MeanCurve;
use super::spread::{estimate, mean};
use super::{CycleCosts, DecisionError};
use crate::quantities::{Estimate, Level, MeterHours, Money, Probability};
use crate::wear::DrawUnderConditions;

/// Costs within this share of the least count as the flat part of the curve. Basis: judged; no crew
/// can tell 2 % in its books.
const FLAT: f64 = 0.02;
/// The hours over which extra costs are told.
const HUNDRED_HOURS: f64 = 100.0;

/// The interval of least expected cost per meter hour over the posterior, with all that goes with it.
///
/// `draws` are posterior draws of the life law and strike rate under the conditions asked about. No
/// randomness: the same draws give the same answer.
///
/// # Errors
///
/// [`DecisionError::NoDraws`], [`DecisionError::RunUntilCalled`] where no planned interval pays, and
/// those of the cost of a cycle: [`DecisionError::CostOutOfRange`],
/// [`DecisionError::ParameterOutOfRange`], [`DecisionError::UnboundedRunningCost`].
///
/// # Examples
///
/// ```
/// use keenspan::decisions::{Evidence, KnifeLayout, Question, ShopCosts, recommend};
/// use keenspan::quantities::{Level, MeterHours};
/// use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
///
/// // Three draws by hand; `wear::Draws::under` gives hundreds.
/// let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
///     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
///     strikes_per_hour: 0.002,
/// });
/// let costs = ShopCosts::common_practice()?.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
/// let question = Question {
///     rule: Some(MeterHours::new(100.0)?),
///     service_every: None,
///     hours_per_year: Some(MeterHours::new(400.0)?),
///     level: Level::NINETY,
///     evidence: Evidence {
///         edges_finished: 12,
///         edges_graded: 10,
///         prior_variance: 0.16,
///         posterior_variance: 0.02,
///     },
/// };
/// let answer = recommend(&draws, &costs, &question)?;
/// assert!((45.0..60.0).contains(&answer.interval.point.get()));
/// // Anything in the flat part costs within 2 % of the least; a rule of 100 hours costs more.
/// assert!(answer.flat.from < answer.interval.point);
/// let rule = answer.rule.ok_or("no rule")?;
/// assert!(rule.extra_per_100_hours.lower.get() > 0.0);
/// // Of what is known of edge life an eighth is still the default.
/// assert!((answer.share_from_defaults.get() - 0.125).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn recommend(
    draws: &[DrawUnderConditions],
    costs: &CycleCosts,
    question: &Question,
) -> Result<IntervalAnswer, DecisionError> {
    let curve = MeanCurve::new(draws, costs)?;
    let best = curve.best();
    let hours = best.log_hours.exp();
    let level = question.level;
    let past_dull = curve.chances_dull(hours);
    let struck = curve.chances_struck(hours);
    let best_until_called = Probability::new(curve.own.until_called)?;
    Ok(IntervalAnswer {
        interval: estimate(hours, &curve.own.ages, level, MeterHours::new)?,
        cost_per_hour: estimate(best.mean, &best.rates, level, Money::new)?,
        past_dull: estimate(mean(&past_dull), &past_dull, level, Probability::new)?,
        struck: estimate(mean(&struck), &struck, level, Probability::new)?,
        flat: flat_part(&curve)?,
        curve: curve_points(&curve, question)?,
        rule: question
            .rule
            .map(|rule| compare(&curve, rule, question))
            .transpose()?,
        service: question
            .service_every
            .filter(|every| *every > MeterHours::ZERO)
            .map(|every| at_service_stops(&curve, every, question))
            .transpose()?,
        share_from_defaults: question.evidence.share_from_defaults()?,
        best_until_called,
        caveats: caveats::of_interval(
            &question.evidence,
            question.rule.is_some(),
            best_until_called,
        )?,
    })
}

/// Only the interval of least expected cost and the chance of dull by then: what [`recommend`] says of these, with
/// nothing beside it, for a cell of a table.
///
/// # Errors
///
/// As [`recommend`].
pub fn recommend_alone(
    draws: &[DrawUnderConditions],
    costs: &CycleCosts,
    level: Level,
) -> Result<(Estimate<MeterHours>, Estimate<Probability>), DecisionError> {
    let curve = MeanCurve::best_alone(draws, costs)?;
    let hours = curve.best().log_hours.exp();
    let past_dull = curve.chances_dull(hours);
    Ok((
        estimate(hours, &curve.own.ages, level, MeterHours::new)?,
        estimate(mean(&past_dull), &past_dull, level, Probability::new)?,
    ))
}

fn flat_part(curve: &MeanCurve) -> Result<FlatPart, DecisionError> {
    let limit = curve.best().mean * (1.0 + FLAT);
    let (from, to) = curve.stretch_below(limit);
    let open = curve.until_called_rate <= limit;
    Ok(FlatPart {
        from: MeterHours::new(from)?,
        to: (!open).then(|| MeterHours::new(to)).transpose()?,
    })
}

fn curve_points(curve: &MeanCurve, question: &Question) -> Result<Vec<CurvePoint>, DecisionError> {
    curve
        .grid()
        .iter()
        .map(|point| {
            Ok(CurvePoint {
                interval: MeterHours::new(point.log_hours.exp())?,
                cost_per_hour: estimate(point.mean, &point.rates, question.level, Money::new)?,
            })
        })
        .collect()
}

/// What each draw pays per hour at `hours` beyond the best interval.
fn extra_per_hour(curve: &MeanCurve, hours: MeterHours) -> Vec<f64> {
    curve
        .rates(hours.get())
        .iter()
        .zip(&curve.best().rates)
        .map(|(rate, best)| rate - best)
        .collect()
}

fn extra_over(
    extra: &[f64],
    hours: f64,
    question: &Question,
) -> Result<Estimate<Money>, DecisionError> {
    estimate(mean(extra), extra, question.level, |per_hour| {
        Money::new(hours * per_hour)
    })
}

fn compare(
    curve: &MeanCurve,
    rule: MeterHours,
    question: &Question,
) -> Result<RuleComparison, DecisionError> {
    let extra = extra_per_hour(curve, rule);
    let dearer = extra.iter().filter(|extra| **extra > 0.0).count();
    let per_year = question
        .hours_per_year
        .map(|year| extra_over(&extra, year.get(), question));
    Ok(RuleComparison {
        rule,
        extra_per_100_hours: extra_over(&extra, HUNDRED_HOURS, question)?,
        extra_per_year: per_year.transpose()?,
        chance_dearer: Probability::new(dearer as f64 / extra.len() as f64)?,
    })
}

/// The cheaper of the two multiples of `every` next to the best interval.
fn at_service_stops(
    curve: &MeanCurve,
    every: MeterHours,
    question: &Question,
) -> Result<ServiceInterval, DecisionError> {
    let below = (curve.best().log_hours.exp() / every.get())
        .floor()
        .max(1.0);
    let mean_at = |stops: f64| mean(&curve.rates(stops * every.get()));
    let stops = if mean_at(below + 1.0) < mean_at(below) {
        below + 1.0
    } else {
        below
    };
    let interval = MeterHours::new(stops * every.get())?;
    Ok(ServiceInterval {
        interval,
        every_stops: stops as u32,
        extra_per_100_hours: extra_over(&extra_per_hour(curve, interval), HUNDRED_HOURS, question)?,
    })
}
