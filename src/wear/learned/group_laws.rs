//! Priors of groupings on the scale of the model.

use super::{HALF_WIDTH, ScaledPrior};
use crate::numerics::{brent_root, normal};
use crate::wear::HalfNormal;
use std::f64::consts::PI;

/// Steps at which the half-normal law is taken.
const STEPS: usize = 400;

/// The half-normal law of a spread: variance `scale^2 (1 - 2 / pi)`.
pub fn spread(prior: HalfNormal) -> ScaledPrior {
    ScaledPrior {
        quantiles: [0.05, 0.5, 0.95].map(|share| prior.quantile(share)),
        variance: prior.scale().powi(2) * (1.0 - 2.0 / PI),
    }
}

/// The law of a group's effect: normal, with a spread that is half-normal itself. It is the law of the
/// product of two standard normal variables, times the scale.
pub struct GroupEffectLaw {
    /// Its 95 % quantile at scale one.
    upper: f64,
}

impl GroupEffectLaw {
    /// Finds the quantile.
    pub fn new() -> Self {
        let steps = (0..STEPS).map(|i| (i as f64 + 0.5) / STEPS as f64);
        let heights: Vec<f64> = steps
            .map(|share| -normal::quantile(0.5 * (1.0 - share)))
            .collect();
        let below = |x: f64| {
            let shares = heights.iter().map(|h| normal::log_lower_tail(x / h).exp());
            shares.sum::<f64>() / STEPS as f64 - 0.95
        };
        let (low, high) = (0.5, 4.0);
        let root = brent_root((low, below(low)), (high, below(high)), 1e-12, below);
        Self {
            // Unreachable: the bracket holds the root, which lies near that of the normal law.
            upper: root.unwrap_or(HALF_WIDTH),
        }
    }

    /// At this scale of the half-normal law.
    pub fn scaled_by(&self, scale: f64) -> ScaledPrior {
        let upper = self.upper * scale;
        ScaledPrior {
            quantiles: [-upper, 0.0, upper],
            variance: scale * scale,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::seeded;
    use rand_distr::{Distribution, StandardNormal};

    /// One draw in twenty of a normal variable times another lies above; 400,000 draws tell the share to
    /// within 0.0004.
    #[test]
    fn one_product_of_two_normal_draws_in_twenty_lies_above_the_quantile() {
        let law = GroupEffectLaw::new();
        let mut random = seeded(3);
        let mut draw = || -> f64 { StandardNormal.sample(&mut random) };
        let count = 400_000;
        let above = (0..count).filter(|_| draw() * draw() > law.upper).count();
        let share = above as f64 / f64::from(count);
        assert!((share - 0.05).abs() < 0.0015, "{share}");
    }
}
