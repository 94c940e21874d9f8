//! The integral on the logs of probabilities, with all digits however unlikely what was seen is.

use super::{Integral, SHARP};
use crate::wear::eye::Seen;
use crate::wear::life_distribution::LifeDistribution;
use crate::wear::life_nodes;

/// No peak is looked for further out: an edge graded overrun at a millionth of its typical life needs `W` near -600
/// where the spread is small.
const REACH: f64 = 720.0;
/// Room for so many nodes; mostly it is enough.
const NODES: usize = 64;

/// No more nodes on either side of the heaviest: a search that has lost its way asks for a spread so wide that all
/// memory would not hold them, and is turned back by any answer.
const MOST_NODES: usize = 100_000;

/// One node of the integral.
pub struct Mass {
    /// The log of its mass; later its share of the whole.
    pub weight: f64,
    /// Standardised log life.
    w: f64,
    /// `sigma (W - anchor)`, the log of life over typical life.
    pub log_life: f64,
}

/// The nodes that count, and what each look makes of each.
#[derive(Default)]
pub struct Masses {
    pub nodes: Vec<Mass>,
    /// As many for each node as there are looks.
    seen: Vec<Seen>,
}

impl Masses {
    /// Turns log masses into shares of their sum; the log of that sum.
    pub fn normalise(&mut self) -> f64 {
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
    pub fn slopes(&self, looks: usize) -> Vec<f64> {
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
    pub fn second_moments(&self, looks: usize, slopes: &[f64], mean: &[f64]) -> Vec<f64> {
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
    /// Evaluates the integrand at nodes fine enough for the looks and, far out in a tail, for the law
    /// itself.
    pub fn masses(&self) -> Masses {
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

    /// Evaluates the nodes from the heaviest outwards until none further can matter: law and looks are all concave
    /// on the log scale, so that mass falls ever faster to either side.
    pub fn masses_at(&self, kernel: f64) -> Masses {
        let step = life_nodes::step(kernel, self.precision);
        let mut masses = Masses {
            nodes: Vec::with_capacity(NODES),
            seen: Vec::with_capacity(NODES * self.looks.len()),
        };
        let peak = self.heaviest(step);
        let negligible = self.precision.negligible();
        let mut largest = f64::NEG_INFINITY;
        let mut counts = |node: i64| {
            let weight = self.look(node, step, largest + negligible, &mut masses);
            largest = largest.max(weight);
            weight > largest + negligible
        };
        let above = (peak..).take(MOST_NODES);
        let _ = above.take_while(|node| counts(*node)).count();
        let below = (1..).take(MOST_NODES);
        let _ = below.take_while(|below| counts(peak - below)).count();
        masses
    }

    /// The node with the largest mass, by its number from the law's mode up.
    fn heaviest(&self, step: f64) -> i64 {
        let mut room = Masses::default();
        let mut log_mass = |node: i64| {
            room.seen.clear();
            self.look(node, step, f64::INFINITY, &mut room)
        };
        let mut rises = |node: i64| {
            let (here, next) = (log_mass(node), log_mass(node + 1));
            // Where both are too small for a number the law's own mode is the way to go.
            if here == f64::NEG_INFINITY && next == here {
                node < 0
            } else {
                next > here
            }
        };
        let (unit, reach) = ((1.0 / step) as i64, (REACH / step) as i64);
        let upwards = rises(0);
        let (mut near, mut far, mut stride) = (0, 0, unit.max(1));
        while rises(far) == upwards && far.abs() < reach {
            near = far;
            far += if upwards { stride } else { -stride };
            stride *= 2;
        }
        let (mut low, mut high) = (near.min(far), near.max(far));
        // Mass rises at `low`, and no more at `high`.
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if rises(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    /// Adds a node unless its log mass is at most `least`; its log mass.
    fn look(&self, node: i64, step: f64, least: f64, masses: &mut Masses) -> f64 {
        let w = step * node as f64;
        let log_life = self.point.sigma * (w - self.point.anchor);
        let begun = masses.seen.len();
        let mut weight = step.ln() + self.family.log_density(w);
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
