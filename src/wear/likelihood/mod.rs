//! What each edge contributes to the log-likelihood, with gradient and Hessian.
//!
//! | seen | contribution |
//! | --- | --- |
//! | dull at exactly `t` | `ln f(u(t)) + ln r(t)`; the wear rate `r` at that moment is the Jacobian |
//! | not dull by `t` | `ln S(u(t))` |
//! | dull within `(a, b]` | `ln(S(u(a)) - S(u(b)))` |
//! | dull by `t` | `ln F(u(t))` |
//! | looked at | `ln` of the integral over life of the product of `P(look given u/T)` |
//!
//! Left truncation at `e` divides by `S(u(e))`; for edges known through somebody's eye it divides by
//! the chance that nobody had called the edge by then.

mod compile;
mod local;
mod looked;
mod seen;

use super::eye::Glance;
use super::life_distribution::Family;
use super::parameters::Layout;
use super::wear_sum::{CovariateRows, WearSum, WearSumAt};
use crate::numerics::newton::Quadratic;
pub use compile::{Habits, compile};
use local::{Local, LocalPoint};
use nalgebra::DMatrix;

/// One piece of an edge's log-likelihood; numbers are indices of the edge's wear sums.
#[derive(Debug, Clone, PartialEq)]
pub enum Term {
    /// Not dull by this age.
    NotDullBy(usize),
    /// Not dull over the stretch `(start, gained)`, given not dull at its start.
    NotDullOver((usize, usize)),
    /// Dull by this age.
    DullBy(usize),
    /// Dull within the stretch `(start, gained)`, given not dull at its start.
    DullWithin((usize, usize)),
    /// Dull at this very age, given not dull before.
    DullAt(usize),
    /// Looks, each at its age; `sign` -1 divides by them.
    LookedAt {
        /// Age and what was seen.
        looks: Vec<(usize, Glance)>,
        /// 1 or -1.
        sign: f64,
    },
    /// `factor x ln u` of this sum: part of a Jacobian.
    LogSum {
        /// Which sum.
        sum: usize,
        /// 1 or -1.
        factor: f64,
    },
}

/// One edge (or one row of a life table) as the likelihood sees it.
#[derive(Debug, Clone)]
pub struct EdgeTerms {
    /// The wear sums that the terms speak of.
    pub sums: Vec<WearSum>,
    /// Covariates `z` of log life.
    pub features: Vec<f64>,
    /// The pieces.
    pub terms: Vec<Term>,
    /// How many times this very edge was seen.
    pub weight: f64,
}

/// What the likelihood needs besides the parameters.
#[derive(Debug, Clone, Copy)]
pub struct LikelihoodSettings {
    /// Family of life distributions.
    pub family: Family,
    /// Standardised log life for which the location stands.
    pub anchor: f64,
    /// The grader's error on log wear fraction.
    pub eye_error: f64,
}

/// Sum over `edges` of the log-likelihood at `theta`, with derivatives.
pub fn log_likelihood(
    edges: &[EdgeTerms],
    rows: &CovariateRows,
    layout: &Layout,
    settings: LikelihoodSettings,
    theta: &[f64],
) -> Quadratic {
    let mut total = Quadratic::zero(layout.dimension());
    let log_rates = rows.log_rates(&theta[layout.rates()]);
    for edge in edges {
        add_edge(&mut total, edge, rows, layout, settings, theta, &log_rates);
    }
    total
}

fn add_edge(
    total: &mut Quadratic,
    edge: &EdgeTerms,
    rows: &CovariateRows,
    layout: &Layout,
    settings: LikelihoodSettings,
    theta: &[f64],
    log_rates: &[f64],
) {
    let sums: Vec<WearSumAt> = edge
        .sums
        .iter()
        .map(|sum| sum.at(rows, log_rates))
        .collect();
    let shift: f64 = edge
        .features
        .iter()
        .zip(&theta[layout.features()])
        .map(|(z, g)| z * g)
        .sum();
    let location = theta[layout.location()] + shift;
    let sigma = theta[layout.log_sigma()].exp();
    let point = LocalPoint {
        ages: sums.iter().map(|sum| sum.value - location).collect(),
        sigma,
        anchor: settings.anchor,
    };
    let mut local = Local::zero(sums.len());
    for term in &edge.terms {
        match term {
            Term::NotDullBy(age) => seen::not_dull_by(&mut local, &point, settings.family, *age),
            Term::NotDullOver(stretch) => {
                seen::not_dull_over(&mut local, &point, settings.family, *stretch)
            }
            Term::DullBy(age) => seen::dull_by(&mut local, &point, settings.family, *age),
            Term::DullWithin(stretch) => {
                seen::dull_within(&mut local, &point, settings.family, *stretch)
            }
            Term::DullAt(age) => seen::dull_at(&mut local, &point, settings.family, *age),
            Term::LookedAt { looks, sign } => {
                looked::looked_at(
                    &mut local,
                    &point,
                    settings.family,
                    looks,
                    settings.eye_error,
                    *sign,
                );
            }
            Term::LogSum { sum, factor } => {
                add_log_sum(total, &sums[*sum], factor * edge.weight, layout)
            }
        }
    }
    chain(total, &local, &sums, edge, layout);
}

/// Adds `factor ln u(beta)`, which knows nothing of location and spread.
fn add_log_sum(total: &mut Quadratic, sum: &WearSumAt, factor: f64, layout: &Layout) {
    total.value += factor * sum.value;
    let first = layout.rates().start;
    for i in 0..sum.mean.len() {
        total.gradient[first + i] += factor * sum.mean[i];
        for j in 0..sum.mean.len() {
            total.hessian[(first + i, first + j)] += factor * sum.covariance[(i, j)];
        }
    }
}

/// The chain rule from local coordinates to the parameters: `v_k = ln u_k(beta) - m - z . gamma`.
fn chain(
    total: &mut Quadratic,
    local: &Local,
    sums: &[WearSumAt],
    edge: &EdgeTerms,
    layout: &Layout,
) {
    let jacobian = jacobian(sums, edge, layout);
    total.value += edge.weight * local.value;
    total
        .gradient
        .gemv(edge.weight, &jacobian, &local.gradient, 1.0);
    let half = &jacobian * &local.hessian;
    total
        .hessian
        .gemm(edge.weight, &half, &jacobian.transpose(), 1.0);
    let rates = layout.rates();
    for (sum, slope) in sums.iter().zip(local.gradient.iter()) {
        for i in 0..rates.len() {
            for j in 0..rates.len() {
                total.hessian[(rates.start + i, rates.start + j)] +=
                    edge.weight * slope * sum.covariance[(i, j)];
            }
        }
    }
}

/// Derivatives of the local coordinates (columns) by the parameters (rows).
fn jacobian(sums: &[WearSumAt], edge: &EdgeTerms, layout: &Layout) -> DMatrix<f64> {
    let mut jacobian = DMatrix::zeros(layout.dimension(), sums.len() + 1);
    for (k, sum) in sums.iter().enumerate() {
        jacobian[(layout.location(), k)] = -1.0;
        for (i, z) in layout.features().zip(&edge.features) {
            jacobian[(i, k)] = -z;
        }
        for (i, x) in layout.rates().zip(sum.mean.iter()) {
            jacobian[(i, k)] = *x;
        }
    }
    jacobian[(layout.log_sigma(), sums.len())] = 1.0;
    jacobian
}
