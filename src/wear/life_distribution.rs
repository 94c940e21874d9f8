//! Families of life distributions, on the standardised scale of log time.
//!
//! ```text
//! ln T = location + sigma W,      w = (ln t - location) / sigma
//! ```
//!
//! Each family is a law for `W`, told by its cumulative hazard `H(w) = -ln P(W > w)` and its hazard
//! `h(w) = H'(w)`. Three functions carry the whole likelihood: `ln h`, `ln H`, and the log of the
//! hazard gathered over a stretch, `ln(H(w + gap) - H(w))`. Working with logs of hazards keeps every
//! digit where survival itself rounds to 0 or 1 (Kalbfleisch and Prentice, 2002, section 2.2, for
//! the families; the log-hazard forms are ours).

use super::{Loglogistic, Lognormal, Weibull};
use serde::{Deserialize, Serialize};

/// A function of one number, with its first two derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curve {
    /// Value.
    pub value: f64,
    /// First derivative.
    pub first: f64,
    /// Second derivative.
    pub second: f64,
}

/// The log of the hazard gathered from `w` to `w + gap`, with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gathered {
    /// `ln(H(w + gap) - H(w))`.
    pub value: f64,
    /// With respect to `w`.
    pub by_start: f64,
    /// With respect to `gap`.
    pub by_gap: f64,
    /// Second, `w` twice.
    pub by_start_start: f64,
    /// Second, mixed.
    pub by_start_gap: f64,
    /// Second, `gap` twice.
    pub by_gap_gap: f64,
}

/// A law for `W`, the standardised log of life.
pub trait LifeDistribution {
    /// `ln h(w)`.
    fn log_hazard(&self, w: f64) -> Curve;
    /// `ln H(w)`.
    fn log_cumulative_hazard(&self, w: f64) -> Curve;
    /// `ln(H(w + gap) - H(w))` for `gap > 0`, without cancellation however small the gap.
    fn log_hazard_gathered(&self, w: f64, gap: f64) -> Gathered;
    /// The `w` at which the cumulative hazard is `exp(log_hazard)`.
    fn at_log_cumulative_hazard(&self, log_hazard: f64) -> f64;

    /// `ln P(W > w)`.
    fn log_survival(&self, w: f64) -> f64 {
        -self.log_cumulative_hazard(w).value.exp()
    }
    /// `ln P(W <= w)`.
    fn log_failure(&self, w: f64) -> f64 {
        crate::numerics::elementary::log_one_minus_exp_minus(self.log_cumulative_hazard(w).value).0
    }
    /// `ln` of the density of `W` at `w`.
    fn log_density(&self, w: f64) -> f64 {
        self.log_hazard(w).value + self.log_survival(w)
    }
    /// Second derivative of `ln` of the density, `(ln h)'' - h (ln h)'`.
    fn log_density_bend(&self, w: f64) -> f64 {
        let hazard = self.log_hazard(w);
        hazard.second - hazard.value.exp() * hazard.first
    }
    /// The `w` with `P(W <= w) = p`, for `p` strictly between 0 and 1.
    fn quantile(&self, p: f64) -> f64 {
        self.at_log_cumulative_hazard((-(-p).ln_1p()).ln())
    }
    /// The median of `W`.
    fn median(&self) -> f64 {
        self.quantile(0.5)
    }
}

/// The families on offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Family {
    /// `W` is the smallest extreme value: `T` is Weibull with shape `1/sigma`.
    Weibull,
    /// `W` is standard normal: `T` is lognormal.
    Lognormal,
    /// `W` is standard logistic: `T` is log-logistic with shape `1/sigma`.
    Loglogistic,
}

impl Family {
    /// Every family.
    pub const ALL: [Family; 3] = [Family::Weibull, Family::Lognormal, Family::Loglogistic];

    /// What people call it.
    pub fn word(self) -> &'static str {
        match self {
            Family::Weibull => "weibull",
            Family::Lognormal => "lognormal",
            Family::Loglogistic => "loglogistic",
        }
    }

    fn law(self) -> &'static dyn LifeDistribution {
        match self {
            Family::Weibull => &Weibull,
            Family::Lognormal => &Lognormal,
            Family::Loglogistic => &Loglogistic,
        }
    }
}

impl LifeDistribution for Family {
    fn log_hazard(&self, w: f64) -> Curve {
        self.law().log_hazard(w)
    }
    fn log_cumulative_hazard(&self, w: f64) -> Curve {
        self.law().log_cumulative_hazard(w)
    }
    fn log_hazard_gathered(&self, w: f64, gap: f64) -> Gathered {
        self.law().log_hazard_gathered(w, gap)
    }
    fn at_log_cumulative_hazard(&self, log_hazard: f64) -> f64 {
        self.law().at_log_cumulative_hazard(log_hazard)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn medians_are_the_textbook_ones() {
        assert_relative_eq!(Family::Weibull.median(), std::f64::consts::LN_2.ln());
        assert_relative_eq!(Family::Lognormal.median(), 0.0, epsilon = 1e-15);
        assert_relative_eq!(Family::Loglogistic.median(), 0.0, epsilon = 1e-15);
    }

    #[test]
    fn quantiles_invert_the_failure_probability() {
        for family in Family::ALL {
            for p in [1e-9, 0.01, 0.2, 0.5, 0.77, 0.999] {
                let w = family.quantile(p);
                assert_relative_eq!(
                    family.log_failure(w),
                    p.ln(),
                    max_relative = 1e-10,
                    epsilon = 1e-12
                );
            }
        }
    }

    #[test]
    fn the_hazard_gathered_over_a_wide_stretch_is_the_difference() {
        for family in Family::ALL {
            for (w, gap) in [(-1.0, 0.4), (-1.0, 0.6), (0.5, 2.0), (-4.0, 1.0)] {
                let difference = family.log_survival(w) - family.log_survival(w + gap);
                assert_relative_eq!(
                    family.log_hazard_gathered(w, gap).value,
                    difference.ln(),
                    max_relative = 1e-12,
                    epsilon = 1e-13
                );
            }
        }
    }
}
