//! One look at an edge, with its derivatives: four edges in five are known so.
//!
//! Those by the logs of age, of the spread of life and of the eye's error follow from those of `G` by `x` and `k` (see
//! [`super::spreading`]), so that a few sums over nodes, eight side by side, stand for all.

use super::Integral;
use super::spreading::Spreading;
use crate::wear::eye::Glance;
use crate::wear::life_distribution::LifeDistribution;
use crate::wear::life_nodes;
use crate::wear::likelihood::Order;
use crate::wear::likelihood::local::Local;

/// Sums are good to some 1e-8: of less than this the logs must tell.
const LEAST_MASS: f64 = 1e-4;
/// Nodes lie no further apart than for kernels of this spread: see `seen_curve`.
const FINEST: f64 = 0.36;
/// Where the law bends more than this they lie more than one of its own spreads apart.
const SHARP: f64 = 1.0 / (FINEST * FINEST);
/// Sums for first and second derivatives of a density, of which a chance needs one less; those of an order that nobody
/// asks for are left at nought.
const SUMS: usize = 6;
const SUMS_OF_SLOPES: usize = 4;

/// A function of `x` and of `kappa = ln k`, with its derivatives.
struct At {
    value: f64,
    by_x: f64,
    by_kappa: f64,
    by_x_x: f64,
    by_x_kappa: f64,
    by_kappa_kappa: f64,
}

/// The same by `v`, the log of age over typical life, by `lambda`, the log of the spread of life, and by `epsilon`, the
/// log of the eye's error.
struct Seen {
    value: f64,
    slopes: [f64; 3],
    /// The upper triangle, row by row.
    bends: [f64; 6],
}

/// Adds the integral to `local` and says whether it could: it is one look, and likely.
pub fn looked_at(local: &mut Local, integral: &Integral, sign: f64) -> bool {
    let &[(age, glance)] = integral.looks else {
        return false;
    };
    let kernel = glance.error(integral.point.eye) / integral.point.sigma;
    let Some(nodes) = life_nodes::nodes(integral.family, kernel.min(FINEST), integral.precision)
    else {
        return false;
    };
    if is_sharp(integral, age, glance) {
        return false;
    }
    let spreading = Spreading {
        nodes: &nodes.columns,
        kernel,
        farthest: integral.precision.farthest(),
    };
    let by_eye = !matches!(
        glance,
        Glance::Measured { .. } | Glance::MeasuredBelow { .. }
    );
    let of_cut = |cut: f64, factor: f64, of: fn(&[f64; SUMS], f64) -> At| {
        let sigma = integral.point.sigma;
        let from_cut = (integral.point.ages[age] - cut) / sigma;
        let sums = pulp::Arch::new().dispatch(Sums {
            spreading,
            x: from_cut + integral.point.anchor,
            order: integral.order,
        });
        of(&sums, kernel).of_edge(factor, from_cut, sigma)
    };
    let below = |cut: f64, factor: f64| of_cut(cut, factor, At::below);
    let density = |cut: f64| of_cut(cut, integral.point.sigma.recip(), At::density);
    let (seen, jacobian) = match glance {
        Glance::At(cut) => (density(cut), 1.0),
        Glance::Measured { log_fraction, .. } => (density(log_fraction), 1.0),
        Glance::MeasuredBelow { high, .. } => (below(high, 1.0), 0.0),
        Glance::Between { low, high } => {
            let mut seen = if high < f64::INFINITY {
                below(high, 1.0)
            } else {
                Seen::CERTAIN
            };
            if low > f64::NEG_INFINITY {
                seen.add(&below(low, -1.0));
            }
            (seen, 0.0)
        }
    };
    if seen.value.is_nan() || seen.value < LEAST_MASS {
        return false;
    }
    seen.add_to(local, (age, by_eye), jacobian, sign);
    true
}

/// Whether the law may bend too sharply for the nodes where the lives lie that would have been seen so: they lie before
/// the highest cut, far before it where the eye errs much.
fn is_sharp(integral: &Integral, age: usize, glance: Glance) -> bool {
    let cut = match glance {
        Glance::At(cut) => cut,
        Glance::Measured { log_fraction, .. } => log_fraction,
        Glance::MeasuredBelow { high, .. } => high,
        Glance::Between { high, .. } => high,
    };
    let x = (integral.point.ages[age] - cut) / integral.point.sigma + integral.point.anchor;
    -integral.family.log_density_bend(x) > SHARP
}

impl At {
    /// `G`.
    fn below(sums: &[f64; SUMS], k: f64) -> Self {
        let [value, first, second, third, fourth, _] = *sums;
        Self {
            value,
            by_x: -first / k,
            by_kappa: -second,
            by_x_x: -second / (k * k),
            by_x_kappa: -third / k,
            by_kappa_kappa: -2.0 * second - fourth,
        }
    }

    /// `-dG/dx`, the density.
    fn density(sums: &[f64; SUMS], k: f64) -> Self {
        let [_, first, second, third, fourth, fifth] = *sums;
        Self {
            value: first / k,
            by_x: second / (k * k),
            by_kappa: third / k,
            by_x_x: third / (k * k * k),
            by_x_kappa: fourth / (k * k),
            by_kappa_kappa: (2.0 * third + fifth) / k,
        }
    }

    /// `factor` times this, of an edge whose age lies `from_cut` spreads of life beyond the cut. With `x = from_cut +
    /// anchor` and `kappa = epsilon - lambda`, `from_cut` falls by itself along `lambda`.
    fn of_edge(&self, factor: f64, from_cut: f64, sigma: f64) -> Seen {
        let by_lambda = -from_cut * self.by_x - self.by_kappa;
        let across = -from_cut * self.by_x_x - self.by_x_kappa;
        let with_kappa = -from_cut * self.by_x_kappa - self.by_kappa_kappa;
        let lambda_twice = from_cut * self.by_x - from_cut * across - with_kappa;
        Seen {
            value: factor * self.value,
            slopes: [self.by_x / sigma, by_lambda, self.by_kappa].map(|it| factor * it),
            bends: [
                self.by_x_x / (sigma * sigma),
                (across - self.by_x) / sigma,
                self.by_x_kappa / sigma,
                lambda_twice,
                with_kappa,
                self.by_kappa_kappa,
            ]
            .map(|it| factor * it),
        }
    }
}

/// Where the bend by two of the three stands.
const BEND: [[usize; 3]; 3] = [[0, 1, 2], [1, 3, 4], [2, 4, 5]];

impl Seen {
    const CERTAIN: Self = Self {
        value: 1.0,
        slopes: [0.0; 3],
        bends: [0.0; 6],
    };

    fn add(&mut self, other: &Self) {
        self.value += other.value;
        for (own, other) in self.slopes.iter_mut().zip(&other.slopes) {
            *own += other;
        }
        for (own, other) in self.bends.iter_mut().zip(&other.bends) {
            *own += other;
        }
    }

    /// Adds `sign` times the log. A density is over the spread of life besides (`jacobian` 1); what was measured hangs on
    /// no eye.
    fn add_to(&self, local: &mut Local, (age, by_eye): (usize, bool), jacobian: f64, sign: f64) {
        let places = [age, local.lambda(), local.epsilon()];
        let places = &places[..if by_eye { 3 } else { 2 }];
        local.value += sign * self.value.ln();
        let slope = |i: usize| self.slopes[i] / self.value;
        for (i, &place) in places.iter().enumerate() {
            let of_density = if i == 1 { jacobian } else { 0.0 };
            local.gradient[place] += sign * (slope(i) - of_density);
        }
        if local.order() < Order::Hessian {
            return;
        }
        for (i, &row) in places.iter().enumerate() {
            for (j, &column) in places.iter().enumerate() {
                let second = self.bends[BEND[i][j]] / self.value;
                local.add_bend(row, column, sign * (second - slope(i) * slope(j)));
            }
        }
    }
}

struct Sums<'a> {
    spreading: Spreading<'a>,
    x: f64,
    order: Order,
}

impl Sums<'_> {
    #[inline(always)]
    fn sums<const FUSED: bool>(&self) -> [f64; SUMS] {
        if self.order == Order::Hessian {
            return self.spreading.sums::<FUSED, SUMS>(self.x);
        }
        let mut sums = [0.0; SUMS];
        let first = self.spreading.sums::<FUSED, SUMS_OF_SLOPES>(self.x);
        sums[..SUMS_OF_SLOPES].copy_from_slice(&first);
        sums
    }
}

impl pulp::WithSimd for Sums<'_> {
    type Output = [f64; SUMS];

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> [f64; SUMS] {
        if S::IS_SCALAR {
            self.sums::<false>()
        } else {
            self.sums::<true>()
        }
    }
}
