//! What the draws of a posterior say of each edge, and what they say of it without it.

use super::leave_one_out::{LeaveOneOut, Weights, log_sum};
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::sample::{Draw, Sample};
use rayon::prelude::*;

/// Every edge under every draw.
pub(super) struct Predicted {
    /// The draws' weights; they add up to one.
    pub weights: Vec<f64>,
    pub log_weights: Vec<f64>,
    /// Log-likelihood, edge by edge.
    pub by_edge: Vec<Vec<f64>>,
    /// The log of each bound's chance, bound by bound.
    pub log_chances: Vec<Vec<f64>>,
}

/// The chance of each bound of what was last seen, by the posterior without the edge itself.
pub(super) struct Foretold {
    pub left_out: LeaveOneOut,
    /// Bound by bound.
    pub chances: Vec<f64>,
}

pub(super) fn parameters(draw: &Draw) -> Parameters {
    Parameters {
        shared: draw.shared.clone(),
        effects: draw.effects.clone(),
    }
}

/// Rows turned to columns.
fn turned(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let columns = rows.first().map_or(0, Vec::len);
    let column = |j: usize| rows.iter().map(|row| row[j]).collect();
    (0..columns).into_par_iter().map(column).collect()
}

impl Predicted {
    /// The draws of `sample`, with the bounds' chances if `bounds`.
    pub fn new(density: &WearDensity, sample: &Sample, bounds: bool) -> Self {
        let draws: Vec<(&Draw, f64)> = sample.weighted_draws().collect();
        let rows: Vec<(Vec<f64>, Vec<f64>)> = draws
            .par_iter()
            .map(|(draw, _)| {
                let at = parameters(draw);
                let chances = if bounds {
                    density.log_chances(&at)
                } else {
                    Vec::new()
                };
                (density.log_likelihood_by_edge(&at), chances)
            })
            .collect();
        let weights: Vec<f64> = draws.iter().map(|(_, weight)| *weight).collect();
        let (by_edge, chances): (Vec<_>, Vec<_>) = rows.into_iter().unzip();
        Self {
            log_weights: weights.iter().map(|weight| weight.ln()).collect(),
            weights,
            by_edge: turned(&by_edge),
            log_chances: turned(&chances),
        }
    }

    pub fn leave_one_out(&self) -> (LeaveOneOut, Weights) {
        LeaveOneOut::with_weights(&self.log_weights, &self.by_edge)
    }

    /// The log predictive density of one edge, by draws of a posterior that never saw it.
    pub fn log_density_of(&self, edge: usize) -> f64 {
        let terms = self.log_weights.iter().zip(&self.by_edge[edge]);
        log_sum(terms.map(|(w, l)| w + l))
    }

    /// The mean chance of a bound under these weights.
    pub fn chance(&self, bound: usize, weights: &[f64]) -> f64 {
        let chances = self.log_chances[bound].iter().zip(weights);
        let mean: f64 = chances.map(|(log, weight)| weight * log.exp()).sum();
        mean.clamp(0.0, 1.0)
    }
}
