//! The Weibull law of life: `W` is the standard smallest extreme value.

use super::life_distribution::{Curve, Gathered, LifeDistribution};
use crate::numerics::elementary::log_exp_m1;

/// `P(W > w) = exp(-e^w)`, so that `H(w) = h(w) = e^w`. With `sigma = 1/k` and location `ln eta`,
/// `T` is Weibull with shape `k` and characteristic life `eta` (63.2 % dull).
#[derive(Debug, Clone, Copy)]
pub struct Weibull;

impl LifeDistribution for Weibull {
    fn log_hazard(&self, w: f64) -> Curve {
        Curve {
            value: w,
            first: 1.0,
            second: 0.0,
        }
    }

    fn log_cumulative_hazard(&self, w: f64) -> Curve {
        Curve {
            value: w,
            first: 1.0,
            second: 0.0,
        }
    }

    fn log_hazard_gathered(&self, w: f64, gap: f64) -> Gathered {
        let by_gap = -1.0 / (-gap).exp_m1();
        Gathered {
            value: w + log_exp_m1(gap),
            by_start: 1.0,
            by_gap,
            by_start_start: 0.0,
            by_start_gap: 0.0,
            by_gap_gap: by_gap - by_gap * by_gap,
        }
    }

    fn at_log_cumulative_hazard(&self, log_hazard: f64) -> f64 {
        log_hazard
    }
}
