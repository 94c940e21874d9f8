//! Sampling the posterior by the No-U-Turn Sampler (Hoffman and Gelman, 2014), where the normal
//! approximation is not good enough.
//!
//! The sampler walks in coordinates in which the approximation is standard normal: parameters and the
//! scores `z` of group effects (`b = spread x z`, so that no funnel opens where a spread is small), and for
//! each spread the normal score of the share of its prior that lies below.

use super::WearError;
use super::density::{LogPosterior, Parameters, WearDensity};
use super::generator::seeded_stream;
use super::nested::{Conditional, Nested};
use super::sample::Draw;
use crate::numerics::normal;
use nalgebra::DVector;
use nuts_rs::{
    Chain, CpuLogpFunc, CpuMath, CpuMathError, DiagNutsSettings, HasDims, LogpError, Settings,
};
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;
use std::collections::HashMap;

/// How long the sampler runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChainLengths {
    /// Independent chains.
    pub chains: usize,
    /// Draws kept of each.
    pub draws: usize,
    /// Draws before them, in which the sampler finds its step.
    pub tuning: usize,
}

impl Default for ChainLengths {
    /// Four chains of 1,000 draws, after 500 to tune.
    fn default() -> Self {
        Self {
            chains: 4,
            draws: 1000,
            tuning: 500,
        }
    }
}

impl ChainLengths {
    /// Draws in all, tuning included.
    pub fn total(&self) -> usize {
        self.chains * (self.draws + self.tuning)
    }
}

/// One chain's draws, and how many of its steps went astray.
pub struct Walk {
    /// The draws kept.
    pub draws: Vec<Draw>,
    /// Of those, steps on which the sampler lost the path.
    pub divergences: usize,
}

/// Runs the chains; `done` is told of draws as they are made. The same seed gives the same draws,
/// whatever the number of threads.
///
/// # Errors
///
/// [`WearError::Sampler`] where a chain could not start or broke off.
pub fn sample(
    density: &WearDensity,
    nested: &Nested,
    lengths: ChainLengths,
    seed: u64,
    done: &(dyn Fn(usize) + Sync),
) -> Result<Vec<Walk>, WearError> {
    let conditional =
        nested
            .conditional(density, nested.spreads())
            .ok_or(WearError::NotSettled {
                iterations: nested.iterations(),
            })?;
    let map = Map {
        density,
        conditional: &conditional,
        spreads: nested.spreads(),
    };
    (0..lengths.chains)
        .into_par_iter()
        .map(|chain| walk(&map, lengths, seed, chain as u64, done))
        .collect()
}

fn walk(
    map: &Map,
    lengths: ChainLengths,
    seed: u64,
    chain: u64,
    done: &(dyn Fn(usize) + Sync),
) -> Result<Walk, WearError> {
    let broken = |error: &dyn std::fmt::Display| WearError::Sampler(error.to_string());
    let mut settings = DiagNutsSettings::default();
    settings.num_tune = lengths.tuning as u64;
    settings.num_draws = lengths.draws as u64;
    let mut random = seeded_stream(seed, chain);
    let start: Vec<f64> = StandardNormal
        .sample_iter(&mut random)
        .take(map.dimension())
        .collect();
    let math = CpuMath::new(*map);
    let mut sampler = settings
        .new_chain(chain, math, &mut random)
        .map_err(|error| broken(&error))?;
    sampler
        .set_position(&start)
        .map_err(|error| broken(&error))?;
    let mut walk = Walk {
        draws: Vec::with_capacity(lengths.draws),
        divergences: 0,
    };
    for step in 0..lengths.tuning + lengths.draws {
        let (position, progress) = sampler.draw().map_err(|error| broken(&error))?;
        done(1);
        if step >= lengths.tuning {
            walk.divergences += usize::from(progress.diverging);
            walk.draws.push(map.draw(&position));
        }
    }
    Ok(walk)
}

/// From the sampler's coordinates to the model's.
#[derive(Clone, Copy)]
struct Map<'a> {
    density: &'a WearDensity,
    conditional: &'a Conditional,
    /// The spreads at which the approximation was made.
    spreads: &'a [f64],
}

/// A point in all the coordinates that the density is written in.
struct Place {
    parameters: Parameters,
    /// Scores of the effects, grouping by grouping.
    scores: Vec<f64>,
    /// Each spread, and its slope by its score.
    spreads: Vec<(f64, f64)>,
}

impl Map<'_> {
    fn dimension(&self) -> usize {
        self.density.dimension() + self.spreads.len()
    }

    fn place(&self, position: &[f64]) -> Place {
        let (whitened, spread_scores) = position.split_at(self.density.dimension());
        let offset = self
            .conditional
            .factor
            .spread_out(&DVector::from_row_slice(whitened));
        let mut parameters = self
            .density
            .parameters((&self.conditional.mean + offset).as_slice());
        let priors = &self.density.priors().spreads;
        let spreads: Vec<(f64, f64)> = priors
            .iter()
            .zip(spread_scores)
            .map(|(prior, score)| prior.at_score(*score))
            .collect();
        let mut scores = vec![0.0; parameters.effects.len()];
        for (grouping, (spread, _)) in spreads.iter().enumerate() {
            for effect in self.density.effects().of_grouping(grouping) {
                scores[effect] = parameters.effects[effect] / self.spreads[grouping];
                parameters.effects[effect] = spread * scores[effect];
            }
        }
        Place {
            parameters,
            scores,
            spreads,
        }
    }

    fn draw(&self, position: &[f64]) -> Draw {
        let place = self.place(position);
        Draw {
            shared: place.parameters.shared,
            effects: place.parameters.effects,
            spreads: place
                .spreads
                .into_iter()
                .map(|(spread, _)| spread)
                .collect(),
        }
    }

    /// Log density at `position`, up to a constant, and its gradient.
    fn evaluate(&self, position: &[f64], gradient: &mut [f64]) -> f64 {
        let place = self.place(position);
        let (mut value, slopes) = self.density.slope(&place.parameters);
        let free = self.density.free().len();
        let dimension = self.density.dimension();
        let mut by_point = DVector::zeros(dimension);
        by_point.as_mut_slice()[..free].copy_from_slice(&slopes[..free]);
        let effects = self.density.effects();
        for (grouping, (spread, spread_slope)) in place.spreads.iter().enumerate() {
            let score = position[dimension + grouping];
            value += normal::log_density(score);
            let mut by_spread = 0.0;
            for effect in effects.of_grouping(grouping) {
                let (z, slope) = (place.scores[effect], slopes[free + effect]);
                value += normal::log_density(z);
                by_spread += slope * z;
                by_point[effects.place(effect, free)] =
                    (slope * spread - z) / self.spreads[grouping];
            }
            gradient[dimension + grouping] = by_spread * spread_slope - score;
        }
        let whitened = self.conditional.factor.gather_back(&by_point);
        gradient[..dimension].copy_from_slice(whitened.as_slice());
        value
    }
}

/// The density is no number here; the sampler takes it for a wall.
#[derive(Debug, thiserror::Error)]
#[error("the density is not a number")]
struct NotANumber;

impl LogpError for NotANumber {
    fn is_recoverable(&self) -> bool {
        true
    }
}

impl HasDims for Map<'_> {
    fn dim_sizes(&self) -> HashMap<String, u64> {
        HashMap::from([(
            "unconstrained_parameter".to_string(),
            self.dimension() as u64,
        )])
    }
}

impl CpuLogpFunc for Map<'_> {
    type LogpError = NotANumber;
    type FlowParameters = ();
    type ExpandedVector = Vec<f64>;

    fn dim(&self) -> usize {
        self.dimension()
    }

    fn logp(&mut self, position: &[f64], gradient: &mut [f64]) -> Result<f64, NotANumber> {
        let value = self.evaluate(position, gradient);
        if value.is_finite() && gradient.iter().all(|slope| slope.is_finite()) {
            Ok(value)
        } else {
            Err(NotANumber)
        }
    }

    fn expand_vector<R: rand::Rng + ?Sized>(
        &mut self,
        _: &mut R,
        position: &[f64],
    ) -> Result<Vec<f64>, CpuMathError> {
        Ok(position.to_vec())
    }
}
