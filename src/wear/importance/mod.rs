//! Draws from the nested Laplace approximation, each weighed by how much more likely the posterior itself
//! holds it.
//!
//! Weights are Pareto-smoothed (Vehtari, Simpson, Gelman, Yao and Gabry, 2024); the shape of their tail,
//! `k-hat`, tells whether the weighted draws can be trusted.

mod candidates;

use super::density::{LogPosterior, WearDensity};
use super::generator::seeded_stream;
use super::nested::{Cell, Nested};
use super::sample::Draw;
use crate::numerics::pareto;
use candidates::{Scores, offsets};
use nalgebra::DVector;
use rand::Rng;
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;
use std::ops::Range;

/// Share of the draws that are made as a pilot.
const PILOT: f64 = 0.25;
/// Fewest of them; half as many with several candidates.
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

/// Effects in blocks from which on a draw takes several candidates for each block.
const CROWD: usize = 40;
/// Candidates of each block then, at first and where those leave doubts.
const CANDIDATES: [usize; 2] = [4, 16];
/// Draws of several candidates are no fewer than this.
const FEWEST: usize = 400;

/// How many draws are made, and how many candidates each has for a block of group effects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amount {
    /// Weighted draws.
    pub draws: usize,
    /// Candidates for each block.
    pub candidates: usize,
    /// Draws that are made first, to see where the approximation stands beside the posterior.
    pub pilot: usize,
}

impl Amount {
    /// So many draws, or fewer of several candidates where the number of effects asks for those: each is worth more
    /// then, and as much work.
    pub fn of(draws: usize, density: &WearDensity) -> Self {
        if is_crowded(density) {
            let candidates = CANDIDATES[0];
            let draws = (draws / candidates).clamp(FEWEST.min(draws), draws);
            Self {
                draws,
                candidates,
                pilot: pilot(draws, LEAST_PILOT / 2),
            }
        } else {
            Self {
                draws,
                candidates: 1,
                pilot: pilot(draws, LEAST_PILOT),
            }
        }
    }

    /// What to try where these leave doubts, if there is anything: up to `most` draws, or more candidates.
    pub fn more(self, most: usize, density: &WearDensity) -> Option<Self> {
        let more = if is_crowded(density) {
            Self {
                candidates: CANDIDATES[1],
                ..self
            }
        } else {
            Self::of(self.draws.max(most), density)
        };
        (more != self).then_some(more)
    }
}

fn pilot(draws: usize, least: usize) -> usize {
    least.max((PILOT * draws as f64) as usize)
}

fn is_crowded(density: &WearDensity) -> bool {
    density.effects().blocks().dimension() > CROWD
}

/// A draw with the log of its weight, and the scores that it was made of: their means and mean squares over
/// candidates.
struct Weighed {
    draw: Draw,
    log_weight: f64,
    moments: (DVector<f64>, DVector<f64>),
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
    scores: Scores,
    candidates: usize,
}

/// Weighted draws; the same for the same seed, whatever the number of threads.
///
/// A pilot shows by how much the mean of each score is off and how far it spreads; the draws proper are
/// made around there (moment matching: Paananen, Piironen, Buerkner and Vehtari, Statistics and Computing
/// 31, 2021). Fewer come back where the approximation has no top for some spreads.
pub fn draws(density: &WearDensity, nested: &Nested, amount: Amount, seed: u64) -> Weighted {
    let mut proposal = Proposal::new(density, nested, amount.candidates);
    proposal.match_moments(&proposal.draws(amount.pilot, seed, PILOT_STREAMS));
    let drawn = proposal.draws(amount.draws, seed, 0);
    Weighted {
        log_weights: drawn.iter().map(|drawn| drawn.log_weight).collect(),
        draws: drawn.into_iter().map(|drawn| drawn.draw).collect(),
    }
}

/// The pilot's streams of random numbers lie this far from those of the draws proper.
const PILOT_STREAMS: u64 = 1 << 32;

impl<'a> Proposal<'a> {
    fn new(density: &'a WearDensity, nested: &'a Nested, candidates: usize) -> Self {
        let cumulative = nested.cells().iter().scan(0.0, |sum, cell| {
            *sum += cell.probability;
            Some(*sum)
        });
        Self {
            density,
            nested,
            cumulative: cumulative.collect(),
            scores: Scores {
                shift: DVector::zeros(density.dimension()),
                stretch: DVector::from_element(density.dimension(), widened(density.dimension())),
            },
            candidates,
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
        let even = vec![1.0 / pilot.len() as f64; pilot.len()];
        for i in 0..self.density.dimension() {
            // Candidates are weighed block by block: what other blocks weigh tells nothing of theirs.
            let (weights, effective) = if self.candidates > 1 && self.in_blocks().contains(&i) {
                (&even, pilot.len() as f64)
            } else {
                (&weights, effective)
            };
            let (of_mean, of_variance) = (effective.powf(-0.5), (2.0 / effective).sqrt());
            let drawn = || pilot.iter().map(|drawn| &drawn.moments).zip(weights);
            let mean: f64 = drawn().map(|((first, _), w)| w * first[i]).sum();
            let square: f64 = drawn().map(|((_, second), w)| w * second[i]).sum();
            let variance = square - mean.powi(2);
            if mean.abs() > SURE * of_mean {
                self.scores.shift[i] = mean;
            }
            if (variance - 1.0).abs() > SURE * of_variance {
                self.scores.stretch[i] *= variance.sqrt().clamp(*STRETCH.start(), *STRETCH.end());
            }
        }
    }

    /// The scores of effects in blocks.
    fn in_blocks(&self) -> Range<usize> {
        let dimension = self.density.dimension();
        dimension - self.density.effects().blocks().dimension()..dimension
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
        let normal = StandardNormal.sample_iter(&mut *random).take(dimension);
        let offset = DVector::from_iterator(dimension, normal);
        let pair = [(within, offset.clone()), (mirrored, -offset)];
        let draws = pair
            .iter()
            .map(|(within, offset)| self.weighed(cell, within, offset, random));
        draws.collect::<Option<Vec<_>>>().unwrap_or_default()
    }

    /// One draw; `None` where the approximation has no top for its spreads.
    fn weighed(
        &self,
        cell: &Cell,
        within: &[f64],
        offset: &DVector<f64>,
        random: &mut impl Rng,
    ) -> Option<Weighed> {
        let spreads = self.nested.spreads_at(cell, within);
        let conditional = self.nested.conditional(self.density, &spreads)?;
        let offsets = offsets(offset, self.in_blocks(), self.candidates, random);
        let chosen = self
            .scores
            .chosen(self.density, &conditional, &spreads, &offsets, random)?;
        // The proposal counts spreads by shares of their priors.
        let log_weight = chosen.log_ratio - (cell.probability.ln() - cell.prior().ln());
        Some(Weighed {
            draw: Draw {
                shared: chosen.parameters.shared,
                effects: chosen.parameters.effects,
                spreads,
            },
            // Where the density is no number it is not likely either.
            log_weight: if log_weight.is_nan() {
                f64::NEG_INFINITY
            } else {
                log_weight
            },
            moments: chosen.moments,
        })
    }
}

fn widened(scores: usize) -> f64 {
    WIDENED.powf((WIDENED_SCORES / scores as f64).sqrt().min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use crate::wear::sample::Sample;

    /// However many candidates there are, the weighted draws are those of the same posterior.
    #[test]
    fn candidates_leave_the_posterior_as_it_is() {
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a top");
        let summary = |candidates: usize, of: fn(&Draw) -> f64| {
            let amount = Amount {
                draws: 4000,
                candidates,
                pilot: 1000,
            };
            Sample::weighted(&density, &nested, amount, 5).summary(of)
        };
        let asked: [fn(&Draw) -> f64; 4] = [
            |draw| draw.shared[0],
            |draw| draw.effects[1],
            |draw| draw.spreads[0].ln(),
            |draw| draw.effects[2].powi(2),
        ];
        for of in asked {
            let (one, four) = (summary(1, of), summary(4, of));
            let error = one.errors[0].hypot(four.errors[0]);
            assert!(
                (one.mean - four.mean).abs() < 4.0 * error,
                "{one:?} {four:?}"
            );
            assert!(
                (one.spread / four.spread - 1.0).abs() < 0.1,
                "{one:?} {four:?}"
            );
        }
        // What candidates are for: draws weigh more evenly.
        let worth = |candidates| summary(candidates, |draw| draw.shared[0]).effective;
        assert!(worth(4) > worth(1), "{} {}", worth(4), worth(1));
    }

    /// Candidates behind the corner differ, those of what is shared do not, and they come in mirrored pairs.
    #[test]
    fn candidates_come_in_pairs_beside_the_same_corner() {
        let first = DVector::from_vec(vec![0.3, -1.0, 0.5, 2.0]);
        let all = offsets(&first, 2..4, 4, &mut seeded_stream(1, 0));
        assert_eq!(all[0], first);
        assert_eq!(all[1].as_slice(), [0.3, -1.0, -0.5, -2.0]);
        assert_eq!(all[2].rows(0, 2), first.rows(0, 2));
        assert_eq!(all[3].rows(2, 2), -all[2].rows(2, 2));
        assert!(all[2][2] != 0.5);
    }
}
