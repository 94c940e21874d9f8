//! From many draws to one estimate.

use super::DecisionError;
use crate::quantities::{Estimate, Level, QuantityError};

/// Every so many values stand for all in a first look at a weighted quantile.
const SAMPLED: usize = 61;
/// The quantile lies within this share of the sample's, as good as always; where it does not, all are looked at.
const NEAR: f64 = 0.03;

/// A point with the bounds that draws give it: their quantiles at the tails of `level`, straight
/// lines between order statistics (Hyndman and Fan 1996, type 7), widened where they would not hold
/// the point.
pub(super) fn estimate<T>(
    point: f64,
    draws: &[f64],
    level: Level,
    dress: impl Fn(f64) -> Result<T, QuantityError>,
) -> Result<Estimate<T>, DecisionError> {
    let mut draws = draws.to_vec();
    between(point, level, dress, |share| {
        selected_quantile(&mut draws, share)
    })
}

/// A point with bounds from draws that count unequally, each with its weight: the least draws by which so much of the
/// weight has been met, widened where they would not hold the point.
pub(super) fn estimate_of_weighted<T>(
    point: f64,
    draws: &[(f64, f64)],
    level: Level,
    dress: impl Fn(f64) -> Result<T, QuantityError>,
) -> Result<Estimate<T>, DecisionError> {
    between(point, level, dress, |share| weighted_quantile(draws, share))
}

fn between<T>(
    point: f64,
    level: Level,
    dress: impl Fn(f64) -> Result<T, QuantityError>,
    mut quantile: impl FnMut(f64) -> Option<f64>,
) -> Result<Estimate<T>, DecisionError> {
    let mut at = |share| quantile(share).ok_or(DecisionError::NoDraws);
    let (lower, upper) = (at(level.tail())?, at(1.0 - level.tail())?);
    Ok(Estimate {
        point: dress(point)?,
        lower: dress(lower.min(point))?,
        upper: dress(upper.max(point))?,
        level,
    })
}

/// The quantile of sorted numbers; `None` where there are none.
pub(super) fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let place = share * sorted.len().checked_sub(1)? as f64;
    let below = place.floor() as usize;
    let low = *sorted.get(below)?;
    let high = *sorted.get(below + 1).unwrap_or(&low);
    Some(low + (place - place.floor()) * (high - low))
}

/// The quantile of numbers in any order, which it changes; `None` where there are none.
fn selected_quantile(numbers: &mut [f64], share: f64) -> Option<f64> {
    let place = share * numbers.len().checked_sub(1)? as f64;
    let below = place.floor() as usize;
    if below >= numbers.len() {
        return None;
    }
    let (_, low, above) = numbers.select_nth_unstable_by(below, f64::total_cmp);
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(*low);
    Some(*low + (place - place.floor()) * (high - *low))
}

/// The least value by which so large a share of the weight has been met; `None` where there is none.
///
/// A sample says about where it lies; one pass then leaves the few values near there, which are halved until one is
/// left. Sorting all of them would take ten times as long.
pub(super) fn weighted_quantile(values: &[(f64, f64)], share: f64) -> Option<f64> {
    let wanted = share * weigh(values);
    let mut sample: Vec<(f64, f64)> = values.iter().copied().step_by(SAMPLED).collect();
    let met = weigh(&sample);
    let low = halved(&mut sample, (share - NEAR) * met)?;
    let high = halved(&mut sample, (share + NEAR) * met)?;
    let (mut below, mut near) = (0.0, Vec::with_capacity(values.len() / SAMPLED));
    for &(value, weight) in values {
        if value < low {
            below += weight;
        } else if value <= high {
            near.push((value, weight));
        }
    }
    if below < wanted && wanted <= below + weigh(&near) {
        halved(&mut near, wanted - below)
    } else {
        halved(&mut values.to_vec(), wanted)
    }
}

fn weigh(values: &[(f64, f64)]) -> f64 {
    values.iter().map(|(_, weight)| weight).sum()
}

/// The least value by which so much weight has been met. Values come in any order and are left in another.
fn halved(mut values: &mut [(f64, f64)], mut wanted: f64) -> Option<f64> {
    while values.len() > 1 {
        let middle = (values.len() - 1) / 2;
        values.select_nth_unstable_by(middle, |a, b| a.0.total_cmp(&b.0));
        let (low, high) = values.split_at_mut(middle + 1);
        let met = weigh(low);
        if met >= wanted {
            values = low;
        } else {
            wanted -= met;
            values = high;
        }
    }
    values.first().map(|(value, _)| *value)
}

/// The mean; `NaN` of nothing.
pub(super) fn mean(draws: &[f64]) -> f64 {
    draws.iter().sum::<f64>() / draws.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::Money;

    #[test]
    fn selected_quantiles_are_those_of_sorted_numbers() {
        let numbers: Vec<f64> = (0..101).map(|i| f64::from(i * 37 % 101).sqrt()).collect();
        let mut sorted = numbers.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let weighted: Vec<(f64, f64)> = numbers.iter().map(|x| (*x, 1.0 + x.fract())).collect();
        let whole: f64 = weighted.iter().map(|(_, weight)| weight).sum();
        for share in [0.0, 0.05, 0.337, 0.5, 0.95, 1.0] {
            let selected = selected_quantile(&mut numbers.clone(), share);
            assert_eq!(selected, quantile(&sorted, share));
            let least = weighted_quantile(&weighted, share).unwrap();
            let met = |most: f64| {
                let below = weighted.iter().filter(|(value, _)| *value <= most);
                below.map(|(_, weight)| weight).sum::<f64>()
            };
            assert!(met(least) >= share * whole * (1.0 - 1e-12));
            let before = sorted.iter().rev().find(|value| **value < least);
            assert!(before.is_none_or(|before| met(*before) <= share * whole));
        }
        assert_eq!(weighted_quantile(&[], 0.5), None);
    }

    #[test]
    fn bounds_are_quantiles_and_hold_the_point() {
        let draws: Vec<f64> = (0..=100).rev().map(f64::from).collect();
        let middle = estimate(50.0, &draws, Level::NINETY, Money::new).unwrap();
        assert!((middle.lower.get() - 5.0).abs() < 1e-12);
        assert!((middle.upper.get() - 95.0).abs() < 1e-12);
        let outside = estimate(99.0, &draws, Level::NINETY, Money::new).unwrap();
        assert_eq!(outside.upper.get(), 99.0);
        assert_eq!(
            estimate(1.0, &[], Level::NINETY, Money::new),
            Err(DecisionError::NoDraws)
        );
    }
}
