//! The log-logistic law of life: `W` is standard logistic.

use super::life_distribution::{Curve, Gathered, LifeDistribution};
use crate::numerics::elementary::{log_exp_m1, logistic, softplus};

/// `P(W > w) = 1 / (1 + e^w)`, so that `H(w) = ln(1 + e^w)` and `h(w) = 1 / (1 + e^-w)`.
#[derive(Debug, Clone, Copy)]
pub struct Loglogistic;

/// `ln ln(1 + e^k)` with its first two derivatives; tends to `k` far below zero.
fn log_softplus(k: f64) -> Curve {
    let e = k.exp();
    if e < 1e-4 {
        // Series in e = e^k, where the closed forms cancel.
        return Curve {
            value: k - e / 2.0 + 5.0 * e * e / 24.0,
            first: 1.0 - e / 2.0 + 5.0 * e * e / 12.0,
            second: -e / 2.0 + 5.0 * e * e / 6.0,
        };
    }
    let first = logistic(k) / softplus(k);
    Curve {
        value: softplus(k).ln(),
        first,
        second: first * (logistic(-k) - first),
    }
}

impl LifeDistribution for Loglogistic {
    fn log_hazard(&self, w: f64) -> Curve {
        let (failed, left) = (logistic(w), logistic(-w));
        Curve {
            value: -softplus(-w),
            first: left,
            second: -failed * left,
        }
    }

    fn log_cumulative_hazard(&self, w: f64) -> Curve {
        log_softplus(w)
    }

    /// `H(w + gap) - H(w) = ln(1 + e^k)` with `k = ln h(w) + ln(e^gap - 1)`.
    fn log_hazard_gathered(&self, w: f64, gap: f64) -> Gathered {
        let (failed, left) = (logistic(w), logistic(-w));
        let outer = log_softplus(log_exp_m1(gap) - softplus(-w));
        let widening = -1.0 / (-gap).exp_m1();
        Gathered {
            value: outer.value,
            by_start: outer.first * left,
            by_gap: outer.first * widening,
            by_start_start: outer.second * left * left - outer.first * failed * left,
            by_start_gap: outer.second * left * widening,
            by_gap_gap: outer.second * widening * widening
                + outer.first * (widening - widening * widening),
        }
    }

    fn at_log_cumulative_hazard(&self, log_hazard: f64) -> f64 {
        if log_hazard < -36.0 {
            log_hazard
        } else {
            log_exp_m1(log_hazard.exp())
        }
    }
}
