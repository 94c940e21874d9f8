//! From many draws to one estimate.

use super::DecisionError;
use crate::quantities::{Estimate, Level, QuantityError};

/// A point with the bounds that draws give it: their quantiles at the tails of `level`, straight
/// lines between order statistics (Hyndman and Fan 1996, type 7), widened where they would not hold
/// the point.
pub(super) fn estimate<T>(
    point: f64,
    draws: &[f64],
    level: Level,
    dress: impl Fn(f64) -> Result<T, QuantityError>,
) -> Result<Estimate<T>, DecisionError> {
    let mut sorted = draws.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let (lower, upper) = (
        quantile(&sorted, level.tail()).ok_or(DecisionError::NoDraws)?,
        quantile(&sorted, 1.0 - level.tail()).ok_or(DecisionError::NoDraws)?,
    );
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

/// The least value by which so large a share of the weight has been met; `None` where there is none. Values
/// rise, each with its weight.
pub(super) fn weighted_quantile(sorted: &[(f64, f64)], share: f64) -> Option<f64> {
    let whole: f64 = sorted.iter().map(|(_, weight)| weight).sum();
    let mut met = 0.0;
    let reached = |(_, weight): &&(f64, f64)| {
        met += weight;
        met >= share * whole
    };
    let found = sorted.iter().find(reached).or(sorted.last());
    found.map(|(value, _)| *value)
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
