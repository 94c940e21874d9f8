//! What one look makes of thousands of edges at one point of the parameters.
//!
//! The chance that an eye sees an edge below a cut hangs on one number only, `x = (ln u - location - cut) / sigma +
//! anchor`: with `k` the eye's error over `sigma` it is
//!
//! ```text
//! G(x) = integral of f(W) Phi((W - x) / k) dW
//! ```
//!
//! and the density at a cut is `-G'(x) / sigma`. Few edges are better off with an integral each; a fleet's share one
//! curve. It is reckoned at even places, with its derivatives, and joined between them by polynomials of the fifth
//! degree that have its value, slope and bend at both ends.

use crate::numerics::lanes::{multiply_add, normal_tail_and_height};
use crate::wear::life_distribution::{Curve, Family};
use crate::wear::life_nodes::{self, LANES, NodeColumns, Precision};
use std::f64::consts::TAU;

/// Where the curve begins and ends: what an edge is worth that is looked at further out is reckoned by itself.
const FROM: f64 = -10.0;
const TO: f64 = 4.0;
/// Places to a unit of `x`. Basis: between them the polynomials err by less than 1e-8 (see the tests).
const TO_A_UNIT: usize = 8;

/// Nodes lie no further apart than for kernels of this spread. Basis: of the Weibull's law they leave
/// `|Gamma(1 + 2 pi i / 0.36)|`, which is 1e-11; twice that far apart it is 1e-7, of which differences are made here.
const FINE: f64 = 0.36;

/// The curve of one point of the parameters.
pub struct SeenCurve {
    sigma: f64,
    anchor: f64,
    cells: Vec<Cell>,
}

/// From one place to the next: coefficients of `G` and of `-G'` in the share of the way.
struct Cell {
    below: [f64; 6],
    density: [f64; 6],
}

/// `G`, and minus its first three derivatives.
type Place = [f64; 4];

impl SeenCurve {
    /// For an eye with this error on the log of wear fraction; `None` where a parameter is no number, or the law would
    /// need finer nodes than are kept.
    pub fn new(family: Family, sigma: f64, anchor: f64, eye: f64) -> Option<Self> {
        let error = eye / sigma;
        if !(error > 0.0 && error.is_finite()) {
            return None;
        }
        let kernel = error.min(FINE);
        let nodes = &life_nodes::nodes(family, kernel, Precision::Sampling)?.columns;
        let places = pulp::Arch::new().dispatch(Places { nodes, error });
        let cells = places
            .windows(2)
            .map(|pair| Cell::between(pair[0], pair[1]));
        Some(Self {
            sigma,
            anchor,
            cells: cells.collect(),
        })
    }

    /// The chance that an edge of this age, on the log scale and over its typical life, is seen below a cut, with its
    /// derivatives by the log of typical life; `None` beyond the curve.
    pub fn below(&self, log_age: f64, cut: f64) -> Option<Curve> {
        let (cell, share) = self.cell(log_age, cut)?;
        Some(self.by_location(&cell.below, share))
    }

    /// The density at a cut on the log of wear fraction, likewise.
    pub fn density(&self, log_age: f64, cut: f64) -> Option<Curve> {
        let (cell, share) = self.cell(log_age, cut)?;
        let by_w = self.by_location(&cell.density, share);
        Some(Curve {
            value: by_w.value / self.sigma,
            first: by_w.first / self.sigma,
            second: by_w.second / self.sigma,
        })
    }

    fn cell(&self, log_age: f64, cut: f64) -> Option<(&Cell, f64)> {
        let x = (log_age - cut) / self.sigma + self.anchor;
        let place = (x - FROM) * TO_A_UNIT as f64;
        if place.is_nan() || place < 0.0 {
            return None;
        }
        let cell = self.cells.get(place as usize)?;
        Some((cell, place.fract()))
    }

    /// Horner's rule for a polynomial, its slope and half its bend.
    fn by_location(&self, of: &[f64; 6], share: f64) -> Curve {
        let (mut value, mut first, mut second) = (0.0, 0.0, 0.0);
        for coefficient in of.iter().rev() {
            second = second * share + first;
            first = first * share + value;
            value = value * share + coefficient;
        }
        let scale = -(TO_A_UNIT as f64) / self.sigma;
        Curve {
            value,
            first: first * scale,
            second: 2.0 * second * scale * scale,
        }
    }
}

impl Cell {
    fn between(from: Place, to: Place) -> Self {
        let negative = |place: Place| [place[0], -place[1], -place[2]];
        let density = |place: Place| [place[1], place[2], place[3]];
        Self {
            below: joined(negative(from), negative(to)),
            density: joined(density(from), density(to)),
        }
    }
}

/// The polynomial of the fifth degree between two places a step apart with these values, slopes and bends (Hermite).
fn joined(from: [f64; 3], to: [f64; 3]) -> [f64; 6] {
    let step = 1.0 / TO_A_UNIT as f64;
    let scaled = |of: [f64; 3]| [of[0], of[1] * step, of[2] * step * step];
    let ([value, slope, bend], [next, next_slope, next_bend]) = (scaled(from), scaled(to));
    let rise = next - value;
    [
        value,
        slope,
        0.5 * bend,
        10.0 * rise - 6.0 * slope - 4.0 * next_slope - 1.5 * bend + 0.5 * next_bend,
        -15.0 * rise + 8.0 * slope + 7.0 * next_slope + 1.5 * bend - next_bend,
        6.0 * rise - 3.0 * (slope + next_slope) + 0.5 * (next_bend - bend),
    ]
}

/// The curve at all its places.
struct Places<'a> {
    nodes: &'a NodeColumns,
    error: f64,
}

impl Places<'_> {
    #[inline(always)]
    fn all<const FUSED: bool>(&self) -> Vec<Place> {
        let last = ((TO - FROM) * TO_A_UNIT as f64) as usize;
        let mut places = Vec::with_capacity(last + 1);
        // A closure would not be compiled for the processor at hand.
        for place in 0..=last {
            places.push(self.at::<FUSED>(FROM + place as f64 / TO_A_UNIT as f64));
        }
        places
    }

    /// Nodes of far longer lives are seen below the cut for certain, those of far shorter ones never.
    #[inline(always)]
    fn at<const FUSED: bool>(&self, x: f64) -> Place {
        let nodes = self.nodes;
        let most = nodes.count as f64;
        let node = |w: f64| ((w - nodes.first) / nodes.step).clamp(0.0, most);
        let start = node(x - Precision::Sampling.farthest() * self.error) as usize;
        let end =
            (node(x + Precision::Sampling.farthest() * self.error) as usize + 1).min(nodes.count);
        let by_error = self.error.recip();
        let mut sums = [[0.0; LANES]; 4];
        let mut reached = start;
        for first in (start..end).step_by(LANES) {
            let Some(weights) = nodes.weights.get(first..first + LANES) else {
                break;
            };
            reached = first + LANES;
            for (lane, weight) in weights.iter().enumerate() {
                let w = multiply_add::<FUSED>(nodes.step, (first + lane) as f64, nodes.first);
                let off = (w - x) * by_error;
                let (below, height) = normal_tail_and_height::<FUSED>(off);
                let height = weight * height;
                sums[0][lane] += weight * below;
                sums[1][lane] += height;
                sums[2][lane] += height * off;
                sums[3][lane] += height * (off * off - 1.0);
            }
        }
        let before = |node: usize| nodes.before.get(node.min(nodes.count)).copied();
        let certain = before(nodes.count).unwrap_or_default() - before(reached).unwrap_or_default();
        let [below, first, second, third] = sums.map(|lanes| lanes.iter().sum::<f64>());
        let density = by_error / TAU.sqrt();
        [
            certain + below,
            density * first,
            density * by_error * second,
            density * by_error * by_error * third,
        ]
    }
}

impl pulp::WithSimd for Places<'_> {
    type Output = Vec<Place>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Place> {
        if S::IS_SCALAR {
            self.all::<false>()
        } else {
            self.all::<true>()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{LocalPoint, Order, looked_at};
    use super::*;
    use crate::wear::eye::Glance;
    use crate::wear::likelihood::local::Local;

    /// Against the integral by itself, to all digits; slopes and bends against its own.
    #[test]
    fn the_curve_is_the_integral_of_one_look() {
        for family in Family::ALL {
            for (sigma, eye) in [(0.2, 0.25), (0.35, 0.12), (0.6, 0.1), (0.3, 0.5)] {
                let anchor = -0.37;
                let curve = SeenCurve::new(family, sigma, anchor, eye).expect("nodes");
                for step in 0..300 {
                    let log_age = (-8.0 + 0.0371 * f64::from(step)) * sigma;
                    let alone = |glance| {
                        let point = LocalPoint {
                            ages: vec![log_age],
                            sigma,
                            eye,
                            anchor,
                        };
                        let mut local = Local::zero(1, Order::Hessian);
                        let looks = [(0, glance)];
                        looked_at(&mut local, &point, family, &looks, 1.0, Precision::Full);
                        let (value, slope) = (local.value.exp(), -local.gradient[0]);
                        // Of the mass, by the log of typical life.
                        let bend = local.bend(0, 0) + slope * slope;
                        [value, value * slope, value * bend]
                    };
                    // A density is by the log of wear fraction, of which `sigma` is the unit.
                    for (curve, exact, unit) in [
                        (curve.below(log_age, 0.1), alone(Glance::below(0.1)), 1.0),
                        (curve.density(log_age, 0.1), alone(Glance::At(0.1)), sigma),
                    ] {
                        let Some(curve) = curve else { continue };
                        let off = (curve.value - exact[0]).abs() * unit;
                        assert!(off < 1e-8, "{family:?} {sigma} {eye} {log_age}: {off}");
                        let off = (curve.first - exact[1]).abs() * unit * sigma;
                        assert!(off < 1e-6, "slope {family:?} {log_age}: {off}");
                        let off = (curve.second - exact[2]).abs() * unit * sigma.powi(2);
                        assert!(off < 1e-4, "bend {log_age}: {off}");
                    }
                }
            }
        }
    }
}
