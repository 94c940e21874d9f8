//! Draws from the nested Laplace approximation, each weighed by how much more likely the posterior itself
//! holds it.
//!
//! Weights are Pareto-smoothed (Vehtari, Simpson, Gelman, Yao and Gabry, 2024); the shape of their tail,
//! `k-hat`, tells whether the weighted draws can be trusted.

use super::density::{LogPosterior, WearDensity};
use super::generator::seeded_stream;
use super::nested::{Cell, Nested};
use super::sample::Draw;
use crate::numerics::normal::LOG_SQRT_TWO_PI;
use nalgebra::DVector;
use rand::Rng;
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// A draw with the log of its weight.
type Weighed = (Draw, f64);

/// `count` weighted draws; the same for the same seed, whatever the number of threads.
pub fn draws(density: &WearDensity, nested: &Nested, count: usize, seed: u64) -> Vec<Weighed> {
    let pairs = count.div_ceil(2);
    let cumulative: Vec<f64> = nested
        .cells()
        .iter()
        .scan(0.0, |sum, cell| {
            *sum += cell.probability;
            Some(*sum)
        })
        .collect();
    let mut draws: Vec<Weighed> = (0..pairs)
        .into_par_iter()
        .map(|pair| {
            let mut random = seeded_stream(seed, pair as u64);
            // One cell for each even step, so that the design is met in proportion.
            let step = (pair as f64 + random.random::<f64>()) / pairs as f64;
            let cell = cumulative.partition_point(|&sum| sum < step);
            let cell = &nested.cells()[cell.min(nested.cells().len() - 1)];
            mirrored(density, nested, cell, &mut random)
        })
        .flatten_iter()
        .collect();
    draws.truncate(count);
    draws
}

/// Two draws that mirror each other around the middle of the approximation.
fn mirrored(
    density: &WearDensity,
    nested: &Nested,
    cell: &Cell,
    random: &mut impl Rng,
) -> Vec<Weighed> {
    let within: Vec<f64> = cell.shares.iter().map(|_| random.random()).collect();
    let spreads = nested.spreads_at(cell, &within);
    let dimension = density.dimension();
    let scores = DVector::from_iterator(
        dimension,
        StandardNormal.sample_iter(random).take(dimension),
    );
    let Some(conditional) = nested.conditional(density, &spreads) else {
        return Vec::new();
    };
    let offset = conditional.factor.spread_out(&scores);
    // The log density of the approximation, with spreads counted by shares of their priors.
    let log_proposed = cell.probability.ln() - cell.prior().ln()
        + 0.5 * conditional.factor.log_determinant()
        - 0.5 * scores.norm_squared()
        - dimension as f64 * LOG_SQRT_TWO_PI;
    [1.0, -1.0]
        .map(|sign| {
            let point = &conditional.mean + sign * &offset;
            let weight = density.value(point.as_slice(), &spreads) - log_proposed;
            let parameters = density.parameters(point.as_slice());
            let draw = Draw {
                shared: parameters.shared,
                effects: parameters.effects,
                spreads: spreads.clone(),
            };
            (draw, weight)
        })
        .into()
}
