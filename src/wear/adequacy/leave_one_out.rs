//! How well each edge is foretold by the others, without fitting anew.
//!
//! Sources: Vehtari, Gelman and Gabry, Practical Bayesian model evaluation using leave-one-out
//! cross-validation and WAIC, Statistics and Computing 27, 2017; Vehtari, Simpson, Gelman, Yao and Gabry,
//! Pareto smoothed importance sampling, Journal of Machine Learning Research 25(72), 2024; for draws that
//! have weights of their own Magnusson, Andersen, Jonasson and Vehtari, ICML 2019.

use crate::numerics::lanes::log_sum_exp;
use crate::numerics::pareto::{largest_trusted_shape, smooth};
use rayon::prelude::*;
use serde::Serialize;

/// One edge foretold by the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LeftOut {
    /// The log of the predictive density of what was seen of it.
    pub log_density: f64,
    /// Shape of the tail of the weights that stand for the posterior without it; no number can be shown
    /// for minus infinity, all weights being equal.
    pub k_hat: f64,
    /// Whether the model was fitted anew without it, because that tail was too heavy.
    pub fitted_anew: bool,
}

/// All edges, each foretold by the others.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeaveOneOut {
    /// The sum of the log predictive densities: larger foretells better.
    pub log_density: f64,
    /// Its standard error: root of the number of edges times the spread among them.
    pub standard_error: f64,
    /// By how much the edges themselves are fitted better than foretold: about the number of parameters
    /// that they decide.
    pub effective_parameters: f64,
    /// The largest shape that can be trusted with this many draws; 0.7 from 2,200 draws on.
    pub trusted: f64,
    /// Edge by edge.
    pub edges: Vec<LeftOut>,
    /// The log predictive density of each edge by all, itself among them.
    #[serde(skip)]
    fitted: Vec<f64>,
}

/// The posterior without each edge in turn: for each edge the draws' weights, which add up to one.
pub(super) type Weights = Vec<Vec<f64>>;

impl LeaveOneOut {
    /// From the logs of the draws' weights and each edge's log-likelihood over the draws.
    ///
    /// The weights without edge `i` are `w / p(y_i | draw)`, Pareto-smoothed. Each row of `by_edge` has as
    /// many numbers as there are weights; weights need not be normalised, zeros where draws weigh the same.
    pub fn new(log_weights: &[f64], by_edge: &[Vec<f64>]) -> Self {
        let mut all = Self::none(log_weights.len());
        all.see(log_weights, by_edge);
        all.add_up();
        all
    }

    /// No edge yet, of so many draws.
    pub(super) fn none(draws: usize) -> Self {
        Self {
            log_density: 0.0,
            standard_error: 0.0,
            effective_parameters: 0.0,
            trusted: largest_trusted_shape(draws),
            edges: Vec::new(),
            fitted: Vec::new(),
        }
    }

    /// Adds edges, as [`LeaveOneOut::new`] has them, and says how the draws weigh without each. Sums over edges are
    /// those of [`LeaveOneOut::add_up`].
    pub(super) fn see(&mut self, log_weights: &[f64], by_edge: &[Vec<f64>]) -> Weights {
        let total = log_sum_exp(log_weights);
        let fitted = |edge: &[f64]| {
            let both = log_weights.iter().zip(edge);
            log_sum_exp(&both.map(|(w, l)| w + l).collect::<Vec<f64>>()) - total
        };
        let left_out: Vec<(LeftOut, f64, Vec<f64>)> = by_edge
            .par_iter()
            .map(|edge| {
                let (left_out, weights) = left_out(log_weights, edge);
                (left_out, fitted(edge), weights)
            })
            .collect();
        let each = left_out.into_iter().map(|(left_out, fitted, weights)| {
            self.edges.push(left_out);
            self.fitted.push(fitted);
            weights
        });
        each.collect()
    }

    /// The sums over edges.
    pub(super) fn add_up(&mut self) {
        let densities: Vec<f64> = self.edges.iter().map(|edge| edge.log_density).collect();
        (self.log_density, self.standard_error) = sum_with_error(&densities);
        self.effective_parameters = self.fitted.iter().sum::<f64>() - self.log_density;
    }

    /// What a fit without this edge foretells for it.
    pub(super) fn replace(&mut self, edge: usize, log_density: f64) {
        self.edges[edge].log_density = log_density;
        self.edges[edge].fitted_anew = true;
    }

    /// The edges whose weights cannot be trusted.
    pub fn doubtful(&self) -> Vec<usize> {
        let edges = self.edges.iter().enumerate();
        let doubtful = |edge: &LeftOut| {
            !edge.fitted_anew && (edge.k_hat > self.trusted || edge.k_hat.is_nan())
        };
        edges
            .filter(|(_, edge)| doubtful(edge))
            .map(|(number, _)| number)
            .collect()
    }

    /// By how much these edges are foretold better than by another law, with the standard error of the
    /// difference, edge by edge.
    pub fn better_than(&self, other: &Self) -> (f64, f64) {
        let pairs = self.edges.iter().zip(&other.edges);
        let differences: Vec<f64> = pairs
            .map(|(ours, theirs)| ours.log_density - theirs.log_density)
            .collect();
        sum_with_error(&differences)
    }
}

fn left_out(log_weights: &[f64], by_draw: &[f64]) -> (LeftOut, Vec<f64>) {
    let ratios: Vec<f64> = log_weights
        .iter()
        .zip(by_draw)
        // A draw without weight has none without the edge either, however unlikely the edge.
        .map(|(w, l)| if *w == f64::NEG_INFINITY { *w } else { w - l })
        .collect();
    let smoothed = smooth(&ratios);
    let terms = smoothed.log_weights.iter().zip(by_draw);
    let terms = terms.filter(|(w, _)| **w > f64::NEG_INFINITY);
    let edge = LeftOut {
        log_density: log_sum_exp(&terms.map(|(w, l)| w + l).collect::<Vec<f64>>()),
        k_hat: smoothed.k_hat,
        fitted_anew: false,
    };
    let weights = smoothed.log_weights.iter().map(|log| log.exp()).collect();
    (edge, weights)
}

/// The sum of `n` values and `sqrt(n)` times their standard deviation (of the values as they are, divided by
/// `n`).
fn sum_with_error(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let sum: f64 = values.iter().sum();
    let squares = values.iter().map(|value| (value - sum / count).powi(2));
    (sum, squares.sum::<f64>().sqrt())
}
