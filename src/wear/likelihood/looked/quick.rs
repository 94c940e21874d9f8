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
/// What is seen lies at most so many errors off: beyond is one chance in 1e12.
const FARTHEST: f64 = 7.0;
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

/// A node, and what the looks make of it.
struct Visited<'a> {
    /// Standardised log life.
    w: f64,
    /// The log of life over typical life.
    log_life: f64,
    /// Its mass.
    mass: f64,
    /// Of each look.
    chances: &'a [Chance],
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

/// Logs of life over typical life at nodes fine enough for `kernel`, each with its mass; `None` where the
/// logs must do it.
pub fn lives(integral: &Integral, kernel: f64) -> Option<Vec<(f64, f64)>> {
    if integral.looks.len() > MOST_LOOKS {
        return None;
    }
    let nodes = life_nodes::nodes(integral.family, kernel, integral.precision);
    let mut lives = Vec::with_capacity(64);
    integral.each_node(nodes, |node| lives.push((node.log_life, node.mass)));
    let mass: f64 = lives.iter().map(|(_, mass)| mass).sum();
    (mass >= LEAST_MASS).then_some(lives)
}

impl Integral<'_> {
    fn sums(&self) -> Sums {
        let nodes = life_nodes::nodes(self.family, self.kernel(), self.precision);
        let mut sums = Sums::default();
        self.each_node(nodes, |node| sums.add(node, self.order));
        sums
    }

    /// Visits the nodes that count, on either side of the mode outwards.
    #[inline]
    fn each_node(&self, nodes: &life_nodes::Nodes, mut visit: impl FnMut(&Visited<'_>)) {
        let table = QuickNormal::table();
        let eye = self.point.eye;
        let most: f64 = self.looks.iter().map(|(_, glance)| glance.most(eye)).sum();
        let most = most.exp();
        let (low, high) = self.within_sight();
        let mut heaviest = 0.0;
        for (side, first, end) in [(&nodes.above, low, high), (&nodes.below, -high, -low)] {
            for node in side {
                let outwards = node.w.abs();
                let faint = node.weight == 0.0 || node.weight * most < NEGLIGIBLE * heaviest;
                if outwards > end || faint {
                    break;
                }
                if outwards < first {
                    continue;
                }
                let mut chances = [Chance::default(); MOST_LOOKS];
                let visited = self.visited(node, table, NEGLIGIBLE * heaviest, &mut chances);
                if let Some(visited) = visited {
                    heaviest = visited.mass.max(heaviest);
                    visit(&visited);
                }
            }
        }
    }

    /// What the looks make of a node; `None` where that is less than `least`.
    #[inline]
    fn visited<'a>(
        &self,
        node: &life_nodes::Node,
        table: &QuickNormal,
        least: f64,
        chances: &'a mut [Chance; MOST_LOOKS],
    ) -> Option<Visited<'a>> {
        let log_life = self.point.sigma * (node.w - self.point.anchor);
        let mut mass = node.weight;
        for (chance, &(age, glance)) in chances.iter_mut().zip(self.looks) {
            let v = self.point.ages[age] - log_life;
            *chance = glance.chance(v, self.point.eye, self.order, table);
            mass *= chance.value;
            if mass < least {
                return None;
            }
        }
        Some(Visited {
            w: node.w,
            log_life,
            mass,
            chances: chances.get(..self.looks.len())?,
        })
    }

    /// The lives, on the standardised scale, that all looks leave possible.
    fn within_sight(&self) -> (f64, f64) {
        let eye = self.point.eye;
        let w = |log_life: f64| log_life / self.point.sigma + self.point.anchor;
        let looks = self.looks.iter().map(|&(age, glance)| {
            let (low, high) = glance.possible(eye);
            let v = self.point.ages[age];
            (w(v - high), w(v - low))
        });
        looks.fold((f64::NEG_INFINITY, f64::INFINITY), |(low, high), look| {
            (low.max(look.0), high.min(look.1))
        })
    }
}

impl Sums {
    #[inline]
    fn add(&mut self, node: &Visited<'_>, order: Order) {
        let mass = node.mass;
        self.mass += mass;
        if mass > self.heaviest {
            self.heaviest = mass;
            self.peak = node.w;
        }
        if order == Order::Gradient && mass > 0.0 {
            let mut by_v = 0.0;
            for (sum, chance) in self.by_v.iter_mut().zip(node.chances) {
                *sum += mass * chance.by_v;
                by_v += chance.by_v;
                self.by_eye += mass * chance.by_eye;
            }
            self.by_lambda -= mass * node.log_life * by_v;
        }
    }
}

impl Glance {
    /// The log wear fractions at which the look is not all but impossible.
    fn possible(self, eye: f64) -> (f64, f64) {
        let far = FARTHEST * self.error(eye);
        match self {
            Glance::Between { low, high } => (low - far, high + far),
            Glance::At(seen) => (seen - far, seen + far),
            Glance::Measured { log_fraction, .. } => (log_fraction - far, log_fraction + far),
            Glance::MeasuredBelow { high, .. } => (f64::NEG_INFINITY, high + far),
        }
    }

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
