//! How strikes thin out the hours of a cycle.

use crate::numerics::lanes::exp_m1_and_exp;

/// With strikes at rate `lambda` and `x = lambda s`: what is left of exposure `s` and of sums over
/// it.
///
/// ```text
/// survived   e^-x                                chance of no strike in s hours
/// hours      (1 - e^-x) / x                      times s:   integral of e^(-lambda u) du over (0, s]
/// hour_sum   (1 - e^-x (1 + x)) / x^2            times s^2: integral of u e^(-lambda u) du over (0, s]
/// ```
#[derive(Debug, Clone, Copy)]
pub(super) struct StrikeFactors {
    pub survived: f64,
    pub hours: f64,
    pub hour_sum: f64,
}

/// Taylor coefficients of `hour_sum`: `(-1)^k (k + 1) / (k + 2)!`.
const SERIES: [f64; 11] = [
    1.0 / 2.0,
    -1.0 / 3.0,
    1.0 / 8.0,
    -1.0 / 30.0,
    1.0 / 144.0,
    -1.0 / 840.0,
    1.0 / 5760.0,
    -1.0 / 45360.0,
    1.0 / 403_200.0,
    -1.0 / 3_991_680.0,
    1.0 / 43_545_600.0,
];
impl StrikeFactors {
    /// Below this the series is good to 1e-15; above it the closed form loses at most two digits.
    pub const SERIES_UP_TO: f64 = 0.25;

    #[inline]
    pub fn at(x: f64) -> Self {
        if x < Self::SERIES_UP_TO {
            return Self::by_series(x);
        }
        let survived = (-x).exp();
        let hours = (1.0 - survived) / x;
        Self {
            survived,
            hours,
            hour_sum: (hours - survived) / x,
        }
    }

    /// To 1e-11 with no branch, from zero up.
    #[inline(always)]
    pub fn quick<const FUSED: bool>(x: f64) -> Self {
        let (less_one, survived) = exp_m1_and_exp::<FUSED>(-x.min(700.0));
        let by_series = ((SERIES[4] * x + SERIES[3]) * x + SERIES[2]) * x + SERIES[1];
        let by_series = by_series * x + SERIES[0];
        let closed = -(less_one + x * survived) / (x * x);
        let hour_sum = if x < 0.02 { by_series } else { closed };
        Self {
            survived,
            hours: survived + x * hour_sum,
            hour_sum,
        }
    }

    /// For `x` up to [`Self::SERIES_UP_TO`]: no branch and no exponential, so that a row of them runs
    /// side by side.
    #[inline(always)]
    pub fn by_series(x: f64) -> Self {
        let hour_sum = SERIES.iter().rev().fold(0.0, |sum, c| sum * x + c);
        // From hours = survived + x hour_sum and survived = 1 - x hours.
        let hours = (1.0 + x * hour_sum) / (1.0 + x);
        Self {
            survived: 1.0 - x * hours,
            hours,
            hour_sum,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::GaussLegendre;

    #[test]
    fn closed_forms_and_series_are_the_integrals_they_stand_for() {
        let rule = GaussLegendre::<16>::new();
        for x in [
            0.0, 1e-9, 1e-3, 0.0199, 0.0201, 0.1, 0.2499, 0.2501, 0.5, 1.0, 3.0,
        ] {
            let found = StrikeFactors::at(x);
            let hours = rule.integrate(0.0, 1.0, |u| (-x * u).exp());
            let hour_sum = rule.integrate(0.0, 1.0, |u| u * (-x * u).exp());
            assert!((found.survived - (-x).exp()).abs() < 1e-15);
            assert!((found.hours / hours - 1.0).abs() < 1e-13, "hours at {x}");
            assert!(
                (found.hour_sum / hour_sum - 1.0).abs() < 1e-13,
                "sum at {x}"
            );
            let quick = StrikeFactors::quick::<false>(x);
            assert!((quick.survived - found.survived).abs() < 1e-15);
            assert!((quick.hours / hours - 1.0).abs() < 1e-11, "hours at {x}");
            assert!(
                (quick.hour_sum / hour_sum - 1.0).abs() < 1e-11,
                "sum at {x}"
            );
        }
    }
}
