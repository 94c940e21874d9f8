//! Edges known only through somebody's eye: the moment of going dull is integrated out.

mod chance;
mod mass;
mod quick;
#[cfg(test)]
mod tests;

use super::Order;
use super::local::{Local, LocalPoint};
use crate::wear::eye::{Glance, Seen};
use crate::wear::life_distribution::{Family, LifeDistribution};
use crate::wear::life_nodes::{self, Precision};

/// Where minus the second derivative of the log density exceeds this the coarsest step is too wide: the
/// Weibull's density falls off doubly exponentially in its upper tail.
const SHARP: f64 = 4.0;

/// One node of the integral.
struct Mass {
    /// The log of its mass; later its share of the whole.
    weight: f64,
    /// Standardised log life.
    w: f64,
    /// `sigma (W - anchor)`, the log of life over typical life.
    log_life: f64,
}

/// The nodes that count, and what each look makes of each.
struct Masses {
    nodes: Vec<Mass>,
    /// As many for each node as there are looks.
    seen: Vec<Seen>,
}

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
    if precision == Precision::Sampling && quick::looked_at(local, &integral, sign) {
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
        let nodes = masses.nodes.iter();
        nodes.map(|node| (node.log_life, node.weight)).collect()
    });
    let whole: f64 = lives.iter().map(|(_, mass)| mass).sum();
    lives.retain(|(_, mass)| *mass > UNLIKELY * whole);
    let kept: f64 = lives.iter().map(|(_, mass)| mass).sum();
    lives.iter_mut().for_each(|(_, mass)| *mass /= kept);
    lives.sort_by(|a, b| a.0.total_cmp(&b.0));
    lives
}

impl Masses {
    /// Turns log masses into shares of their sum; the log of that sum.
    fn normalise(&mut self) -> f64 {
        let logs = self.nodes.iter().map(|node| node.weight);
        let largest = logs.fold(f64::NEG_INFINITY, f64::max);
        let mut total = 0.0;
        for node in &mut self.nodes {
            node.weight = (node.weight - largest).exp();
            total += node.weight;
        }
        for node in &mut self.nodes {
            node.weight /= total;
        }
        largest + total.ln()
    }

    /// Each node with what its looks saw.
    fn each(&self, looks: usize) -> impl Iterator<Item = (&Mass, &[Seen])> {
        self.nodes.iter().zip(self.seen.chunks_exact(looks))
    }

    /// Each node's gradient by the looks' ages, `lambda` and `epsilon`.
    fn slopes(&self, looks: usize) -> Vec<f64> {
        let mut slopes = Vec::with_capacity(self.nodes.len() * (looks + 2));
        for (node, seen) in self.each(looks) {
            slopes.extend(seen.iter().map(|seen| seen.by_v));
            let total: f64 = seen.iter().map(|seen| seen.by_v).sum();
            slopes.push(-node.log_life * total);
            slopes.push(seen.iter().map(|seen| seen.by_eye).sum());
        }
        slopes
    }

    /// Mean of the nodes' Hessians plus the covariance of their gradients.
    fn second_moments(&self, looks: usize, slopes: &[f64], mean: &[f64]) -> Vec<f64> {
        let size = looks + 2;
        let (lambda, epsilon) = (looks, looks + 1);
        let mut second = vec![0.0; size * size];
        for ((node, seen), slopes) in self.each(looks).zip(slopes.chunks_exact(size)) {
            let mut add =
                |i: usize, j: usize, amount: f64| second[i * size + j] += node.weight * amount;
            for i in 0..size {
                for j in 0..size {
                    add(i, j, (slopes[i] - mean[i]) * (slopes[j] - mean[j]));
                }
            }
            let s = node.log_life;
            for (k, seen) in seen.iter().enumerate() {
                add(k, k, seen.by_v_v);
                for (i, j) in [(k, lambda), (lambda, k)] {
                    add(i, j, -s * seen.by_v_v);
                }
                for (i, j) in [(k, epsilon), (epsilon, k)] {
                    add(i, j, seen.by_v_eye);
                }
                for (i, j) in [(lambda, epsilon), (epsilon, lambda)] {
                    add(i, j, -s * seen.by_v_eye);
                }
                add(lambda, lambda, s * s * seen.by_v_v);
                add(epsilon, epsilon, seen.by_eye_eye);
            }
            add(lambda, lambda, slopes[lambda]);
        }
        second
    }
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

    /// Evaluates the integrand at nodes fine enough for the looks and, far out in a tail, for the law
    /// itself.
    fn masses(&self) -> Masses {
        let kernel = self.kernel();
        let masses = self.masses_at(kernel);
        let peak = masses
            .nodes
            .iter()
            .max_by(|a, b| a.weight.total_cmp(&b.weight));
        let bend = -self
            .family
            .log_density_bend(peak.map_or(0.0, |mass| mass.w));
        if bend < SHARP {
            return masses;
        }
        self.masses_at((kernel.powi(-2) + bend).sqrt().recip())
    }

    /// Evaluates the nodes from the middle outwards until none further can matter.
    fn masses_at(&self, kernel: f64) -> Masses {
        let most: f64 = self
            .looks
            .iter()
            .map(|(_, glance)| glance.most(self.point.eye))
            .sum();
        let nodes = life_nodes::nodes(self.family, kernel, self.precision);
        let negligible = self.precision.negligible();
        let mut masses = Masses {
            nodes: Vec::with_capacity(64),
            seen: Vec::with_capacity(64 * self.looks.len()),
        };
        let mut largest = f64::NEG_INFINITY;
        for side in [&nodes.above, &nodes.below] {
            for node in side {
                if node.log_weight + most < largest + negligible {
                    break;
                }
                let weight = self.look(node.log_weight, node.w, largest + negligible, &mut masses);
                largest = largest.max(weight);
            }
        }
        masses
    }

    /// Adds the node at `w` unless its log mass is below `least`; its log mass.
    fn look(&self, log_weight: f64, w: f64, least: f64, masses: &mut Masses) -> f64 {
        let log_life = self.point.sigma * (w - self.point.anchor);
        let begun = masses.seen.len();
        let mut weight = log_weight;
        for &(age, glance) in self.looks {
            let seen = glance.seen(self.point.ages[age] - log_life, self.point.eye, self.order);
            weight += seen.value;
            masses.seen.push(seen);
        }
        if weight > least {
            masses.nodes.push(Mass {
                weight,
                w,
                log_life,
            });
        } else {
            masses.seen.truncate(begun);
        }
        weight
    }
}
