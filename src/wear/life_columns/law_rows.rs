//! The laws of life that are quick: one row without a branch, so that many go at once.
//!
//! Good where `z` and `z + g` lie within [`REACH`] and `g` is above [`NARROWEST`]; elsewhere rows go the careful way.

use super::slopes::Slopes;
use crate::numerics::lanes::{exp, exp_m1_and_exp, ln, ln_1p, multiply_add};

/// Standardised log ages up to this size, either way, neither overflow nor underflow.
pub const REACH: f64 = 600.0;
/// Gaps down to this, likewise.
pub const NARROWEST: f64 = 1e-30;

/// What each kind of row adds, for one law.
pub trait LawRows {
    /// `ln f`, without the part that does not depend on `z`.
    fn exact<const FUSED: bool>(z: f64) -> Slopes;
    /// `ln S`.
    fn right<const FUSED: bool>(z: f64) -> Slopes;
    /// `ln(1 - S)`.
    fn left<const FUSED: bool>(z: f64) -> Slopes;
    /// `ln(S(z) - S(z + g))`.
    fn interval<const FUSED: bool>(z: f64, g: f64) -> Slopes;
}

/// `S = exp(-e^z)`.
pub struct WeibullRows;

/// `ln(1 - e^-d)` with its first two derivatives with respect to `ln d`: `q = d / (e^d - 1)` and `q (1 - d - q)`.
#[inline(always)]
fn ended<const FUSED: bool>(d: f64) -> (f64, f64, f64) {
    // Beyond 700 nothing of e^-d is left.
    let d = d.min(700.0);
    let (less_one, left) = exp_m1_and_exp::<FUSED>(-d);
    let share = -less_one;
    let q = d * left / share;
    // Bernoulli's series where 1 - d - q cancels.
    let square = d * d;
    let mut series = multiply_add::<FUSED>(square, -1.0 / 30_240.0, 1.0 / 720.0);
    series = multiply_add::<FUSED>(square, series, -1.0 / 12.0);
    series = multiply_add::<FUSED>(square, series, -0.5 * d);
    let rest = if d < 0.05 { series } else { 1.0 - d - q };
    (ln::<FUSED>(share), q, q * rest)
}

impl LawRows for WeibullRows {
    #[inline(always)]
    fn exact<const FUSED: bool>(z: f64) -> Slopes {
        let hazard = exp::<FUSED>(z);
        Slopes::of_one_age(z - hazard, 1.0 - hazard, -hazard)
    }

    #[inline(always)]
    fn right<const FUSED: bool>(z: f64) -> Slopes {
        let hazard = exp::<FUSED>(z);
        Slopes::of_one_age(-hazard, -hazard, -hazard)
    }

    #[inline(always)]
    fn left<const FUSED: bool>(z: f64) -> Slopes {
        let (value, first, second) = ended::<FUSED>(exp::<FUSED>(z));
        Slopes::of_one_age(value, first, second)
    }

    /// `-e^z + ln(1 - e^-d)` with `d = e^z (e^g - 1)`; `u = g / (1 - e^-g)` is how `ln d` follows `ln g`.
    #[inline(always)]
    fn interval<const FUSED: bool>(z: f64, g: f64) -> Slopes {
        let hazard = exp::<FUSED>(z);
        let (growth_less_one, growth) = exp_m1_and_exp::<FUSED>(g);
        let (value, q, bend) = ended::<FUSED>(hazard * growth_less_one);
        let u = g * growth / growth_less_one;
        Slopes {
            value: value - hazard,
            z: q - hazard,
            g: q * u,
            zz: bend - hazard,
            zg: bend * u,
            gg: u * multiply_add::<FUSED>(bend, u, q * (g - u)),
        }
    }
}

/// `S = 1 / (1 + e^z)`.
pub struct LoglogisticRows;

/// `ln(1 + e^z)`, the shares ended and left, and the product of the two.
#[inline(always)]
fn shares<const FUSED: bool>(z: f64) -> (f64, f64, f64, f64) {
    let odds = exp::<FUSED>(z);
    let left = 1.0 / (1.0 + odds);
    let ended = odds * left;
    (ln_1p::<FUSED>(odds), ended, left, ended * left)
}

impl LawRows for LoglogisticRows {
    #[inline(always)]
    fn exact<const FUSED: bool>(z: f64) -> Slopes {
        let (hazard, ended, left, both) = shares::<FUSED>(z);
        Slopes::of_one_age(z - 2.0 * hazard, left - ended, -2.0 * both)
    }

    #[inline(always)]
    fn right<const FUSED: bool>(z: f64) -> Slopes {
        let (hazard, ended, _, both) = shares::<FUSED>(z);
        Slopes::of_one_age(-hazard, -ended, -both)
    }

    #[inline(always)]
    fn left<const FUSED: bool>(z: f64) -> Slopes {
        let (hazard, _, left, both) = shares::<FUSED>(z);
        Slopes::of_one_age(z - hazard, left, -both)
    }

    /// `z + ln(e^g - 1) - ln(1 + e^z) - ln(1 + e^(z + g))`.
    #[inline(always)]
    fn interval<const FUSED: bool>(z: f64, g: f64) -> Slopes {
        let (first_hazard, first_ended, _, first_both) = shares::<FUSED>(z);
        let (last_hazard, last_ended, _, last_both) = shares::<FUSED>(z + g);
        let (growth_less_one, growth) = exp_m1_and_exp::<FUSED>(g);
        let u = g * growth / growth_less_one;
        Slopes {
            value: z + ln::<FUSED>(growth_less_one) - first_hazard - last_hazard,
            z: 1.0 - first_ended - last_ended,
            g: u - last_ended * g,
            zz: -first_both - last_both,
            zg: -last_both * g,
            gg: u * (g - u) - last_both * g * g,
        }
    }
}
