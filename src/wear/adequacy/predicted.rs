//! What the draws of a posterior say of each edge, and what they say of it without it.

use super::leave_one_out::{LeaveOneOut, Weights};
use crate::numerics::lanes::log_sum_exp;
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::likelihood::LastLook;
use crate::wear::sample::{Draw, Sample};
use rayon::prelude::*;
use std::ops::Range;

/// Draws that are looked at; of more every so-manieth. Basis: log predictive densities err by a few
/// hundredths, their standard errors are tens of times as large.
pub(super) const DRAWS: usize = 1000;

/// Edges are looked at so many at a time, so that what every draw says of each need not be kept for all of a country's.
const TOGETHER: usize = 2048;

/// The draws that foretell edges.
pub(super) struct Predicted<'a> {
    density: &'a WearDensity,
    pub draws: Vec<&'a Draw>,
    /// The draws' weights; they add up to one.
    pub weights: Vec<f64>,
    log_weights: Vec<f64>,
}

/// The chances at both ends of what was last seen of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub low: f64,
    pub high: f64,
}

/// What an edge is foretold by draws that never saw it.
pub(super) struct Foretold {
    pub log_density: f64,
    pub span: Span,
}

pub(super) fn parameters(draw: &Draw) -> Parameters {
    Parameters {
        shared: draw.shared.clone(),
        effects: draw.effects.clone(),
    }
}

/// Rows turned to columns.
pub(super) fn turned(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let columns = rows.first().map_or(0, Vec::len);
    let column = |j: usize| rows.iter().map(|row| row[j]).collect();
    (0..columns).into_par_iter().map(column).collect()
}

impl<'a> Predicted<'a> {
    /// The draws of `sample` under `density`.
    pub fn new(density: &'a WearDensity, sample: &'a Sample) -> Self {
        let step = (sample.len() / DRAWS).max(1);
        Self::of(density, sample.weighted_draws().step_by(step))
    }

    /// These draws with their weights, which need not add up to one.
    pub fn of(density: &'a WearDensity, draws: impl Iterator<Item = (&'a Draw, f64)>) -> Self {
        let (draws, weights): (Vec<&Draw>, Vec<f64>) = draws.unzip();
        let total: f64 = weights.iter().sum();
        let weights: Vec<f64> = weights.iter().map(|weight| weight / total).collect();
        Self {
            density,
            log_weights: weights.iter().map(|weight| weight.ln()).collect(),
            draws,
            weights,
        }
    }

    /// Every edge as the others foretell it, and the span of its last look.
    pub fn edges(&self) -> (LeaveOneOut, Vec<Span>) {
        let mut spans = Vec::new();
        let left_out = self.each(|edges, weights| spans.extend(self.spans(edges, weights)));
        (left_out, spans)
    }

    /// Every edge as the others foretell it.
    pub fn leave_one_out(&self) -> LeaveOneOut {
        self.each(|_, _| {})
    }

    /// The same with the draws' weights without each edge: a number for each edge and draw.
    pub fn with_weights(&self) -> (LeaveOneOut, Weights) {
        let mut all = Weights::new();
        let left_out = self.each(|_, weights| all.extend(weights));
        (left_out, all)
    }

    /// Tells `see` of some edges at a time, with the draws' weights without each.
    fn each(&self, mut see: impl FnMut(Range<usize>, Weights)) -> LeaveOneOut {
        let edges = self.density.last_looks().len();
        let mut left_out = LeaveOneOut::none(self.draws.len());
        for first in (0..edges).step_by(TOGETHER) {
            let together = first..edges.min(first + TOGETHER);
            let weights = left_out.see(&self.log_weights, &self.by_edge(together.clone()));
            see(together, weights);
        }
        left_out.add_up();
        left_out
    }

    /// Log-likelihoods over the draws, edge by edge.
    fn by_edge(&self, edges: Range<usize>) -> Vec<Vec<f64>> {
        let all = edges.len() == self.density.last_looks().len();
        let edges: Vec<usize> = edges.collect();
        let row = |draw: &&Draw| {
            let at = parameters(draw);
            if all {
                self.density.log_likelihood_by_edge(&at)
            } else {
                self.density.log_likelihood_of(&at, &edges)
            }
        };
        let rows: Vec<Vec<f64>> = self.draws.par_iter().map(row).collect();
        turned(&rows)
    }

    /// The spans of these edges' last looks, each under weights of its own.
    fn spans(&self, edges: Range<usize>, weights: Weights) -> Vec<Span> {
        let looks = &self.density.last_looks()[edges];
        let bounds: Vec<usize> = looks.iter().flat_map(ends).collect();
        let chances = |draw: &&Draw| self.density.chances(&parameters(draw), &bounds);
        let rows: Vec<Vec<f64>> = self.draws.par_iter().map(chances).collect();
        let mut columns = turned(&rows).into_iter();
        let mut take = |weights: &[f64]| {
            let column = columns.next().unwrap_or_default();
            mean_chance(&column, weights)
        };
        let looks = looks.iter().zip(&weights);
        looks
            .map(|(look, weights)| {
                let chances: Vec<f64> = ends(look).iter().map(|_| take(weights)).collect();
                span(look, &chances)
            })
            .collect()
    }
}

/// What is foretold of one edge by draws that never saw it.
pub(super) fn foretold(density: &WearDensity, without: &Sample, edge: usize) -> Foretold {
    let look = density.last_looks()[edge];
    let bounds = ends(&look);
    let draws: Vec<(&Draw, f64)> = without.weighted_draws().collect();
    let seen: Vec<(f64, Vec<f64>)> = draws
        .par_iter()
        .map(|(draw, weight)| {
            let at = parameters(draw);
            let log = weight.ln() + density.log_likelihood_of(&at, &[edge])[0];
            (log, density.chances(&at, &bounds))
        })
        .collect();
    let (logs, rows): (Vec<f64>, Vec<Vec<f64>>) = seen.into_iter().unzip();
    let weights: Vec<f64> = draws.iter().map(|(_, weight)| *weight).collect();
    let columns = turned(&rows);
    let chances: Vec<f64> = columns.iter().map(|c| mean_chance(c, &weights)).collect();
    Foretold {
        log_density: log_sum_exp(&logs),
        span: span(&look, &chances),
    }
}

/// The bounds of what was seen, each once.
fn ends(look: &LastLook) -> Vec<usize> {
    let high = look.high.filter(|high| Some(*high) != look.low);
    look.low.into_iter().chain(high).collect()
}

/// From the chances of [`ends`].
fn span(look: &LastLook, chances: &[f64]) -> Span {
    let last = chances.last().copied();
    let low = look.low.and(chances.first().copied()).unwrap_or(0.0);
    let high = look.high.and(last).unwrap_or(1.0);
    // Two integrals, each rounded.
    Span {
        low,
        high: high.max(low),
    }
}

fn mean_chance(chances: &[f64], weights: &[f64]) -> f64 {
    let chances = chances.iter().zip(weights);
    let mean: f64 = chances.map(|(chance, weight)| weight * chance).sum();
    mean.clamp(0.0, 1.0)
}
