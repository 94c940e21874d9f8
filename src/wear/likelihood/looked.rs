//! Edges known only through somebody's eye: the moment of going dull is integrated out.

mod along;
mod careful;
mod chance;
mod mass;
mod one;
mod quick;
mod seen_curve;
mod spreading;
#[cfg(test)]
mod tests;

use super::Order;
use super::local::{Local, LocalPoint};
use crate::wear::eye::Glance;
use crate::wear::life_distribution::Family;
use crate::wear::life_nodes::Precision;
pub use along::along;
pub use seen_curve::{Closeness, SeenCurve};

/// Where minus the second derivative of the log density exceeds this the coarsest step is too wide: the
/// Weibull's density falls off doubly exponentially in its upper tail.
const SHARP: f64 = 4.0;

/// What one integral is taken over.
struct Integral<'a> {
    point: &'a LocalPoint,
    family: Family,
    looks: &'a [(usize, Glance)],
    precision: Precision,
    order: Order,
}

/// Adds `sign x ln( integral over life of the product of P(look | u / T) )`.
///
/// With `T = typical life x exp(s)`, `s = sigma (W - anchor)`, each look sees the log fraction
/// `v_k - s`. The derivatives are moments over the nodes: gradient the mean of each node's gradient,
/// Hessian the mean of its Hessian plus the covariance of its gradient.
pub fn looked_at(
    local: &mut Local,
    point: &LocalPoint,
    family: Family,
    looks: &[(usize, Glance)],
    sign: f64,
    precision: Precision,
) {
    let integral = Integral {
        point,
        family,
        looks,
        precision,
        order: local.order(),
    };
    let mut quickly = || {
        let with_slopes = integral.order != Order::Value;
        with_slopes && one::looked_at(local, &integral, sign)
            || quick::looked_at(local, &integral, sign)
    };
    if precision != Precision::Full && quickly() {
        return;
    }
    let mut masses = integral.masses();
    local.value += sign * masses.normalise();
    if local.order() == Order::Value {
        return;
    }
    let places: Vec<usize> = looks
        .iter()
        .map(|(age, _)| *age)
        .chain([local.lambda(), local.epsilon()])
        .collect();
    let slopes = masses.slopes(looks.len());
    let size = places.len();
    let mut mean = vec![0.0; size];
    for (node, slopes) in masses.nodes.iter().zip(slopes.chunks_exact(size)) {
        for (mean, slope) in mean.iter_mut().zip(slopes) {
            *mean += node.weight * slope;
        }
    }
    for (&place, mean) in places.iter().zip(&mean) {
        local.gradient[place] += sign * mean;
    }
    if local.order() == Order::Hessian {
        let second = masses.second_moments(looks.len(), &slopes, &mean);
        for (i, &row) in places.iter().enumerate() {
            for (j, &column) in places.iter().enumerate() {
                local.add_bend(row, column, sign * second[i * size + j]);
            }
        }
    }
}

/// The spread, on the scale of standardised log life, of a kernel that makes lives lie close enough for a
/// decision to be read off them: an eighth apart.
const CLOSE: f64 = 0.125;
/// Lives less likely than this are left out.
const UNLIKELY: f64 = 1e-6;

/// The lives that an edge may have by what was seen of it: logs of life over typical life, rising, each with
/// its chance. Without looks it is the law itself.
pub fn lives_seen(
    point: &LocalPoint,
    family: Family,
    looks: &[(usize, Glance)],
) -> Vec<(f64, f64)> {
    let integral = Integral {
        point,
        family,
        looks,
        precision: Precision::Sampling,
        order: Order::Value,
    };
    let kernel = integral.kernel().min(CLOSE);
    let mut lives = quick::lives(&integral, kernel).unwrap_or_else(|| {
        let mut masses = integral.masses_at(kernel);
        masses.normalise();
        // The heaviest stands before those above it, and these before those below.
        masses
            .nodes
            .sort_by(|a, b| a.log_life.total_cmp(&b.log_life));
        let nodes = masses.nodes.iter();
        nodes.map(|node| (node.log_life, node.weight)).collect()
    });
    let whole: f64 = lives.iter().map(|(_, mass)| mass).sum();
    lives.retain(|(_, mass)| *mass > UNLIKELY * whole);
    let kept: f64 = lives.iter().map(|(_, mass)| mass).sum();
    lives.iter_mut().for_each(|(_, mass)| *mass /= kept);
    lives
}

impl Integral<'_> {
    /// The spread of what the looks see, on the scale of `W`: several together see more sharply than one.
    fn kernel(&self) -> f64 {
        let errors = self
            .looks
            .iter()
            .map(|(_, glance)| glance.error(self.point.eye));
        let sharpness: f64 = errors.map(|error| error.powi(-2)).sum();
        // Without looks the sum is minus zero; plus zero makes the kernel endless, not its opposite.
        (sharpness + 0.0).sqrt().recip() / self.point.sigma
    }
}
