//! Edges known only through somebody's eye: the moment of going dull is integrated out.

use super::local::{Local, LocalPoint};
use crate::wear::eye::Glance;
use crate::wear::life_distribution::{Family, LifeDistribution};
use crate::wear::life_nodes::{self, Node};

/// Nodes whose weight cannot reach this far below the largest are left out: `ln 1e-16`.
const NEGLIGIBLE: f64 = -37.0;

/// Where minus the second derivative of the log density exceeds this the coarsest step is too wide: the
/// Weibull's density falls off doubly exponentially in its upper tail.
const SHARP: f64 = 4.0;

/// One node of the integral: log of its mass, and for each look the slope and bend by log fraction.
struct Mass {
    log: f64,
    /// Standardised log life.
    w: f64,
    /// `sigma (W - anchor)`, the log of life over typical life.
    log_life: f64,
    slopes: Vec<f64>,
    bends: Vec<f64>,
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
    eye_error: f64,
    sign: f64,
) {
    let masses = gather(point, family, looks, eye_error);
    let largest = masses
        .iter()
        .map(|m| m.log)
        .fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = masses.iter().map(|m| (m.log - largest).exp()).sum();
    let log_total = largest + total.ln();
    local.value += sign * log_total;

    // Local coordinates of this term: one per look, then lambda.
    let size = looks.len() + 1;
    let lambda = looks.len();
    let slope_by_lambda = |m: &Mass| -m.log_life * m.slopes.iter().sum::<f64>();
    let mut mean = vec![0.0; size];
    for m in &masses {
        let share = (m.log - log_total).exp();
        for (mean, slope) in mean.iter_mut().zip(&m.slopes) {
            *mean += share * slope;
        }
        mean[lambda] += share * slope_by_lambda(m);
    }
    let mut second = vec![vec![0.0; size]; size];
    for m in &masses {
        let share = (m.log - log_total).exp();
        let offset: Vec<f64> = m
            .slopes
            .iter()
            .copied()
            .chain([slope_by_lambda(m)])
            .zip(&mean)
            .map(|(g, mean)| g - mean)
            .collect();
        for (row, a) in second.iter_mut().zip(&offset) {
            for (cell, b) in row.iter_mut().zip(&offset) {
                *cell += share * a * b;
            }
        }
        for (k, bend) in m.bends.iter().enumerate() {
            second[k][k] += share * bend;
            second[k][lambda] -= share * m.log_life * bend;
            second[lambda][k] -= share * m.log_life * bend;
            second[lambda][lambda] += share * m.log_life * m.log_life * bend;
        }
        second[lambda][lambda] += share * slope_by_lambda(m);
    }

    let places: Vec<usize> = looks
        .iter()
        .map(|(age, _)| *age)
        .chain([point.ages.len()])
        .collect();
    for (i, &row) in places.iter().enumerate() {
        local.gradient[row] += sign * mean[i];
        for (j, &column) in places.iter().enumerate() {
            local.hessian[(row, column)] += sign * second[i][j];
        }
    }
}

/// Evaluates the integrand at nodes fine enough for the looks and, far out in a tail, for the law itself.
fn gather(
    point: &LocalPoint,
    family: Family,
    looks: &[(usize, Glance)],
    eye_error: f64,
) -> Vec<Mass> {
    // Several looks together see more sharply than one.
    let kernel = eye_error / (point.sigma * (looks.len() as f64).sqrt());
    let masses = gather_at(point, family, looks, eye_error, kernel);
    let peak = masses
        .iter()
        .max_by(|a, b| a.log.total_cmp(&b.log))
        .map_or(0.0, |mass| mass.w);
    let bend = -family.log_density_bend(peak);
    if bend < SHARP {
        return masses;
    }
    gather_at(
        point,
        family,
        looks,
        eye_error,
        (kernel.powi(-2) + bend).sqrt().recip(),
    )
}

/// Evaluates the nodes from the middle outwards until none further can matter.
fn gather_at(
    point: &LocalPoint,
    family: Family,
    looks: &[(usize, Glance)],
    eye_error: f64,
    kernel: f64,
) -> Vec<Mass> {
    let most: f64 = looks.iter().map(|(_, glance)| glance.most(eye_error)).sum();
    let mut masses = Vec::with_capacity(160);
    let mut largest = f64::NEG_INFINITY;
    let nodes = life_nodes::nodes(family, kernel);
    for side in [&nodes.above, &nodes.below] {
        for node in side {
            if node.log_weight + most < largest + NEGLIGIBLE {
                break;
            }
            let mass = at_node(point, looks, eye_error, *node);
            largest = largest.max(mass.log);
            masses.push(mass);
        }
    }
    masses.retain(|mass| mass.log > largest + NEGLIGIBLE);
    masses
}

fn at_node(point: &LocalPoint, looks: &[(usize, Glance)], eye_error: f64, node: Node) -> Mass {
    let log_life = point.sigma * (node.w - point.anchor);
    let mut mass = Mass {
        log: node.log_weight,
        w: node.w,
        log_life,
        slopes: Vec::with_capacity(looks.len()),
        bends: Vec::with_capacity(looks.len()),
    };
    for &(age, glance) in looks {
        let seen = glance.log_probability(point.ages[age] - log_life, eye_error);
        mass.log += seen.value;
        mass.slopes.push(seen.first);
        mass.bends.push(seen.second);
    }
    mass
}
