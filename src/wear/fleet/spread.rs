//! The posterior of the spread of group effects, on a line of points.

use super::density::FleetDensity;
use super::expansion::{Conditional, Expansion};
use crate::wear::{HalfNormal, WearError};

/// Points of a line, and how many standard deviations it reaches to either side once those are known.
const POINTS: usize = 25;
const REACH: f64 = 4.5;
/// The first line, of the log of the spread against that of its prior's scale.
const FIRST: (f64, f64) = (-6.0, 1.8);
/// Lines that are laid, each round the mean of the one before.
const ROUNDS: usize = 5;
/// A line tells enough once it reaches as far as this, in its own standard deviations.
const FITS: (f64, f64) = (3.0, 7.0);

/// The law of the log of the spread: equally spaced points and their weights, which add up to one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SpreadLaw {
    pub logs: Vec<f64>,
    pub weights: Vec<f64>,
}

impl SpreadLaw {
    pub(super) fn of(
        density: &FleetDensity,
        expansion: &Expansion,
        prior: HalfNormal,
    ) -> Result<Self, WearError> {
        let scale = prior.scale().ln();
        let (mut low, mut high) = (scale + FIRST.0, scale + FIRST.1);
        for _ in 0..ROUNDS {
            let law = Self::between(density, expansion, prior, low, high)?;
            let (mean, spread) = law.moments();
            let reach = 0.5 * (high - low) / spread;
            if (FITS.0..FITS.1).contains(&reach) && (low..high).contains(&mean) {
                return Ok(law);
            }
            // A spread between two points of a line that is too long is not seen: it is at most their distance.
            let reach = REACH * spread.max(0.3 * (high - low) / POINTS as f64);
            (low, high) = (mean - reach, mean + reach);
        }
        Self::between(density, expansion, prior, low, high)
    }

    fn between(
        density: &FleetDensity,
        expansion: &Expansion,
        prior: HalfNormal,
        low: f64,
        high: f64,
    ) -> Result<Self, WearError> {
        let step = (high - low) / (POINTS - 1) as f64;
        let logs: Vec<f64> = (0..POINTS).map(|i| low + step * i as f64).collect();
        let height = |log: &f64| {
            let spread = log.exp();
            let law: Option<Conditional> = expansion.conditional(density, spread);
            // The prior is on the spread itself: its log has the spread as Jacobian.
            let prior = -0.5 * (spread / prior.scale()).powi(2) + log;
            law.map_or(f64::NEG_INFINITY, |law| law.log_integral + prior)
        };
        let heights: Vec<f64> = logs.iter().map(height).collect();
        let most = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !most.is_finite() {
            return Err(WearError::NotSettled { iterations: 0 });
        }
        let total: f64 = heights.iter().map(|height| (height - most).exp()).sum();
        let weights = heights.iter().map(|height| (height - most).exp() / total);
        Ok(Self {
            weights: weights.collect(),
            logs,
        })
    }

    /// Mean and standard deviation of the log.
    pub(super) fn moments(&self) -> (f64, f64) {
        self.of_spread(|log| log)
    }

    /// Mean and standard deviation of a function of the log.
    pub(super) fn of_spread(&self, of: impl Fn(f64) -> f64) -> (f64, f64) {
        let points = || self.logs.iter().map(|log| of(*log)).zip(&self.weights);
        let mean: f64 = points().map(|(value, weight)| weight * value).sum();
        let variance: f64 = points()
            .map(|(value, weight)| weight * (value - mean).powi(2))
            .sum();
        (mean, variance.sqrt())
    }

    /// The spread below which lies `share` of the law; each point stands for the step round it.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        let step = match self.logs.as_slice() {
            [one, other, ..] => other - one,
            _ => 0.0,
        };
        let mut below = 0.0;
        for (log, weight) in self.logs.iter().zip(&self.weights) {
            if below + weight >= share && *weight > 0.0 {
                return (log + step * ((share - below) / weight - 0.5)).exp();
            }
            below += weight;
        }
        self.logs.last().copied().unwrap_or_default().exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn quantiles_are_those_of_the_law_that_the_points_stand_for() {
        // A normal law of the log about -1.4 with standard deviation 0.1.
        let logs: Vec<f64> = (0..25).map(|i| -1.85 + 0.0375 * f64::from(i)).collect();
        let heights: Vec<f64> = logs
            .iter()
            .map(|x| (-0.5 * ((x + 1.4) / 0.1_f64).powi(2)).exp())
            .collect();
        let total: f64 = heights.iter().sum();
        let law = SpreadLaw {
            weights: heights.iter().map(|h| h / total).collect(),
            logs,
        };
        let (mean, spread) = law.moments();
        assert_relative_eq!(mean, -1.4, max_relative = 1e-9);
        assert_relative_eq!(spread, 0.1, max_relative = 1e-4);
        for (share, score) in [(0.05, -1.645), (0.5, 0.0), (0.95, 1.645)] {
            assert_relative_eq!(law.quantile(share).ln(), -1.4 + 0.1 * score, epsilon = 2e-3);
        }
    }
}
