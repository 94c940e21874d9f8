//! Sampling the posterior by the No-U-Turn Sampler (Hoffman and Gelman, 2014), where the normal
//! approximation is not good enough.
//!
//! The sampler walks in coordinates in which the approximation is standard normal whatever the spreads are, and
//! for each spread in the normal score of the share of its prior that lies below.
//!
//! All other parameters move and narrow with the spreads as that approximation does: where data say little of an effect
//! no funnel opens at small spreads, where they say much no banana does at large ones (as partial non-centring is meant
//! to do effect by effect: Papaspiliopoulos, Roberts and Skoeld, Statistical Science 22, 2007), nor in what effects have
//! in common.

mod course;

use super::WearError;
use super::density::{LogPosterior, Parameters, WearDensity};
use super::generator::seeded_stream;
use super::nested::{Conditional, Nested};
use super::sample::Draw;
use crate::numerics::newton::Factor;
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
    let nested = nested.with_tops(density).ok_or(WearError::NotSettled {
        iterations: nested.iterations(),
    })?;
    let map = Map {
        density,
        nested: &nested,
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
    /// The approximation, with a top whatever the spreads.
    nested: &'a Nested,
}

/// A point in the coordinates that the density is written in.
struct Place {
    parameters: Parameters,
    spreads: Vec<Spread>,
    /// The approximation given the spreads.
    law: Conditional,
    /// The scores of all but the spreads.
    scores: DVector<f64>,
}

/// One grouping's spread.
struct Spread {
    value: f64,
    /// The slope of its log by its score.
    log_slope: f64,
}

impl Map<'_> {
    fn dimension(&self) -> usize {
        self.density.dimension() + self.density.priors().spreads.len()
    }

    /// A point to start from: standard normal scores, drawn in towards the middle until the density is a
    /// number there.
    fn start(&self, random: &mut impl Rng) -> Vec<f64> {
        let normal = StandardNormal.sample_iter(random).take(self.dimension());
        let mut start: Vec<f64> = normal.collect();
        let mut gradient = vec![0.0; self.dimension()];
        for _ in 0..MOST_STARTS {
            if self.clone().logp(&start, &mut gradient).is_ok() {
                break;
            }
            start.iter_mut().for_each(|score| *score *= 0.5);
        }
        start
    }

    /// `None` where a spread is no number.
    fn place(&self, position: &[f64]) -> Option<Place> {
        let (scores, of_spreads) = position.split_at(self.density.dimension());
        let spreads: Vec<Spread> = (self.density.priors().spreads.iter().zip(of_spreads))
            .map(|(prior, score)| {
                let (value, slope) = prior.at_score(*score);
                let log_slope = slope / value;
                Spread { value, log_slope }
            })
            .collect();
        let values: Vec<f64> = spreads.iter().map(|spread| spread.value).collect();
        let law = self.nested.conditional(self.density, &values)?;
        let scores = DVector::from_column_slice(scores);
        let point = &law.mean + law.factor.spread_out(&scores);
        Some(Place {
            parameters: self.density.parameters(point.as_slice()),
            spreads,
            law,
            scores,
        })
    }

    /// `None` where there is no density.
    fn draw(&self, position: &[f64]) -> Option<Draw> {
        let place = self.place(position)?;
        Some(Draw {
            shared: place.parameters.shared,
            effects: place.parameters.effects,
            spreads: place.spreads.iter().map(|spread| spread.value).collect(),
        })
    }

    /// Log density at `position`, up to a constant, and its gradient; `None` where there is none.
    fn evaluate(&self, position: &[f64], gradient: &mut [f64]) -> Option<f64> {
        let place = self.place(position)?;
        let factor = &place.law.factor;
        let (mut value, mut slopes) = self.density.slope(&place.parameters);
        // The volume of what the scores are spread out to.
        value -= 0.5 * factor.log_determinant();
        let free = self.density.free().len();
        let effects = self.density.effects();
        let mut by_point = DVector::zeros(slopes.len());
        by_point.as_mut_slice()[..free].copy_from_slice(&slopes[..free]);
        let mut by_log_spreads = Vec::with_capacity(place.spreads.len());
        for (grouping, spread) in place.spreads.iter().enumerate() {
            let mut by_log_spread = 0.0;
            for effect in effects.of_grouping(grouping) {
                let z = place.parameters.effects[effect] / spread.value;
                value += normal::log_density(z) - spread.value.ln();
                slopes[free + effect] -= z / spread.value;
                by_point[effects.place(effect, free)] = slopes[free + effect];
                by_log_spread += z * z - 1.0;
            }
            by_log_spreads.push(by_log_spread);
        }
        let gathered = factor.gather_back(&by_point);
        self.follow_spreads(&place, &by_point, &gathered, &mut by_log_spreads);
        let (by_scores, by_spreads) = gradient.split_at_mut(self.density.dimension());
        by_scores.copy_from_slice(gathered.as_slice());
        let of_spreads = position[self.density.dimension()..]
            .iter()
            .zip(&place.spreads);
        for (((score, spread), slope), to) in of_spreads.zip(by_log_spreads).zip(by_spreads) {
            value += normal::log_density(*score);
            *to = slope * spread.log_slope - score;
        }
        Some(value)
    }

    /// Adds to the slopes by the logs of the spreads what comes of the point moving with them, and its volume.
    fn follow_spreads(
        &self,
        place: &Place,
        by_point: &DVector<f64>,
        gathered: &DVector<f64>,
        by_log_spreads: &mut [f64],
    ) {
        let (law, effects) = (&place.law, self.density.effects());
        let by_pull = law.factor.solve(by_point);
        for (grouping, (to, spread)) in by_log_spreads.iter_mut().zip(&place.spreads).enumerate() {
            // By the log of a spread, of the precision that it gives each effect.
            let of_precision = -2.0 * spread.value.powi(-2);
            for effect in effects.of_grouping(grouping) {
                let own = effects.place(effect, self.density.free().len());
                let by = law.factor.by_diagonal(own, &place.scores, gathered);
                let of_mean = -law.mean[own] * by_pull[own];
                *to += of_precision * (of_mean + by.image + by.log_volume);
            }
        }
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
        let value = self.evaluate(position, gradient).ok_or(NotANumber)?;
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

    /// The same edges, of two knife sets too, whose effects stand in the corner.
    fn three_machines_two_sets() -> WearDensity {
        let lives = [40.0, 52.0, 31.0, 47.0, 66.0, 38.0];
        let edge = |(i, hours): (usize, &f64)| EdgeRecord {
            stretches: vec![Stretch {
                start: 0.0,
                stop: *hours,
                parts: vec![(1.0, Vec::new())],
            }],
            groups: vec![Some(i % 3), (i > 0).then_some(i / 3)],
            weight: 1.0,
            ..EdgeRecord::default()
        };
        let grouping = |name: &str, levels: usize| Grouping {
            name: name.to_string(),
            levels: vec![String::new(); levels],
        };
        let records = EdgeRecords {
            groupings: vec![grouping("machine", 3), grouping("set", 2)],
            edges: lives.iter().enumerate().map(edge).collect(),
            ..EdgeRecords::default()
        };
        let seen = lives.map(|hours| Observation::Exact(MeterHours::new(hours).expect("hours")));
        let priors = three_machines().priors().clone();
        let spread = HalfNormal::new(0.2).expect("a scale");
        let priors = Priors {
            spreads: vec![spread; 2],
            ..priors
        };
        let settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Median);
        WearDensity::new(&records, &seen, settings, priors).expect("a density")
    }

    #[test]
    fn the_gradient_agrees_with_differences() {
        let both = three_machines_two_sets();
        assert!(both.effects().in_corner() > 0);
        is_the_slope(&three_machines(), &[0.3, -0.8, 0.5, 1.1, -0.4, 0.7]);
        is_the_slope(&both, &[0.3, -0.8, 0.5, 1.1, -0.4, 0.9, -0.2, 0.7, -1.3]);
    }

    fn is_the_slope(density: &WearDensity, position: &[f64]) {
        let nested = Nested::fit(density).expect("a mode");
        let nested = nested.with_tops(density).expect("a top");
        let map = Map {
            density,
            nested: &nested,
        };
        assert_eq!(map.dimension(), position.len());
        let mut gradient = vec![0.0; position.len()];
        map.evaluate(position, &mut gradient).expect("a density");
        for i in 0..position.len() {
            let at = |step: f64| {
                let mut moved = position.to_vec();
                moved[i] += step;
                let room = &mut vec![0.0; position.len()];
                map.evaluate(&moved, room).expect("a density")
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
