//! The chance of one look below a cut as a plain number, for those who ask for it by the hundred thousand.
//!
//! An eye sees an edge below a cut where `ln T >= ln u - cut + error`, so that the chance is survival averaged over
//! the eye's error. The trapezoid rule does that in some fifteen steps (Trefethen and Weideman, SIAM Review 56, 2014):
//! for errors of spread `k` on the scale of `W`, survival stays bounded as far as `a = pi / 2k` off the real line in
//! units of the error, and a step `h` leaves an error near `exp(a^2 / 2 - 2 pi a / h)`.

use super::super::looked::SeenCurve;
use super::super::one_look::shared_curve;
use super::super::{Common, Term};
use crate::numerics::lanes::{exp, normal_lower_tail};
use crate::numerics::normal;
use crate::wear::eye::Glance;
use crate::wear::life_distribution::Family;
use crate::wear::life_nodes::LANES;
use std::f64::consts::{FRAC_PI_2, TAU};

/// Minus the log of the error that a step may leave: 1.5e-8.
const DIGITS: f64 = 18.0;
/// So many errors off on either side leave out 7e-9 of them.
const REACH: f64 = 5.8;
/// An error wider than this on the scale of `W` takes more steps than the integral over life.
const WIDEST: f64 = 2.0;

/// A look below a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LookBelow {
    /// Which sum of the edge is its age.
    pub age: usize,
    /// Log wear fraction.
    pub cut: f64,
    /// The error of the look where it is known; that of the crew's eye otherwise.
    error: Option<f64>,
}

impl LookBelow {
    /// What these terms are, where they are nothing else.
    pub fn of(terms: &[Term]) -> Option<Self> {
        let [Term::LookedAt { looks, sign: 1.0 }] = terms else {
            return None;
        };
        let &[(age, glance)] = looks.as_slice() else {
            return None;
        };
        let (cut, error) = match glance {
            Glance::Between { low, high } if low == f64::NEG_INFINITY => (high, None),
            Glance::MeasuredBelow { high, error } => (high, Some(error)),
            _ => return None,
        };
        Some(Self { age, cut, error })
    }
}

/// Looks at one draw of the parameters.
pub struct Eyes<'a> {
    common: &'a Common<'a>,
    known: Vec<Eye>,
    /// Of the crew's own eye, where it looks at many edges.
    curve: Option<SeenCurve>,
}

/// Looks with one error.
struct Eye {
    error: f64,
    family: Family,
    sigma: f64,
    anchor: f64,
    /// Errors on the scale of `W`, each with its chance, in whole vectors; none where the error is too wide.
    errors: Vec<Errors>,
}

/// Some errors side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Errors {
    errors: [f64; LANES],
    chances: [f64; LANES],
}

/// Survival averaged over errors, round `least`.
struct Average<'a> {
    family: Family,
    least: f64,
    errors: &'a [Errors],
}

impl<'a> Eyes<'a> {
    /// At so many edges.
    pub fn new(common: &'a Common<'a>, edges: usize) -> Self {
        Self {
            common,
            known: Vec::new(),
            curve: shared_curve(common, edges),
        }
    }

    /// The chance of a look at an edge of this age, on the log scale and over its typical life; `None` where the error
    /// of the look is too wide.
    pub fn chance(&mut self, look: &LookBelow, log_age: f64) -> Option<f64> {
        let curve = self.curve.as_ref().filter(|_| look.error.is_none());
        match curve.and_then(|curve| curve.below(log_age, look.cut)) {
            Some(below) => Some(below.value),
            None => Some(self.of(look)?.chance_below(look.cut, log_age)),
        }
    }

    /// The eye that has this look; `None` where its error is too wide.
    fn of(&mut self, look: &LookBelow) -> Option<&Eye> {
        let error = look.error.unwrap_or(self.common.eye);
        let known = self.known.iter().position(|eye| eye.error == error);
        let place = known.unwrap_or_else(|| {
            self.known.push(Eye::new(self.common, error));
            self.known.len() - 1
        });
        self.known.get(place).filter(|eye| !eye.errors.is_empty())
    }
}

impl Eye {
    fn new(common: &Common, error: f64) -> Self {
        let spread = error / common.sigma;
        Self {
            error,
            family: common.family,
            sigma: common.sigma,
            anchor: common.anchor,
            // No number is not narrow enough either.
            errors: if spread <= WIDEST {
                errors(spread)
            } else {
                Vec::new()
            },
        }
    }

    /// The chance to see an edge below a log wear fraction whose age is, on the log scale, so far beyond its typical
    /// life.
    fn chance_below(&self, cut: f64, log_age: f64) -> f64 {
        let least = (log_age - cut) / self.sigma + self.anchor;
        if least.is_nan() {
            return f64::NAN;
        }
        pulp::Arch::new().dispatch(Average {
            family: self.family,
            least,
            errors: &self.errors,
        })
    }
}

/// Survival is 1 below and 0 above the reach, to more digits than are wanted: `exp` holds no further.
const SEEN_FROM: f64 = -600.0;
const SEEN_TO: f64 = 6.5;

impl Average<'_> {
    #[inline(always)]
    fn average<const FUSED: bool>(&self) -> f64 {
        match self.family {
            Family::Weibull => self.over(|w| {
                let hazard = exp::<FUSED>(w.clamp(SEEN_FROM, SEEN_TO));
                exp::<FUSED>(-hazard)
            }),
            Family::Lognormal => self.over(|w| normal_lower_tail::<FUSED>(-w)),
            Family::Loglogistic => {
                self.over(|w| 1.0 / (1.0 + exp::<FUSED>(w.clamp(SEEN_FROM, -SEEN_FROM))))
            }
        }
    }

    #[inline(always)]
    fn over(&self, survival: impl Fn(f64) -> f64) -> f64 {
        let mut sum = [0.0; LANES];
        for Errors { errors, chances } in self.errors {
            for lane in 0..LANES {
                sum[lane] += chances[lane] * survival(self.least + errors[lane]);
            }
        }
        sum.iter().sum()
    }
}

impl pulp::WithSimd for Average<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> f64 {
        if S::IS_SCALAR {
            self.average::<false>()
        } else {
            self.average::<true>()
        }
    }
}

/// Normal errors of this spread at even steps, each with its chance.
fn errors(spread: f64) -> Vec<Errors> {
    // Further off the line nothing is gained: there the normal law's own growth decides.
    let strip = (FRAC_PI_2 / spread).min((2.0 * DIGITS).sqrt());
    let step = TAU * strip / (DIGITS + 0.5 * strip * strip);
    let side = (REACH / step).ceil();
    let count = 2 * side as usize + 1;
    let side_by_side = |vector: usize| {
        let score = |lane: usize| ((vector * LANES + lane) as f64 - side) * step;
        Errors {
            errors: std::array::from_fn(|lane| spread * score(lane)),
            // What fills the last vector lies beyond the reach.
            chances: std::array::from_fn(|lane| normal::log_density(score(lane)).exp() * step),
        }
    };
    (0..count.div_ceil(LANES)).map(side_by_side).collect()
}
