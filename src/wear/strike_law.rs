//! The posterior of the rate at which strikes come: an integral of one dimension.

use super::prior::NormalPrior;
use super::whole_fit::StrikesMet;

/// It is laid out over this many standard deviations to either side of its top, in this many steps.
const REACH: f64 = 12.0;
const STEPS: u32 = 6000;

/// The posterior of the log strike rate `l`, laid out by steps: `strikes l - hours e^l`, and its normal
/// prior.
pub(super) struct StrikeLaw {
    lowest: f64,
    step: f64,
    /// The share below each step.
    below: Vec<f64>,
}

impl StrikeLaw {
    pub(super) fn new(met: StrikesMet, prior: NormalPrior) -> Self {
        let (strikes, hours) = (met.strikes as f64, met.hours.get());
        let (mut top, mut bend) = (prior.mean(), 0.0);
        // Newton's steps on a concave function; held back where the exponential would overshoot.
        for _ in 0..100 {
            let (_, slope, prior_bend) = prior.log_density(top);
            bend = prior_bend - hours * top.exp();
            top -= ((strikes - hours * top.exp() + slope) / bend).clamp(-2.0, 2.0);
        }
        let spread = (-bend).sqrt().recip();
        let step = 2.0 * REACH * spread / f64::from(STEPS);
        let lowest = top - REACH * spread;
        let log_density = |l: f64| strikes * l - hours * l.exp() + prior.log_density(l).0;
        let most = log_density(top);
        let mut below = vec![0.0];
        let mut total = 0.0;
        for i in 0..STEPS {
            let middle = lowest + (f64::from(i) + 0.5) * step;
            total += (log_density(middle) - most).exp();
            below.push(total);
        }
        below.iter_mut().for_each(|share| *share /= total);
        Self {
            lowest,
            step,
            below,
        }
    }

    pub(super) fn quantile(&self, share: f64) -> f64 {
        let after = self
            .below
            .partition_point(|below| *below <= share)
            .clamp(1, self.below.len() - 1);
        let (low, high) = (self.below[after - 1], self.below[after]);
        let part = if high > low {
            (share - low) / (high - low)
        } else {
            0.5
        };
        self.lowest + self.step * (after as f64 - 1.0 + part)
    }

    /// Mean and standard deviation, step by step.
    pub(super) fn moments(&self) -> (f64, f64) {
        let steps = || {
            let shares = self.below.windows(2).map(|pair| pair[1] - pair[0]);
            let middles = (0..).map(|i| self.lowest + (f64::from(i) + 0.5) * self.step);
            middles.zip(shares)
        };
        let mean: f64 = steps().map(|(middle, share)| share * middle).sum();
        let square = |(middle, share): (f64, f64)| share * (middle - mean).powi(2);
        (mean, steps().map(square).sum::<f64>().sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::MeterHours;

    /// Quantiles of the posterior of the log strike rate in tests/reference/changing_exposure, an exact
    /// integral of one dimension there: eleven strikes in 1044.38 hours.
    #[test]
    fn the_strike_rate_has_the_reference_quantiles() {
        let met = StrikesMet {
            strikes: 11,
            hours: MeterHours::new(1044.382267).expect("hours"),
        };
        let prior = NormalPrior::new(-4.605_170_185_988_091, 1.0).expect("a prior");
        let law = StrikeLaw::new(met, prior);
        let text = include_str!("../../tests/reference/changing_exposure/posterior.json");
        let reference: serde_json::Value = serde_json::from_str(text).expect("JSON");
        let exact = &reference["exact_log_lambda_by_quadrature"];
        for (share, key) in [(0.05, "q5"), (0.5, "q50"), (0.95, "q95")] {
            let wanted = exact[key].as_f64().expect("a number");
            // Theirs lie on a grid of 2e-5.
            assert!((law.quantile(share) - wanted).abs() < 2e-5, "{key}");
        }
        let (mean, spread) = law.moments();
        assert!((mean - exact["mean"].as_f64().expect("a number")).abs() < 2e-5);
        assert!((spread - exact["sd"].as_f64().expect("a number")).abs() < 2e-5);
    }
}
