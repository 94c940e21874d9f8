//! Each edge's score as the edges before it foretell it.
//!
//! The model is fitted anew to the first few edges, to the first half as many again, and so on. The edges between
//! two fits are foretold by the draws of the earlier one, weighted by what was seen of the edges that came out in
//! between (Chopin, Biometrika 89, 2002), the weights Pareto-smoothed.

use super::{ScoreBounds, ends, score, with_unseen_groups};
use crate::lives::Observation;
use crate::numerics::pareto::{largest_trusted_shape, smooth};
use crate::wear::adequacy::predicted::parameters;
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::sample::{Draw, Method};
use crate::wear::{EdgeRecords, WearModel, WearPosterior};
use linfa::DatasetBase;
use rayon::prelude::*;
use std::ops::Range;

/// Draws of each fit. Basis: what they foretell errs by some 5 % of the spread between edges.
const DRAWS: usize = 300;

/// What a fit that failed says of an edge.
const NOTHING: ScoreBounds = ScoreBounds {
    low: f64::NEG_INFINITY,
    high: f64::INFINITY,
    rough: true,
};

impl WearModel {
    /// Every edge, in the order of the records.
    pub(super) fn ahead(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
        posterior: &WearPosterior,
        seed: u64,
    ) -> Vec<ScoreBounds> {
        let model = self
            .clone()
            .with(posterior.family(), Method::Laplace, DRAWS);
        let foretold: Vec<Vec<ScoreBounds>> = blocks(dataset.records().edges.len())
            .into_par_iter()
            .map(|block| {
                // Levels that come later keep their places, and their effects are what a new level's would be.
                let mut records = dataset.records().clone();
                records.edges.truncate(block.start);
                let seen = dataset
                    .targets()
                    .iter()
                    .take(block.start)
                    .cloned()
                    .collect();
                let data = DatasetBase::new(records, seen);
                match model.fit_telling(&data, &|_| {}) {
                    Ok(before) => block_ahead(posterior.density(), &before, block, seed),
                    Err(_) => vec![NOTHING; block.len()],
                }
            })
            .collect();
        foretold.concat()
    }
}

/// The edges between two fits: each fit has half as many edges again as the one before.
fn blocks(edges: usize) -> Vec<Range<usize>> {
    let mut blocks = Vec::new();
    let mut start = 0;
    while start < edges {
        let next = (start + 2).max(start + start / 2).min(edges);
        blocks.push(start..next);
        start = next;
    }
    blocks
}

/// The edges of a block, each foretold by those before the block and those before it in the block.
fn block_ahead(
    density: &WearDensity,
    before: &WearPosterior,
    block: Range<usize>,
    seed: u64,
) -> Vec<ScoreBounds> {
    let (draws, weights): (Vec<&Draw>, Vec<f64>) = before.sample().weighted_draws().unzip();
    let drawn: Vec<Parameters> = draws.iter().map(|draw| parameters(draw)).collect();
    let mut log_weights: Vec<f64> = weights.iter().map(|weight| weight.ln()).collect();
    let trusted = largest_trusted_shape(draws.len());
    let foretelling = with_unseen_groups(density, before.groupings(), &draws, seed);
    let first = block.start;
    block
        .map(|edge| {
            let smoothed = smooth(&log_weights);
            let weights: Vec<f64> = smoothed.log_weights.iter().map(|log| log.exp()).collect();
            let [low, high] = bounds(density, &foretelling, &weights, edge);
            for (log_weight, at) in log_weights.iter_mut().zip(&drawn) {
                *log_weight += density.log_likelihood_of(at, edge);
            }
            let rough = edge > first && (smoothed.k_hat > trusted || smoothed.k_hat.is_nan());
            ScoreBounds { low, high, rough }
        })
        .collect()
}

/// The scores between which one edge lies.
fn bounds(density: &WearDensity, draws: &[Parameters], weights: &[f64], edge: usize) -> [f64; 2] {
    let look = density.last_looks()[edge];
    let ends = ends(&look);
    let chances: Vec<Vec<f64>> = draws
        .iter()
        .map(|draw| density.log_chances(draw, &ends))
        .collect();
    let of = |bound: usize| {
        let place = ends.iter().position(|end| *end == bound)?;
        let column: Vec<f64> = chances.iter().map(|row| row[place]).collect();
        Some(score(&column, weights))
    };
    [
        look.high.and_then(of).unwrap_or(f64::NEG_INFINITY),
        look.low.and_then(of).unwrap_or(f64::INFINITY),
    ]
}
