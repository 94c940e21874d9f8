//! From many draws to one estimate.

use super::DecisionError;
use crate::quantities::{Estimate, Level, QuantityError};

/// Values that share the leading bits of a number share a bucket: 2^7 of them to each doubling.
const BITS_LEFT: u32 = 52 - 7;
/// From 2^-14 on; what is smaller, or larger than the last bucket holds, shares the first or the last.
const FIRST: u64 = (1023 - 14) << 7;
const BUCKETS: usize = 24 << 7;

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
    let mut draws = draws.to_vec();
    let whole = weigh(&draws);
    between(point, level, dress, |share| {
        halved(&mut draws, share * whole)
    })
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

/// The least values by which such shares of the weight have been met; `None` where nothing weighs anything. Values are
/// zero or more.
///
/// They are asked for twice and not kept: hundreds of draws with their lives make half a megabyte. Once to weigh buckets
/// of them, which says in which each quantile lies, and once for those in these buckets.
pub(super) fn weighted_quantiles<const N: usize, V: Iterator<Item = (f64, f64)>>(
    values: impl Fn() -> V,
    shares: [f64; N],
) -> Option<[f64; N]> {
    let mut weights = vec![0.0; BUCKETS];
    values().for_each(|(value, weight)| weights[bucket(value)] += weight);
    let whole: f64 = weights.iter().sum();
    let mut near = shares.map(|share| Near::of(&weights, share * whole));
    for (value, weight) in values() {
        let own = bucket(value);
        for near in near.iter_mut().filter(|near| near.bucket == own) {
            near.values.push((value, weight));
        }
    }
    let found = near.map(|mut near| halved(&mut near.values, near.wanted));
    let all: Vec<f64> = found.into_iter().collect::<Option<_>>()?;
    all.try_into().ok()
}

/// What is no number is counted last, as in sorting.
fn bucket(value: f64) -> usize {
    if value.is_nan() {
        return BUCKETS - 1;
    }
    let leading = value.max(0.0).to_bits() >> BITS_LEFT;
    (leading.saturating_sub(FIRST) as usize).min(BUCKETS - 1)
}

/// Where a quantile lies.
struct Near {
    bucket: usize,
    /// So much of the weight in that bucket is to be met.
    wanted: f64,
    /// What is in it.
    values: Vec<(f64, f64)>,
}

impl Near {
    /// The first bucket by which so much weight has been met; the last that weighs anything where rounding leaves none.
    fn of(weights: &[f64], wanted: f64) -> Self {
        let (mut found, mut below, mut met) = (0, 0.0, 0.0);
        for (bucket, weight) in weights.iter().enumerate() {
            if *weight > 0.0 {
                (found, below) = (bucket, met);
                met += weight;
                if met >= wanted {
                    break;
                }
            }
        }
        Self {
            bucket: found,
            wanted: wanted - below,
            values: Vec::new(),
        }
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
            let [least] = weighted_quantiles(|| weighted.iter().copied(), [share]).unwrap();
            let met = |most: f64| {
                let below = weighted.iter().filter(|(value, _)| *value <= most);
                below.map(|(_, weight)| weight).sum::<f64>()
            };
            assert!(met(least) >= share * whole * (1.0 - 1e-12));
            let before = sorted.iter().rev().find(|value| **value < least);
            assert!(before.is_none_or(|before| met(*before) <= share * whole));
        }
        assert_eq!(weighted_quantiles(std::iter::empty, [0.5]), None);
    }

    #[test]
    fn quantiles_are_found_whatever_their_size_and_weight() {
        let of = |values: &[(f64, f64)], shares: [f64; 3]| {
            weighted_quantiles(|| values.iter().copied(), shares)
        };
        // Below the first bucket's end and beyond the last's, several together.
        let all = [
            (0.0, 1.0),
            (1e-9, 1.0),
            (1e-6, 1.0),
            (0.7, 1.0),
            (5e3, 1.0),
            (1e9, 1.0),
        ];
        assert_eq!(of(&all, [0.1, 0.3, 0.5]), Some([0.0, 1e-9, 1e-6]));
        assert_eq!(of(&all, [0.6, 0.8, 1.0]), Some([0.7, 5e3, 1e9]));
        let uneven = [(2.0, 0.0), (1.0, 3.0), (3.0, 1.0)];
        assert_eq!(of(&uneven, [0.0, 0.75, 0.8]), Some([1.0, 1.0, 3.0]));
        let lost = [(f64::NAN, 1.0), (1.0, 1.0), (2.0, 1.0)];
        let [low, middle, high] = of(&lost, [0.3, 0.6, 1.0]).unwrap();
        assert!((low, middle) == (1.0, 2.0) && high.is_nan());
        assert_eq!(of(&[(1.0, 0.0)], [0.1, 0.5, 0.9]), None);
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
