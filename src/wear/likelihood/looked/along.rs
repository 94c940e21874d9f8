//! How the integral changes along the log of typical life: roughly, for laws that draws are proposed from.
//!
//! With `x = (cut - v) / error` a longer life moves every look's `x` by `1 / error`. The nodes are those of the value
//! alone, eight side by side, and a product's derivatives follow from its factors'.

use super::Integral;
use super::mass::{Line, Lines};
use super::quick::MOST_LOOKS;
use crate::numerics::lanes::{multiply_add, normal_tail_and_height};
use crate::wear::eye::Glance;
use crate::wear::life_distribution::{Curve, Family};
use crate::wear::life_nodes::{LANES, Precision};
use crate::wear::likelihood::Order;
use crate::wear::likelihood::local::LocalPoint;
use std::f64::consts::TAU;

/// Rough numbers tell nothing of what is less likely.
const LEAST_MASS: f64 = 1e-4;

/// A value with its first and second derivative, in so many lanes.
#[derive(Clone, Copy)]
struct Lane([[f64; LANES]; 3]);

/// The log of the integral, roughly, with slope and bend by the log of typical life; `None` where that is too unlikely
/// for plain numbers, or the looks are too many.
pub fn along(point: &LocalPoint, family: Family, looks: &[(usize, Glance)]) -> Option<Curve> {
    if looks.len() > MOST_LOOKS {
        return None;
    }
    let integral = Integral {
        point,
        family,
        looks,
        precision: Precision::Rough,
        order: Order::Value,
    };
    let mut room = [Line::NONE; MOST_LOOKS];
    let lines = integral.lines(integral.kernel(), &mut room)?;
    let [mass, first, second] = pulp::Arch::new().dispatch(Along {
        lines,
        node: point.sigma,
    });
    if mass.is_nan() || mass < LEAST_MASS {
        return None;
    }
    let slope = first / mass;
    Some(Curve {
        value: mass.ln(),
        first: slope,
        second: second / mass - slope * slope,
    })
}

struct Along<'a> {
    lines: Lines<'a>,
    /// The log of life from one unit of `W` to the next.
    node: f64,
}

impl Along<'_> {
    #[inline(always)]
    fn sums<const FUSED: bool>(&self) -> [f64; 3] {
        let [uncertain, certain, beyond] = self.lines.ranges();
        let nodes = self.lines.nodes;
        let mut sums = [[0.0; LANES]; 3];
        for range in [uncertain, beyond] {
            let mut first = range.start;
            while first < range.end {
                let Some(weights) = nodes.weights_from(first) else {
                    break;
                };
                let mut product = Lane([*weights, [0.0; LANES], [0.0; LANES]]);
                for line in self.lines.lines {
                    let by_error = self.by_error(line);
                    let seen = seen::<FUSED>(line, first as f64, by_error);
                    product = product.times(&seen);
                }
                for (sums, more) in sums.iter_mut().zip(&product.0) {
                    for (sum, more) in sums.iter_mut().zip(more) {
                        *sum += more;
                    }
                }
                first += LANES;
            }
        }
        let mut whole = [0.0; 3];
        for (whole, lanes) in whole.iter_mut().zip(&sums) {
            for lane in lanes {
                *whole += lane;
            }
        }
        let before = |node: usize| nodes.before.get(node).copied().unwrap_or_default();
        whole[0] += before(certain.end) - before(certain.start);
        whole
    }

    /// One over a look's error.
    #[inline(always)]
    fn by_error(&self, line: &Line) -> f64 {
        line.slope() / (self.node * self.lines.nodes.step)
    }
}

impl Lane {
    /// Of a product of two factors.
    #[inline(always)]
    fn times(&self, other: &Self) -> Self {
        let (Lane([a, b, c]), Lane([x, y, z])) = (self, other);
        let mut product = [[0.0; LANES]; 3];
        for lane in 0..LANES {
            product[0][lane] = a[lane] * x[lane];
            product[1][lane] = b[lane] * x[lane] + a[lane] * y[lane];
            product[2][lane] = c[lane] * x[lane] + 2.0 * b[lane] * y[lane] + a[lane] * z[lane];
        }
        Self(product)
    }
}

/// The chances at nodes from `first` on, or the densities, with their derivatives.
#[inline(always)]
fn seen<const FUSED: bool>(line: &Line, first: f64, by_error: f64) -> Lane {
    let (mut values, mut slopes, mut bends) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
    let (by_one, by_two) = (by_error, by_error * by_error);
    let places = values.iter_mut().zip(&mut slopes).zip(&mut bends);
    for (lane, ((value, slope), bend)) in places.enumerate() {
        let node = first + lane as f64;
        let at = |at: f64| multiply_add::<FUSED>(line.slope(), node, at);
        let [own, first_order, second_order] = match *line {
            Line::Below { at: cut, .. } => {
                let x = at(cut);
                let (tail, height) = normal_tail_and_height::<FUSED>(x);
                let density = height / TAU.sqrt();
                [tail, density, -x * density]
            }
            Line::Above { at: cut, .. } => {
                let x = at(cut);
                let (tail, height) = normal_tail_and_height::<FUSED>(-x);
                let density = height / TAU.sqrt();
                [tail, -density, x * density]
            }
            Line::Between { low, high, .. } => {
                let (low, high) = (at(low), at(high));
                let (below, low_height) = normal_tail_and_height::<FUSED>(low);
                let (above, high_height) = normal_tail_and_height::<FUSED>(high);
                let (outer, inner) = (high_height / TAU.sqrt(), low_height / TAU.sqrt());
                [above - below, outer - inner, low * inner - high * outer]
            }
            Line::At {
                at: cut, height, ..
            } => {
                let x = at(cut);
                let density = height * normal_tail_and_height::<FUSED>(x).1;
                [density, -x * density, (x * x - 1.0) * density]
            }
        };
        *value = own;
        *slope = by_one * first_order;
        *bend = by_two * second_order;
    }
    Lane([values, slopes, bends])
}

impl pulp::WithSimd for Along<'_> {
    type Output = [f64; 3];

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> [f64; 3] {
        if S::IS_SCALAR {
            self.sums::<false>()
        } else {
            self.sums::<true>()
        }
    }
}
