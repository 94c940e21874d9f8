//! The fitted law of life against the estimate that knows no law, in reference conditions.

use super::predicted::parameters;
use super::{AdequacyError, NonParametric};
use crate::numerics::resampling::systematic;
use crate::numerics::weighted::WeightedDraws;
use crate::wear::Lifetime;
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::likelihood::{LastSeen, chance_going};
use crate::wear::sample::{Draw, Sample};
use rayon::prelude::*;
use serde::Serialize;

/// Draws behind the ribbon. Basis: its bounds err by about 1 % of chance.
const RIBBON: usize = 500;

/// One age on the curve. Survival is the share of edges that last longer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Hours in reference conditions.
    pub hours: f64,
    /// Without any law: before this age, or the highest that the data leave open.
    pub seen_before: f64,
    /// Without any law: just after it.
    pub seen_after: f64,
    /// The fitted law, on average over draws.
    pub fitted: f64,
    /// One chance in twenty that the fitted law lies lower.
    pub lower: f64,
    /// One chance in twenty that it lies higher.
    pub upper: f64,
}

/// Where the two are furthest apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gap {
    /// Hours in reference conditions.
    pub hours: f64,
    /// Of 100 edges, so many last longer without any law.
    pub seen: f64,
    /// Of 100 edges, so many last longer by the fitted law.
    pub fitted: f64,
}

/// Both curves.
///
/// Each edge's life is known as far as its last look tells, and is brought to reference conditions (a new
/// edge on a drum in clean green hardwood) by its typical life at the posterior medians of the parameters.
/// A grade says only that life lies between the age over the upper cut and the age over the lower cut, as an
/// eye sees it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FittedCurve {
    /// Whether lives were told by an eye: then both curves are of life as that eye sees it, which scatters
    /// a little more than life itself.
    pub blurred: bool,
    /// Where edges ended without any law.
    pub points: Vec<CurvePoint>,
    /// The furthest that the curves are apart; `None` where no edge was seen to end.
    pub largest_gap: Option<Gap>,
}

/// `None` where there is nothing to draw.
pub(super) fn fitted_curve(
    density: &WearDensity,
    sample: &Sample,
) -> Result<Option<FittedCurve>, AdequacyError> {
    let medians = medians(sample);
    let lives = standardised(density, &medians);
    let estimate = match NonParametric::new(&lives) {
        Err(AdequacyError::NothingCounts) => return Ok(None),
        other => other?,
    };
    let by_eye = |seen: LastSeen| !matches!(seen, LastSeen::Timed | LastSeen::NotDull);
    let blurred = density.last_looks().iter().any(|look| by_eye(look.seen));
    let (draws, weights): (Vec<&Draw>, Vec<f64>) = sample.weighted_draws().unzip();
    let chosen = systematic(&weights, RIBBON, 0.5);
    let point = |(i, hours): (usize, f64)| {
        let fitted: Vec<f64> = chosen
            .iter()
            .map(|&draw| going(density, &draws[draw].shared, hours, blurred))
            .collect();
        let even = WeightedDraws::new(&fitted, &vec![1.0; fitted.len()]);
        let (seen_before, seen_after) = estimate.around(i);
        CurvePoint {
            hours,
            seen_before,
            seen_after,
            fitted: even.mean(),
            lower: even.quantile(0.05),
            upper: even.quantile(0.95),
        }
    };
    let ends: Vec<(usize, f64)> = estimate
        .steps()
        .iter()
        .map(|step| step.to)
        .enumerate()
        .filter(|(_, hours)| hours.is_finite() && *hours > 0.0)
        .collect();
    let points: Vec<CurvePoint> = ends.into_par_iter().map(point).collect();
    let begins = estimate.steps().iter().map(|step| step.from);
    let begins: Vec<f64> = begins.collect();
    let fitted_at = |hours: f64| {
        let all = chosen
            .iter()
            .map(|&draw| going(density, &draws[draw].shared, hours, blurred));
        all.sum::<f64>() / chosen.len() as f64
    };
    let largest_gap = largest_gap(&points, &begins, fitted_at);
    Ok(Some(FittedCurve {
        blurred,
        points,
        largest_gap,
    }))
}

/// After each step against survival after it, and where each step begins against survival before it: between,
/// the data leave open how lives lie.
fn largest_gap(
    points: &[CurvePoint],
    begins: &[f64],
    fitted_at: impl Fn(f64) -> f64,
) -> Option<Gap> {
    let after = points.iter().map(|p| (p.hours, p.seen_after, p.fitted));
    let before = points.iter().zip(begins).filter(|(_, from)| **from > 0.0);
    let before = before.map(|(p, from)| (*from, p.seen_before, fitted_at(*from)));
    let apart = |(_, seen, fitted): &(f64, f64, f64)| (seen - fitted).abs();
    let (hours, seen, fitted) = after
        .chain(before)
        .max_by(|a, b| apart(a).total_cmp(&apart(b)))?;
    Some(Gap {
        hours,
        seen: 100.0 * seen,
        fitted: 100.0 * fitted,
    })
}

/// The share of edges that a draw lets last longer than this, in reference conditions.
fn going(density: &WearDensity, shared: &[f64], hours: f64, blurred: bool) -> f64 {
    let layout = density.layout();
    let eye = blurred.then(|| shared[layout.log_eye()].exp());
    let log_age = hours.ln() - shared[layout.location()];
    chance_going(
        density.law(),
        log_age,
        shared[layout.log_sigma()].exp(),
        eye,
    )
}

/// The chance that an edge ends before half its typical life, on average over draws.
pub(super) fn chance_of_half_life(density: &WearDensity, sample: &Sample) -> f64 {
    let layout = density.layout();
    let chance = |draw: &Draw| {
        let sigma = draw.shared[layout.log_sigma()].exp();
        1.0 - chance_going(density.law(), 0.5_f64.ln(), sigma, None)
    };
    let draws = sample.weighted_draws();
    draws.map(|(draw, weight)| weight * chance(draw)).sum()
}

/// The posterior median of each parameter.
fn medians(sample: &Sample) -> Parameters {
    let (draws, weights): (Vec<Parameters>, Vec<f64>) = sample
        .weighted_draws()
        .map(|(draw, weight)| (parameters(draw), weight))
        .unzip();
    let median = |of: &dyn Fn(&Parameters) -> f64| {
        let values: Vec<f64> = draws.iter().map(of).collect();
        WeightedDraws::new(&values, &weights).quantile(0.5)
    };
    let (shared, effects) = draws
        .first()
        .map_or((0, 0), |at| (at.shared.len(), at.effects.len()));
    Parameters {
        shared: (0..shared).map(|i| median(&|at| at.shared[i])).collect(),
        effects: (0..effects).map(|i| median(&|at| at.effects[i])).collect(),
    }
}

/// What is known of each life, in reference conditions. Edges that tell nothing are left out.
fn standardised(density: &WearDensity, at: &Parameters) -> Vec<Lifetime> {
    let typical = at.shared[density.layout().location()];
    let logs = density.log_lives(at);
    let hours = |bound: usize| (logs[bound] + typical).exp();
    let looks = density.last_looks().iter();
    looks
        .filter(|look| look.low.is_some() || look.high.is_some())
        .map(|look| Lifetime {
            lower: look.high.map_or(0.0, hours),
            upper: look.low.map_or(f64::INFINITY, hours),
            weight: 1.0,
            entry: look.entry.map_or(0.0, hours),
        })
        .collect()
}
