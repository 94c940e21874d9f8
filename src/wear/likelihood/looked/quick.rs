//! The same integral on plain probabilities rather than their logs: for draws, which ask for it a million
//! times. It steps aside where probabilities are too small for that.

use super::super::Order;
use super::super::local::Local;
use super::chance::Chance;
use super::mass::EachMass;
use super::{Integral, SHARP};
use crate::numerics::quick_normal::QuickNormal;
use crate::wear::eye::Glance;
use crate::wear::life_distribution::LifeDistribution;
use crate::wear::life_nodes::{self, Sides};

/// Probabilities are good to 2e-11: below this whole mass the logs must do it.
const LEAST_MASS: f64 = 1e-4;
/// The mass alone is good to 1e-12: of less than this it would miss a thousandth.
const LEAST_VALUE: f64 = 1e-9;
/// A node that weighs less than this share of the heaviest is left out.
const NEGLIGIBLE: f64 = 1e-9;
/// Most looks at one edge that are done here.
pub const MOST_LOOKS: usize = 6;

/// Places of the sums: one for each look, then the log of the spread and the log of the eye's error.
const LAMBDA: usize = MOST_LOOKS;
const EPSILON: usize = MOST_LOOKS + 1;
const PLACES: usize = MOST_LOOKS + 2;

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

/// Sums over the nodes of the mass and its derivatives.
#[derive(Default)]
struct Sums {
    mass: f64,
    first: [f64; PLACES],
    /// The upper triangle.
    second: [[f64; PLACES]; PLACES],
    heaviest: f64,
    peak: f64,
}

/// Adds the integral to `local` and says whether it could.
pub fn looked_at(local: &mut Local, integral: &Integral, sign: f64) -> bool {
    if integral.looks.len() > MOST_LOOKS {
        return false;
    }
    if integral.order == Order::Value {
        let whole = integral.careful_mass();
        let digits = whole >= LEAST_VALUE;
        if digits {
            local.value += sign * whole.ln();
        }
        return digits;
    }
    let Some(sums) = integral.sums() else {
        return false;
    };
    let sharp = -integral.family.log_density_bend(sums.peak) > SHARP;
    if sharp || sums.mass.is_nan() || sums.mass < LEAST_MASS {
        return false;
    }
    local.value += sign * sums.mass.ln();
    sums.add_derivatives(local, integral.looks, sign);
    true
}

/// Logs of life over typical life at nodes fine enough for `kernel`, rising, each with its mass; `None` where the
/// logs must do it.
pub fn lives(integral: &Integral, kernel: f64) -> Option<Vec<(f64, f64)>> {
    if integral.looks.len() > MOST_LOOKS {
        return None;
    }
    let EachMass {
        masses,
        first,
        step,
    } = integral.mass_of_each(kernel)?;
    let whole: f64 = masses.iter().sum();
    let point = integral.point;
    let log_life = |node: usize| point.sigma * (first + step * node as f64 - point.anchor);
    let lives = || masses.iter().enumerate();
    (whole >= LEAST_MASS).then(|| {
        lives()
            .map(|(node, mass)| (log_life(node), *mass))
            .collect()
    })
}

impl Integral<'_> {
    /// The mass, on nodes that lie closely enough for the law where most of it is.
    fn careful_mass(&self) -> f64 {
        let kernel = self.kernel();
        let mass = self.mass_at(kernel);
        let bend = -self.family.log_density_bend(mass.peak);
        if bend <= SHARP || mass.whole < LEAST_VALUE {
            return mass.whole;
        }
        self.mass_at((kernel.powi(-2) + bend).sqrt().recip()).whole
    }

    /// `None` where nodes would have to lie closer than any that are kept.
    fn sums(&self) -> Option<Sums> {
        let nodes = life_nodes::nodes(self.family, self.kernel(), self.precision)?;
        let mut sums = Sums::default();
        self.each_node(nodes, |node| sums.add(node, self.order));
        Some(sums)
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
        // One room for all nodes: to clear it costs as much as a look.
        let mut chances = [Chance::default(); MOST_LOOKS];
        let Sides { above, below } = nodes.sides();
        for (side, first, end) in [(above, low, high), (below, -high, -low)] {
            for node in side {
                let outwards = node.w.abs();
                let faint = node.weight == 0.0 || node.weight * most < NEGLIGIBLE * heaviest;
                if outwards > end || faint {
                    break;
                }
                if outwards < first {
                    continue;
                }
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
        if order == Order::Value || mass <= 0.0 {
            return;
        }
        let by_v: f64 = node.chances.iter().map(|chance| chance.by_v).sum();
        let by_eye: f64 = node.chances.iter().map(|chance| chance.by_eye).sum();
        for (sum, chance) in self.first.iter_mut().zip(node.chances) {
            *sum += mass * chance.by_v;
        }
        self.first[LAMBDA] -= mass * node.log_life * by_v;
        self.first[EPSILON] += mass * by_eye;
        if order == Order::Hessian {
            self.add_second(node, by_v, by_eye);
        }
    }

    /// Second derivatives of a product: each factor's own, and the products of two factors' first. Life stands
    /// `s` beyond typical, so that a step of `lambda` takes every look's `v` back by `s`, and `s` itself is
    /// stretched.
    fn add_second(&mut self, node: &Visited<'_>, by_v: f64, by_eye: f64) {
        let (mass, s) = (node.mass, node.log_life);
        let (mut lambda, mut mixed, mut epsilon) = (-s * by_v, 0.0, 0.0);
        for (k, chance) in node.chances.iter().enumerate() {
            let row = &mut self.second[k];
            row[k] += mass * chance.by_v_v;
            for (slot, other) in row.iter_mut().zip(node.chances).skip(k + 1) {
                *slot += mass * chance.by_v * other.by_v;
            }
            let with_v = chance.by_v_v + chance.by_v * (by_v - chance.by_v);
            let with_eye = chance.by_v_eye + chance.by_v * (by_eye - chance.by_eye);
            row[LAMBDA] -= mass * s * with_v;
            row[EPSILON] += mass * with_eye;
            lambda += s * s * with_v;
            mixed -= s * with_eye;
            epsilon += chance.by_eye_eye + chance.by_eye * (by_eye - chance.by_eye);
        }
        self.second[LAMBDA][LAMBDA] += mass * lambda;
        self.second[LAMBDA][EPSILON] += mass * mixed;
        self.second[EPSILON][EPSILON] += mass * epsilon;
    }

    /// Adds the derivatives of `sign x ln(mass)`.
    fn add_derivatives(&self, local: &mut Local, looks: &[(usize, Glance)], sign: f64) {
        let ages = looks.iter().map(|(age, _)| *age).enumerate();
        let habits = [(LAMBDA, local.lambda()), (EPSILON, local.epsilon())];
        let places: Vec<(usize, usize)> = ages.chain(habits).collect();
        let mean = |place: usize| self.first[place] / self.mass;
        for &(from, to) in &places {
            local.gradient[to] += sign * mean(from);
        }
        if local.order() < Order::Hessian {
            return;
        }
        for &(i, row) in &places {
            for &(j, column) in &places {
                let second = self.second[i.min(j)][i.max(j)] / self.mass;
                local.add_bend(row, column, sign * (second - mean(i) * mean(j)));
            }
        }
    }
}
