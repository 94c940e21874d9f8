//! The same integral on plain probabilities rather than their logs: for draws, which ask for it a million
//! times. It steps aside where probabilities are too small for that.

use super::super::Order;
use super::super::local::Local;
use super::{Integral, SHARP};
use crate::numerics::normal;
use crate::numerics::quick_normal::QuickNormal;
use crate::wear::eye::Glance;
use crate::wear::life_distribution::LifeDistribution;
use crate::wear::life_nodes;

/// Probabilities are good to 2e-11: below this whole mass the logs must do it.
const LEAST_MASS: f64 = 1e-4;
/// A node that weighs less than this share of the heaviest is left out.
const NEGLIGIBLE: f64 = 1e-9;
/// Most looks at one edge that are done here.
const MOST_LOOKS: usize = 6;

/// One look's probability (or density) at a node, with its slopes by log fraction and by the log of the
/// eye's error, each over the probability.
#[derive(Clone, Copy, Default)]
struct Chance {
    value: f64,
    by_v: f64,
    by_eye: f64,
}

/// Sums over the nodes.
#[derive(Default)]
struct Sums {
    mass: f64,
    by_v: [f64; MOST_LOOKS],
    by_lambda: f64,
    by_eye: f64,
    heaviest: f64,
    peak: f64,
}

/// Adds the integral to `local` and says whether it could; value and gradient only.
pub fn looked_at(local: &mut Local, integral: &Integral, sign: f64) -> bool {
    if local.order() == Order::Hessian || integral.looks.len() > MOST_LOOKS {
        return false;
    }
    let sums = integral.sums();
    let sharp = -integral.family.log_density_bend(sums.peak) > SHARP;
    if sharp || sums.mass.is_nan() || sums.mass < LEAST_MASS {
        return false;
    }
    local.value += sign * sums.mass.ln();
    if local.order() == Order::Gradient {
        let share = sign / sums.mass;
        for (&(age, _), by_v) in integral.looks.iter().zip(&sums.by_v) {
            local.gradient[age] += share * by_v;
        }
        let (lambda, epsilon) = (local.lambda(), local.epsilon());
        local.gradient[lambda] += share * sums.by_lambda;
        local.gradient[epsilon] += share * sums.by_eye;
    }
    true
}

impl Integral<'_> {
    fn sums(&self) -> Sums {
        let table = QuickNormal::table();
        let nodes = life_nodes::nodes(self.family, self.kernel(), self.precision);
        let eye = self.point.eye;
        let most: f64 = self.looks.iter().map(|(_, glance)| glance.most(eye)).sum();
        let most = most.exp();
        let mut sums = Sums::default();
        for side in [&nodes.above, &nodes.below] {
            for node in side {
                if node.weight * most < NEGLIGIBLE * sums.heaviest || node.weight == 0.0 {
                    break;
                }
                self.add_node(node, table, &mut sums);
            }
        }
        sums
    }

    #[inline]
    fn add_node(&self, node: &life_nodes::Node, table: &QuickNormal, sums: &mut Sums) {
        let log_life = self.point.sigma * (node.w - self.point.anchor);
        let mut chances = [Chance::default(); MOST_LOOKS];
        let mut mass = node.weight;
        for (chance, &(age, glance)) in chances.iter_mut().zip(self.looks) {
            let v = self.point.ages[age] - log_life;
            *chance = glance.chance(v, self.point.eye, self.order, table);
            mass *= chance.value;
            if mass < NEGLIGIBLE * sums.heaviest {
                return;
            }
        }
        sums.mass += mass;
        if mass > sums.heaviest {
            sums.heaviest = mass;
            sums.peak = node.w;
        }
        if self.order == Order::Gradient && mass > 0.0 {
            let mut by_v = 0.0;
            for (sum, chance) in sums.by_v.iter_mut().zip(&chances[..self.looks.len()]) {
                *sum += mass * chance.by_v;
                by_v += chance.by_v;
                sums.by_eye += mass * chance.by_eye;
            }
            sums.by_lambda -= mass * log_life * by_v;
        }
    }
}

impl Glance {
    #[inline]
    fn chance(self, v: f64, eye: f64, order: Order, table: &QuickNormal) -> Chance {
        match self {
            Glance::Between { low, high } => {
                let (a, b) = ((low - v) / eye, (high - v) / eye);
                let value = table.lower_tail(b) - table.lower_tail(a);
                if order == Order::Value || value <= 0.0 {
                    return Chance {
                        value: value.max(0.0),
                        ..Chance::default()
                    };
                }
                let (at_a, at_b) = (density(a) / value, density(b) / value);
                Chance {
                    value,
                    by_v: (at_a - at_b) / eye,
                    by_eye: times(a, at_a) - times(b, at_b),
                }
            }
            Glance::At(seen) => at_point((seen - v) / eye, eye),
            Glance::Measured {
                log_fraction,
                error,
            } => Chance {
                by_eye: 0.0,
                ..at_point((log_fraction - v) / error, error)
            },
            Glance::MeasuredBelow { high, error } => {
                let b = (high - v) / error;
                let value = table.lower_tail(b);
                let slope = if value > 0.0 {
                    -density(b) / (value * error)
                } else {
                    0.0
                };
                Chance {
                    value,
                    by_v: slope,
                    by_eye: 0.0,
                }
            }
        }
    }
}

fn at_point(z: f64, error: f64) -> Chance {
    Chance {
        value: density(z) / error,
        by_v: z / error,
        by_eye: z * z - 1.0,
    }
}

fn density(z: f64) -> f64 {
    normal::log_density(z).exp()
}

/// Nothing where the cut is endless: the density there is zero.
fn times(cut: f64, density: f64) -> f64 {
    if cut.is_finite() { cut * density } else { 0.0 }
}
