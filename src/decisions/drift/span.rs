//! What was seen of an edge's life, as a normal score or as a span of them, and how much it tells.

use crate::numerics::normal::{log_between, log_density};
use crate::wear::ScoreBounds;

/// Spans narrower than this are one score. Basis: the difference of two tails keeps ten digits down to here.
const NARROW: f64 = 1e-6;

/// The scores that fit what was seen of an edge: one for an edge whose end was noticed, a span for one that was
/// graded, struck or pulled. Positive scores are lives longer than foretold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScoreSpan {
    /// The lowest; minus infinity where nothing bounds it.
    pub low: f64,
    /// The highest; infinity where nothing bounds it.
    pub high: f64,
}

impl ScoreSpan {
    /// Between the bounds of a life's score.
    pub fn of(bounds: &ScoreBounds) -> Self {
        Self {
            low: bounds.low,
            high: bounds.high,
        }
    }

    /// One score.
    pub fn at(score: f64) -> Self {
        Self {
            low: score,
            high: score,
        }
    }

    fn point(self) -> Option<f64> {
        (self.high - self.low < NARROW).then_some(0.5 * (self.low + self.high))
    }

    /// The log of how much likelier what was seen is if scores are normal around a shift rather than around 0, for
    /// any shift. For one score `z` it is `shift z - shift^2 / 2`.
    pub fn log_ratios(self) -> impl Fn(f64) -> f64 {
        let point = self.point();
        let unchanged = log_between(self.low, self.high);
        move |shift: f64| match point {
            Some(score) => shift * score - 0.5 * shift * shift,
            None => log_between(self.low - shift, self.high - shift) - unchanged,
        }
    }

    /// The same for one shift.
    pub fn log_ratio(self, shift: f64) -> f64 {
        self.log_ratios()(shift)
    }

    /// The mean of a standard normal score within the span.
    pub fn mean(self) -> f64 {
        self.point().unwrap_or_else(|| {
            let [low, high] = self.densities();
            low - high
        })
    }

    /// How much it tells, as a share of what an edge tells whose end was noticed: one less the variance that a
    /// standard normal score has within the span (the share of Fisher's information that is left).
    pub fn told(self) -> f64 {
        if self.point().is_some() {
            return 1.0;
        }
        let [low, high] = self.densities();
        let times = |end: f64, density: f64| if density > 0.0 { end * density } else { 0.0 };
        let spread = times(self.low, low) - times(self.high, high);
        ((low - high).powi(2) - spread).clamp(0.0, 1.0)
    }

    /// The normal density at both ends over the chance of the span.
    fn densities(self) -> [f64; 2] {
        let chance = log_between(self.low, self.high);
        [self.low, self.high].map(|end| (log_density(end) - chance).exp())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Half of a standard normal has mean `sqrt(2 / pi)` and variance `1 - 2 / pi`.
    #[test]
    fn a_half_normal_span_has_its_mean_and_tells_two_over_pi() {
        let half = ScoreSpan {
            low: 0.0,
            high: f64::INFINITY,
        };
        let two_over_pi = std::f64::consts::FRAC_2_PI;
        assert_relative_eq!(half.mean(), two_over_pi.sqrt(), max_relative = 1e-12);
        assert_relative_eq!(half.told(), two_over_pi, max_relative = 1e-12);
        // P(Z > -1) / P(Z > 0).
        assert_relative_eq!(
            half.log_ratio(1.0).exp(),
            2.0 * 0.841_344_746_068_543,
            max_relative = 1e-9
        );
    }

    #[test]
    fn a_narrow_span_is_nearly_a_score_and_the_whole_line_tells_nothing() {
        let narrow = ScoreSpan {
            low: 0.699,
            high: 0.701,
        };
        let point = ScoreSpan::at(0.7);
        for shift in [-1.0, 0.3, 2.0] {
            assert!((narrow.log_ratio(shift) - point.log_ratio(shift)).abs() < 1e-5);
        }
        assert!((narrow.mean() - 0.7).abs() < 1e-6 && narrow.told() > 0.999);
        let whole = ScoreSpan {
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
        };
        assert_eq!(
            (whole.log_ratio(1.0), whole.mean(), whole.told()),
            (0.0, 0.0, 0.0)
        );
    }
}
