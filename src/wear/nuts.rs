//! Sampling the posterior by the No-U-Turn Sampler (Hoffman and Gelman, 2014), where the normal
//! approximation is not good enough.
//!
//! The sampler walks in coordinates in which the approximation is standard normal given typical spreads, and
//! for each spread in the normal score of the share of its prior that lies below.
//!
//! A group effect is `b = p x (spread / typical spread)^(1 - c)`, with `p` the coordinate and `c` between 0
//! and 1 the share of its precision that comes from data: where data say little (`c` near 0) no funnel opens
//! at small spreads, where they say much no banana does at large ones (partial non-centring: Papaspiliopoulos,
//! Roberts and Skoeld, Statistical Science 22, 2007).

mod course;

use super::WearError;
use super::density::{LogPosterior, Parameters, WearDensity};
use super::generator::seeded_stream;
use super::nested::{Conditional, Nested};
use super::sample::Draw;
use crate::numerics::normal;
use course::Course;
use nalgebra::DVector;
use nuts_rs::{CpuLogpFunc, CpuMathError, HasDims, LogpError};
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, AtomicUsize};

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

/// Shares of proposals that the step is tuned to accept: at first the usual one (common practice); where the path was
/// lost, with shorter steps once more, and again.
const ACCEPTED: [f64; 3] = [0.8, 0.95, 0.99];

/// Starts that are tried; the last is a hair from the middle.
const MOST_STARTS: usize = 60;

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
    let from_data = nested.shares_from_data(density);
    let map = Map {
        density,
        conditional: &conditional,
        spreads: nested.spreads(),
        from_data: &from_data,
    };
    let told = AtomicUsize::new(0);
    let chains = |accept: f64, last: bool| {
        let lost = AtomicBool::new(false);
        let course = Course {
            map: &map,
            lengths,
            accept,
            lost: (!last).then_some(&lost),
            made: AtomicUsize::new(0),
            told: &told,
            done,
        };
        let chains = (0..lengths.chains as u64).into_par_iter();
        let walks = chains.map(|chain| course.walk(seeded_stream(seed, chain)));
        let walks = walks.collect::<Result<Vec<Walk>, WearError>>()?;
        Ok::<_, WearError>((!lost.into_inner()).then_some(walks))
    };
    let [quicker @ .., slowest] = ACCEPTED;
    for accept in quicker {
        if let Some(walks) = chains(accept, false)? {
            return Ok(walks);
        }
    }
    Ok(chains(slowest, true)?.unwrap_or_default())
}

/// From the sampler's coordinates to the model's.
#[derive(Clone, Copy)]
struct Map<'a> {
    density: &'a WearDensity,
    conditional: &'a Conditional,
    /// The spreads at which the approximation was made.
    spreads: &'a [f64],
    /// The share of each effect's precision that comes from data.
    from_data: &'a [f64],
}

/// A point in the coordinates that the density is written in.
struct Place {
    parameters: Parameters,
    spreads: Vec<Spread>,
}

/// One grouping's spread.
struct Spread {
    value: f64,
    /// The slope of its log by its score.
    log_slope: f64,
    /// The log of its ratio to the typical spread.
    log_ratio: f64,
}

impl Map<'_> {
    fn dimension(&self) -> usize {
        self.density.dimension() + self.spreads.len()
    }

    /// A point to start from: standard normal scores, drawn in towards the middle until the density is a
    /// number there.
    fn start(&self, random: &mut impl Rng) -> Vec<f64> {
        let normal = StandardNormal.sample_iter(random).take(self.dimension());
        let mut start: Vec<f64> = normal.collect();
        let mut gradient = vec![0.0; self.dimension()];
        for _ in 0..MOST_STARTS {
            let value = self.evaluate(&start, &mut gradient);
            if value.is_finite() && gradient.iter().all(|slope| slope.is_finite()) {
                break;
            }
            start.iter_mut().for_each(|score| *score *= 0.5);
        }
        start
    }

    fn place(&self, position: &[f64]) -> Place {
        let (whitened, scores) = position.split_at(self.density.dimension());
        let offset = self
            .conditional
            .factor
            .spread_out(&DVector::from_row_slice(whitened));
        let mut parameters = self
            .density
            .parameters((&self.conditional.mean + offset).as_slice());
        let priors = self.density.priors().spreads.iter().zip(self.spreads);
        let spreads: Vec<Spread> = priors
            .zip(scores)
            .map(|((prior, typical), score)| {
                let (value, slope) = prior.at_score(*score);
                Spread {
                    value,
                    log_slope: slope / value,
                    log_ratio: (value / typical).ln(),
                }
            })
            .collect();
        for (grouping, spread) in spreads.iter().enumerate() {
            for effect in self.density.effects().of_grouping(grouping) {
                parameters.effects[effect] *= self.stretch(effect, spread);
            }
        }
        Place {
            parameters,
            spreads,
        }
    }

    /// How much wider an effect is than at the typical spread.
    fn stretch(&self, effect: usize, spread: &Spread) -> f64 {
        ((1.0 - self.from_data[effect]) * spread.log_ratio).exp()
    }

    fn draw(&self, position: &[f64]) -> Draw {
        let place = self.place(position);
        Draw {
            shared: place.parameters.shared,
            effects: place.parameters.effects,
            spreads: place.spreads.iter().map(|spread| spread.value).collect(),
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
        for (grouping, spread) in place.spreads.iter().enumerate() {
            let score = position[dimension + grouping];
            value += normal::log_density(score);
            let mut by_log_spread = 0.0;
            for effect in effects.of_grouping(grouping) {
                let b = place.parameters.effects[effect];
                let moved = 1.0 - self.from_data[effect];
                let z = b / spread.value;
                // The prior of b, and the Jacobian from the coordinate to b.
                value += normal::log_density(z) - spread.value.ln() + moved * spread.log_ratio;
                let by_effect = slopes[free + effect] - z / spread.value;
                by_log_spread += moved * (by_effect * b + 1.0) + z * z - 1.0;
                by_point[effects.place(effect, free)] = by_effect * self.stretch(effect, spread);
            }
            gradient[dimension + grouping] = by_log_spread * spread.log_slope - score;
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

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::lives::Observation;
    use crate::quantities::MeterHours;
    use crate::wear::{
        Anchor, DensitySettings, EdgeRecord, EdgeRecords, Family, Grouping, HalfNormal,
        NormalPrior, Prior, Priors, Stretch,
    };

    /// Six edges on three machines, each of a known life.
    pub fn three_machines() -> WearDensity {
        let edge = |(i, hours): (usize, &f64)| EdgeRecord {
            stretches: vec![Stretch {
                start: 0.0,
                stop: *hours,
                parts: vec![(1.0, Vec::new())],
            }],
            groups: vec![Some(i % 3)],
            weight: 1.0,
            ..EdgeRecord::default()
        };
        let lives = [40.0, 52.0, 31.0, 47.0, 66.0, 38.0];
        let records = EdgeRecords {
            groupings: vec![Grouping {
                name: "machine".to_string(),
                levels: vec![String::new(); 3],
            }],
            edges: lives.iter().enumerate().map(edge).collect(),
            ..EdgeRecords::default()
        };
        let seen = lives.map(|hours| Observation::Exact(MeterHours::new(hours).expect("hours")));
        let normal = |mean, spread| Prior::Normal(NormalPrior::new(mean, spread).expect("a prior"));
        let priors = Priors {
            shared: vec![
                normal(3.8, 0.5),
                Prior::Flat,
                normal(-1.1, 0.3),
                Prior::Flat,
            ],
            spreads: vec![HalfNormal::new(0.2).expect("a scale")],
        };
        let settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Median);
        WearDensity::new(&records, &seen, settings, priors.of_bare_lives()).expect("a density")
    }

    #[test]
    fn the_gradient_agrees_with_differences() {
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a mode");
        let conditional = nested
            .conditional(&density, nested.spreads())
            .expect("a top");
        let from_data = nested.shares_from_data(&density);
        let map = Map {
            density: &density,
            conditional: &conditional,
            spreads: nested.spreads(),
            from_data: &from_data,
        };
        let position = [0.3, -0.8, 0.5, 1.1, -0.4, 0.7];
        let mut gradient = [0.0; 6];
        map.evaluate(&position, &mut gradient);
        for i in 0..position.len() {
            let at = |step: f64| {
                let mut moved = position;
                moved[i] += step;
                map.evaluate(&moved, &mut [0.0; 6])
            };
            let difference = (at(1e-5) - at(-1e-5)) / 2e-5;
            assert!(
                (gradient[i] - difference).abs() < 1e-6,
                "{i}: {} for {difference}",
                gradient[i]
            );
        }
    }
}
