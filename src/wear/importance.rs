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
use crate::numerics::pareto;
use nalgebra::DVector;
use rand::Rng;
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Share of the draws that are made first, to see where the approximation stands beside the posterior.
const PILOT: f64 = 0.25;
/// Fewest of them.
const LEAST_PILOT: usize = 200;
/// The pilot's spreads may stretch the approximation by at most this much, and are widened by a little:
/// draws too far out cost weight, a tail that is missed costs the answer.
const STRETCH: std::ops::RangeInclusive<f64> = 1.0..=1.5;
const WIDENED: f64 = 1.05;
/// The widening holds for so many scores; where there are more it is thinned out, so that its cost in weight
/// does not grow with their number.
const WIDENED_SCORES: f64 = 40.0;
/// A score is shifted or stretched only where the pilot is off by more of its own standard errors.
const SURE: f64 = 1.0;

/// A draw with the log of its weight, and the scores that it was made of.
struct Weighed {
    draw: Draw,
    log_weight: f64,
    scores: DVector<f64>,
}

/// Draws with the logs of their weights.
pub struct Weighted {
    /// The draws.
    pub draws: Vec<Draw>,
    /// Log of posterior over proposed density, up to a constant; minus infinity where the posterior is no
    /// number.
    pub log_weights: Vec<f64>,
}

/// Where draws are made: the nested approximation, its normal laws shifted and stretched.
struct Proposal<'a> {
    density: &'a WearDensity,
    nested: &'a Nested,
    cumulative: Vec<f64>,
    /// By how many standard deviations each score is shifted.
    shift: DVector<f64>,
    /// By how much each is stretched.
    stretch: DVector<f64>,
}

/// `count` weighted draws; the same for the same seed, whatever the number of threads.
///
/// A pilot shows by how much the mean of each score is off and how far it spreads; the draws proper are
/// made around there (moment matching: Paananen, Piironen, Buerkner and Vehtari, Statistics and Computing
/// 31, 2021). Fewer come back where the approximation has no top for some spreads.
pub fn draws(density: &WearDensity, nested: &Nested, count: usize, seed: u64) -> Weighted {
    let mut proposal = Proposal::new(density, nested);
    let pilot = LEAST_PILOT.max((PILOT * count as f64) as usize);
    proposal.match_moments(&proposal.draws(pilot, seed, PILOT_STREAMS));
    let drawn = proposal.draws(count, seed, 0);
    Weighted {
        log_weights: drawn.iter().map(|drawn| drawn.log_weight).collect(),
        draws: drawn.into_iter().map(|drawn| drawn.draw).collect(),
    }
}

/// The pilot's streams of random numbers lie this far from those of the draws proper.
const PILOT_STREAMS: u64 = 1 << 32;

impl<'a> Proposal<'a> {
    fn new(density: &'a WearDensity, nested: &'a Nested) -> Self {
        let cumulative = nested.cells().iter().scan(0.0, |sum, cell| {
            *sum += cell.probability;
            Some(*sum)
        });
        Self {
            density,
            nested,
            cumulative: cumulative.collect(),
            shift: DVector::zeros(density.dimension()),
            stretch: DVector::from_element(density.dimension(), widened(density.dimension())),
        }
    }

    /// Shifts and stretches the scores to the mean and spread that weighted draws have.
    fn match_moments(&mut self, pilot: &[Weighed]) {
        let logs: Vec<f64> = pilot.iter().map(|drawn| drawn.log_weight).collect();
        let smoothed = pareto::smooth(&logs);
        if smoothed.k_hat.is_nan() {
            return;
        }
        let weights: Vec<f64> = smoothed.log_weights.iter().map(|log| log.exp()).collect();
        let effective = pareto::effective_draws(&smoothed.log_weights);
        let (of_mean, of_variance) = (effective.powf(-0.5), (2.0 / effective).sqrt());
        for i in 0..self.shift.len() {
            let scores = || pilot.iter().map(|drawn| drawn.scores[i]).zip(&weights);
            let mean: f64 = scores().map(|(score, weight)| score * weight).sum();
            let variance: f64 = scores().map(|(score, w)| w * (score - mean).powi(2)).sum();
            if mean.abs() > SURE * of_mean {
                self.shift[i] = mean;
            }
            if (variance - 1.0).abs() > SURE * of_variance {
                self.stretch[i] *= variance.sqrt().clamp(*STRETCH.start(), *STRETCH.end());
            }
        }
    }

    fn draws(&self, count: usize, seed: u64, first_stream: u64) -> Vec<Weighed> {
        let pairs = count.div_ceil(2);
        let mut draws: Vec<Weighed> = (0..pairs)
            .into_par_iter()
            .map(|pair| {
                let mut random = seeded_stream(seed, first_stream + pair as u64);
                // One cell for each even step, so that the design is met in proportion.
                let step = (pair as f64 + random.random::<f64>()) / pairs as f64;
                let cell = self.cumulative.partition_point(|&sum| sum < step);
                let cells = self.nested.cells();
                self.mirrored(&cells[cell.min(cells.len() - 1)], &mut random)
            })
            .flatten_iter()
            .collect();
        draws.truncate(count);
        draws
    }

    /// Two draws that mirror each other around the middle of the proposal, their spreads around the middle of
    /// the cell.
    fn mirrored(&self, cell: &Cell, random: &mut impl Rng) -> Vec<Weighed> {
        let within: Vec<f64> = cell.shares.iter().map(|_| random.random()).collect();
        let mirrored: Vec<f64> = within.iter().map(|part| 1.0 - part).collect();
        let dimension = self.density.dimension();
        let normal = StandardNormal.sample_iter(random).take(dimension);
        let offset = DVector::from_iterator(dimension, normal);
        let pair = [(within, offset.clone()), (mirrored, -offset)];
        let draws = pair
            .iter()
            .map(|(within, offset)| self.weighed(cell, within, offset));
        draws.collect::<Option<Vec<_>>>().unwrap_or_default()
    }

    /// One draw; `None` where the approximation has no top for its spreads.
    fn weighed(&self, cell: &Cell, within: &[f64], offset: &DVector<f64>) -> Option<Weighed> {
        let spreads = self.nested.spreads_at(cell, within);
        let conditional = self.nested.conditional(self.density, &spreads)?;
        // The log density of the proposal, with spreads counted by shares of their priors.
        let log_proposed = cell.probability.ln() - cell.prior().ln()
            + 0.5 * conditional.factor.log_determinant()
            - self.stretch.iter().map(|stretch| stretch.ln()).sum::<f64>()
            - 0.5 * offset.norm_squared()
            - self.density.dimension() as f64 * LOG_SQRT_TWO_PI;
        let scores = &self.shift + self.stretch.component_mul(offset);
        let point = &conditional.mean + conditional.factor.spread_out(&scores);
        let log_weight = self.density.value(point.as_slice(), &spreads) - log_proposed;
        let parameters = self.density.parameters(point.as_slice());
        Some(Weighed {
            draw: Draw {
                shared: parameters.shared,
                effects: parameters.effects,
                spreads,
            },
            // Where the density is no number it is not likely either.
            log_weight: if log_weight.is_nan() {
                f64::NEG_INFINITY
            } else {
                log_weight
            },
            scores,
        })
    }
}

fn widened(scores: usize) -> f64 {
    WIDENED.powf((WIDENED_SCORES / scores as f64).sqrt().min(1.0))
}
