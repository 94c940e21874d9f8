//! What one look makes of many edges at one point of the parameters.
//!
//! The chance that an eye sees an edge below a cut hangs on one number only, `x` (see [`super::spreading`]), and the
//! density at a cut is `-G'(x) / sigma`. A few edges are better off with an integral each; more share one curve, a
//! fleet's a closer one. It is reckoned at even places, with its derivatives, and joined between them by polynomials of
//! the fifth degree that have its value, slope and bend at both ends. But for its scale it hangs on the eye's error over
//! `sigma` alone: a crew's is told from a few that are kept.

mod kept_curves;

use super::spreading::Spreading;
use crate::wear::life_distribution::{Curve, Family};
use crate::wear::life_nodes::{self, Precision};

/// Where the curve ends: what an edge is worth that is looked at further out is reckoned by itself.
const TO: f64 = 4.0;

/// How closely a curve is laid out, and how far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closeness {
    /// Where it begins. What lies before goes by integrals of its own, which are little work there.
    from: f64,
    /// Places to a unit of `x`.
    to_a_unit: f64,
    /// Nodes lie no further apart than for kernels of this spread.
    finest: f64,
    /// Nothing is seen further off than so many errors of the eye.
    farthest: f64,
    /// What is less likely goes by integrals of its own: the curve would miss it by more than 1e-4 of its chance, a
    /// fleet's by more than 1e-5.
    least: f64,
}

impl Closeness {
    /// Good to 1e-6: a crew's edges together to less than its weights show. As rare is what lies beyond the farthest; on
    /// nodes for kernels of 0.5 the bend of the density would be off by more.
    pub const OF_CREW: Self = Self {
        from: -6.0,
        to_a_unit: 4.0,
        finest: 0.36,
        farthest: 5.5,
        least: 1e-2,
    };
    /// Good to 1e-8: a fleet has thousands. Nodes leave 1e-11; twice that far apart they leave 1e-7, of which
    /// differences are made here.
    pub const OF_FLEET: Self = Self {
        from: -10.0,
        to_a_unit: 8.0,
        finest: 0.36,
        farthest: Precision::Sampling.farthest(),
        least: 1e-3,
    };
}

/// The curve of one point of the parameters.
pub struct SeenCurve {
    sigma: f64,
    anchor: f64,
    closeness: Closeness,
    cells: Vec<Cell>,
}

/// From one place to the next: coefficients of `G` and of `-G'` in the share of the way.
#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    below: [f64; 6],
    density: [f64; 6],
}

/// `G`, and minus its first three derivatives.
type Place = [f64; 4];

impl SeenCurve {
    /// For an eye with this error on the log of wear fraction; `None` where a parameter is no number, or the law would
    /// need finer nodes than are kept.
    pub fn new(
        closeness: Closeness,
        family: Family,
        (sigma, anchor): (f64, f64),
        eye: f64,
    ) -> Option<Self> {
        let error = eye / sigma;
        if !(error > 0.0 && error.is_finite()) {
            return None;
        }
        let between = || kept_curves::between(family, error);
        let kept = (closeness == Closeness::OF_CREW).then(between).flatten();
        Some(Self {
            sigma,
            anchor,
            closeness,
            cells: match kept {
                Some(cells) => cells,
                None => laid_out(closeness, family, error)?,
            },
        })
    }

    /// The chance that an edge of this age, on the log scale and over its typical life, is seen below a cut, with its
    /// derivatives by the log of typical life; `None` beyond the curve.
    pub fn below(&self, log_age: f64, cut: f64) -> Option<Curve> {
        let (cell, share) = self.cell(log_age, cut)?;
        Some(self.by_location(&cell.below, share))
    }

    /// What is less likely is not told well.
    pub fn least(&self) -> f64 {
        self.closeness.least
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
        let place = (x - self.closeness.from) * self.closeness.to_a_unit;
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
        let scale = -self.closeness.to_a_unit / self.sigma;
        Curve {
            value,
            first: first * scale,
            second: 2.0 * second * scale * scale,
        }
    }
}

/// The curve of an eye whose error is so many times the spread of log life.
fn laid_out(closeness: Closeness, family: Family, error: f64) -> Option<Vec<Cell>> {
    let kernel = error.min(closeness.finest);
    let nodes = &life_nodes::nodes(family, kernel, Precision::Sampling)?.columns;
    let places = pulp::Arch::new().dispatch(Places {
        spreading: Spreading {
            nodes,
            kernel: error,
            farthest: closeness.farthest,
        },
        closeness,
    });
    let pairs = places.windows(2);
    let step = closeness.to_a_unit.recip();
    let cells = pairs.map(|pair| Cell::between(pair[0], pair[1], step));
    Some(cells.collect())
}

impl Cell {
    fn between(from: Place, to: Place, step: f64) -> Self {
        let negative = |place: Place| [place[0], -place[1], -place[2]];
        let density = |place: Place| [place[1], place[2], place[3]];
        Self {
            below: joined(negative(from), negative(to), step),
            density: joined(density(from), density(to), step),
        }
    }
}

/// The polynomial of the fifth degree between two places a step apart with these values, slopes and bends (Hermite).
fn joined(from: [f64; 3], to: [f64; 3], step: f64) -> [f64; 6] {
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
    spreading: Spreading<'a>,
    closeness: Closeness,
}

impl Places<'_> {
    #[inline(always)]
    fn all<const FUSED: bool>(&self) -> Vec<Place> {
        let Closeness {
            from, to_a_unit, ..
        } = self.closeness;
        let last = ((TO - from) * to_a_unit) as usize;
        let mut places = Vec::with_capacity(last + 1);
        // A closure would not be compiled for the processor at hand.
        for place in 0..=last {
            places.push(self.at::<FUSED>(from + place as f64 / to_a_unit));
        }
        places
    }

    #[inline(always)]
    fn at<const FUSED: bool>(&self, x: f64) -> Place {
        let by_kernel = self.spreading.kernel.recip();
        let [below, first, second, third] = self.spreading.sums::<FUSED, 4>(x);
        [
            below,
            by_kernel * first,
            by_kernel * by_kernel * second,
            by_kernel * by_kernel * by_kernel * third,
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
            for (sigma, eye) in [
                (0.2, 0.25),
                (0.35, 0.12),
                (0.6, 0.1),
                (0.3, 0.5),
                (0.5, 0.255),
                (0.4, 0.19),
            ] {
                the_curve_is_the_integral(
                    Closeness::OF_FLEET,
                    [1e-8, 1e-6, 1e-4],
                    family,
                    (sigma, eye),
                );
                the_curve_is_the_integral(
                    Closeness::OF_CREW,
                    [1e-6, 1e-4, 1e-3],
                    family,
                    (sigma, eye),
                );
            }
        }
    }

    fn the_curve_is_the_integral(
        closeness: Closeness,
        [value, slope, bend]: [f64; 3],
        family: Family,
        (sigma, eye): (f64, f64),
    ) {
        let anchor = -0.37;
        let curve = SeenCurve::new(closeness, family, (sigma, anchor), eye).expect("nodes");
        let mut told = 0;
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
                let (mass, slope) = (local.value.exp(), -local.gradient[0]);
                // Of the mass, by the log of typical life.
                let bend = local.bend(0, 0) + slope * slope;
                [mass, mass * slope, mass * bend]
            };
            // A density is by the log of wear fraction, of which `sigma` is the unit.
            for (curve, exact, unit) in [
                (curve.below(log_age, 0.1), alone(Glance::below(0.1)), 1.0),
                (curve.density(log_age, 0.1), alone(Glance::At(0.1)), sigma),
            ] {
                let Some(curve) = curve else { continue };
                told += 1;
                let off = (curve.value - exact[0]).abs() * unit;
                assert!(off < value, "{family:?} {sigma} {eye} {log_age}: {off}");
                let off = (curve.first - exact[1]).abs() * unit * sigma;
                assert!(off < slope, "slope {family:?} {log_age}: {off}");
                let off = (curve.second - exact[2]).abs() * unit * sigma.powi(2);
                assert!(off < bend, "bend {log_age}: {off}");
            }
        }
        // Of 600, with both ends beyond the shorter curve.
        assert!(told > 400, "{told}");
    }
}
