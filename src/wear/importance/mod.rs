//! Draws from the nested Laplace approximation, each weighed by how much more likely the posterior itself
//! holds it.
//!
//! Weights are Pareto-smoothed (Vehtari, Simpson, Gelman, Yao and Gabry, 2024); the shape of their tail,
//! `k-hat`, tells whether the weighted draws can be trusted.
//!
//! A pilot shows where the approximation stands beside the posterior, and the rest is made there. The pilot is as much
//! work as the rest and counts as much: all are weighed against the mixture of both laws (deterministic mixture: Owen
//! and Zhou, Journal of the American Statistical Association 95, 2000). Draws are made of points that fill their space
//! evenly ([`EvenPoints`]), so that sums over them err less than over as many of chance.

mod block_laws;
mod points;

use super::density::{LogPosterior, Parameters, WearDensity};
use super::likelihood::AtShared;
use super::nested::{Cell, Conditional, Nested, SharedApart};
use super::sample::Draw;
use crate::numerics::lanes::LANES;
use crate::numerics::{normal, pareto};
use block_laws::BlockLaws;
use nalgebra::DVector;
use points::EvenPoints;
use rayon::prelude::*;
use std::ops::Range;

/// Share of the draws that are made as a pilot.
const PILOT_SHARE: f64 = 0.25;
/// Fewest of them where there are three times as many draws in all. A power of two: points are most even then.
const LEAST_PILOT: usize = 128;
/// The pilot's spreads may stretch the approximation by at most this much, and are widened by a little:
/// draws too far out cost weight, a tail that is missed costs the answer.
const STRETCH: std::ops::RangeInclusive<f64> = 1.0..=1.5;
const WIDENED: f64 = 1.05;
/// The widening holds for so many scores; where there are more it is thinned out, so that its cost in weight
/// does not grow with their number.
const WIDENED_SCORES: f64 = 40.0;
/// A score is shifted or stretched only where the pilot is off by more of its own standard errors.
const SURE: f64 = 1.0;

/// Effects in blocks from which on each draw has laws of its own for its blocks.
const CROWD: usize = 40;
/// Such a draw costs as much as so many others.
const WORK: usize = 4;
/// They are no fewer than this. Basis: of 400 some four in ten are worth anything with hundreds of machines, so that bounds
/// move from seed to seed by some tenth of their width.
const FEWEST: usize = 384;

/// How many draws are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amount {
    /// Weighted draws, all in all.
    pub draws: usize,
    /// Those of them that are made first, to see where the approximation stands beside the posterior.
    pub pilot: usize,
}

impl Amount {
    /// So many draws, or fewer where they have laws of their own for their blocks: each is worth more then, and as
    /// much work.
    pub fn of(draws: usize, density: &WearDensity) -> Self {
        let draws = if is_crowded(density) {
            (draws / WORK).clamp(FEWEST.min(draws), draws)
        } else {
            draws
        };
        let pilot = LEAST_PILOT.max((PILOT_SHARE * draws as f64) as usize);
        Self {
            draws,
            pilot: pilot.min(draws / 2),
        }
    }

    /// What to try where these leave doubts, if there is anything: up to `most` draws.
    pub fn more(self, most: usize, density: &WearDensity) -> Option<Self> {
        let more = Self::of(self.draws.max(most), density);
        (more != self).then_some(more)
    }
}

/// Whether there are so many effects in blocks that each draw has laws of its own for them.
pub fn is_crowded(density: &WearDensity) -> bool {
    density.effects().blocks().dimension() > CROWD
}

/// A draw, and the scores that it was made of.
struct Made {
    draw: Draw,
    /// The log of the posterior's density by its scores, over that of its cell: less the log of what scores were drawn
    /// from it is the log of its weight. Minus infinity where it is no number.
    log_target: f64,
    scores: DVector<f64>,
}

/// The normal law that scores are drawn from, each by itself.
struct ScoreLaw {
    /// By how many standard deviations each score is shifted.
    shift: DVector<f64>,
    /// By how much each is stretched.
    stretch: DVector<f64>,
    /// The log of what all stretch together.
    log_stretch: f64,
}

/// Draws with the logs of their weights.
pub struct Weighted {
    /// The draws.
    pub draws: Vec<Draw>,
    /// Log of posterior over proposed density, up to a constant; minus infinity where the posterior is no
    /// number.
    pub log_weights: Vec<f64>,
}

/// Where draws are made: the nested approximation.
struct Proposal<'a> {
    density: &'a WearDensity,
    nested: &'a Nested,
    cumulative: Vec<f64>,
    /// Whether each draw has laws of its own for its blocks.
    own_laws: bool,
    /// The law given spreads, where effects are few and have no laws of their own.
    apart: Option<SharedApart>,
}

/// A draw of which what all edges share is known.
struct Begun<'a> {
    cell: &'a Cell,
    spreads: Vec<f64>,
    scores: DVector<f64>,
    parameters: Parameters,
    /// Log of the factor by which volume shrinks from scores to parameters, but for blocks with laws of their own.
    log_shrinkage: f64,
}

/// Where a draw was put.
struct Placed {
    /// Log of the posterior's density there.
    log_density: f64,
    /// Log of the factor by which volume shrinks from scores to parameters.
    log_shrinkage: f64,
    /// Group effects, where blocks have laws of their own.
    effects: Option<Vec<f64>>,
}

impl Begun<'_> {
    fn made(self, placed: Placed) -> Made {
        // The proposal counts spreads by shares of their priors.
        let log_cell = self.cell.probability.ln() - self.cell.prior().ln();
        let log_target = placed.log_density + placed.log_shrinkage - log_cell;
        Made {
            draw: Draw {
                shared: self.parameters.shared,
                effects: placed.effects.unwrap_or(self.parameters.effects),
                spreads: self.spreads,
            },
            // Where the density is no number it is not likely either.
            log_target: if log_target.is_nan() {
                f64::NEG_INFINITY
            } else {
                log_target
            },
            scores: self.scores,
        }
    }
}

/// Weighted draws; the same for the same seed, whatever the number of threads.
///
/// A pilot shows by how much the mean of each score is off and how far it spreads; the rest are made around
/// there (moment matching: Paananen, Piironen, Buerkner and Vehtari, Statistics and Computing
/// 31, 2021). Fewer come back where the approximation has no top for some spreads.
pub fn draws(density: &WearDensity, nested: &Nested, amount: Amount, seed: u64) -> Weighted {
    Proposal::new(density, nested, is_crowded(density)).matched(amount, seed)
}

/// The streams of random numbers that points are scrambled by.
const PILOT: u64 = 1;
const REST: u64 = 0;

impl<'a> Proposal<'a> {
    fn new(density: &'a WearDensity, nested: &'a Nested, own_laws: bool) -> Self {
        let cumulative = nested.cells().iter().scan(0.0, |sum, cell| {
            *sum += cell.probability;
            Some(*sum)
        });
        Self {
            density,
            nested,
            cumulative: cumulative.collect(),
            own_laws,
            apart: (!own_laws)
                .then(|| SharedApart::of(nested, density))
                .flatten(),
        }
    }

    /// A pilot, and the rest where it has shown that they should be made.
    fn matched(&self, amount: Amount, seed: u64) -> Weighted {
        let pilot = amount.pilot.min(amount.draws);
        let first = ScoreLaw::widened(self.density.dimension());
        let mut made = self.draws(&first, pilot, seed, PILOT);
        let second = self.matching(&first, &made);
        made.extend(self.draws(&second, amount.draws - pilot, seed, REST));
        let share = pilot as f64 / amount.draws as f64;
        let log_proposed = |scores: &DVector<f64>| {
            let logs = [
                share.ln() + first.log_density(scores),
                (1.0 - share).ln() + second.log_density(scores),
            ];
            let largest = logs[0].max(logs[1]);
            largest
                + logs
                    .map(|log| (log - largest).exp())
                    .iter()
                    .sum::<f64>()
                    .ln()
        };
        let log_weight = |it: &Made| it.log_target - log_proposed(&it.scores);
        Weighted {
            log_weights: made.iter().map(log_weight).collect(),
            draws: made.into_iter().map(|it| it.draw).collect(),
        }
    }

    /// The law shifted and stretched to the mean and spread that weighted draws from it have.
    fn matching(&self, law: &ScoreLaw, pilot: &[Made]) -> ScoreLaw {
        let (mut shift, mut stretch) = (law.shift.clone(), law.stretch.clone());
        let log_weight = |it: &Made| it.log_target - law.log_density(&it.scores);
        let smoothed = pareto::smooth(&pilot.iter().map(log_weight).collect::<Vec<_>>());
        if smoothed.k_hat.is_nan() {
            return ScoreLaw::new(shift, stretch);
        }
        let weights: Vec<f64> = smoothed.log_weights.iter().map(|log| log.exp()).collect();
        let effective = pareto::effective_draws(&smoothed.log_weights);
        // Blocks with laws of their own lie where they should.
        let matched = if self.own_laws {
            self.in_blocks().start
        } else {
            self.density.dimension()
        };
        for i in 0..matched {
            let (of_mean, of_variance) = (effective.powf(-0.5), (2.0 / effective).sqrt());
            let drawn = || pilot.iter().map(|drawn| drawn.scores[i]).zip(&weights);
            let mean: f64 = drawn().map(|(score, weight)| weight * score).sum();
            let square: f64 = drawn().map(|(score, weight)| weight * score * score).sum();
            let variance = square - mean.powi(2);
            if mean.abs() > SURE * of_mean {
                shift[i] = mean;
            }
            if (variance - 1.0).abs() > SURE * of_variance {
                stretch[i] *= variance.sqrt().clamp(*STRETCH.start(), *STRETCH.end());
            }
        }
        ScoreLaw::new(shift, stretch)
    }

    /// The scores of effects in blocks.
    fn in_blocks(&self) -> Range<usize> {
        let dimension = self.density.dimension();
        dimension - self.density.effects().blocks().dimension()..dimension
    }

    fn draws(&self, law: &ScoreLaw, count: usize, seed: u64, stream: u64) -> Vec<Made> {
        let points = EvenPoints::new(seed, stream);
        let begun =
            |place: usize| self.begun(place as f64, count as f64, points.coordinates(place), law);
        // Where a draw is much work each is made by itself, so that threads share them evenly.
        let together = if self.own_laws { 1 } else { LANES };
        let parts = (0..count.div_ceil(together)).into_par_iter();
        let made = parts.flat_map_iter(|part| {
            let places = part * together..count.min((part + 1) * together);
            self.made(places.filter_map(begun).collect())
        });
        made.collect()
    }

    /// A draw up to what all edges share; `None` where the approximation has no top for its spreads.
    fn begun(
        &self,
        place: f64,
        count: f64,
        mut point: impl Iterator<Item = f64>,
        law: &ScoreLaw,
    ) -> Option<Begun<'a>> {
        // One cell for each even step, so that the design is met in proportion.
        let step = (place + point.next()?) / count;
        let cell = self.cumulative.partition_point(|&sum| sum < step);
        let cells = self.nested.cells();
        let cell = &cells[cell.min(cells.len() - 1)];
        let within: Vec<f64> = point.by_ref().take(cell.shares.len()).collect();
        let standard = point.map(normal::quick_quantile);
        let standard = standard.take(self.density.dimension());
        let scores = law.scores(&DVector::from_vec(standard.collect()));
        let spreads = self.nested.spreads_at(cell, &within);
        let (parameters, log_shrinkage) = self.reached(&spreads, &scores)?;
        Some(Begun {
            cell,
            spreads,
            scores,
            parameters,
            log_shrinkage,
        })
    }

    /// Where the normal law given the spreads has these scores, and the log of the factor by which volume shrinks. Blocks
    /// with laws of their own stand at its middle, and count for nothing yet.
    fn reached(&self, spreads: &[f64], scores: &DVector<f64>) -> Option<(Parameters, f64)> {
        if let Some(apart) = &self.apart {
            let reached = apart.reached(&self.density.prior_precisions(spreads), scores)?;
            let parameters = self.density.parameters(reached.point.as_slice());
            return Some((parameters, reached.log_shrinkage));
        }
        let law = self.nested.conditional(self.density, spreads)?;
        if self.own_laws {
            let mut middle = scores.clone();
            middle.rows_range_mut(self.in_blocks()).fill(0.0);
            let log_shrinkage = -0.5 * law.factor.log_determinant_of_corner();
            return Some((self.at(&law, &middle), log_shrinkage));
        }
        let log_shrinkage = -0.5 * law.factor.log_determinant();
        Some((self.at(&law, scores), log_shrinkage))
    }

    /// These draws, but for those whose blocks have no law.
    fn made(&self, begun: Vec<Begun>) -> Vec<Made> {
        let shared: Vec<&[f64]> = begun
            .iter()
            .map(|it| it.parameters.shared.as_slice())
            .collect();
        let likelihoods = self.density.at_each_shared(&shared);
        let each = begun.iter().zip(&likelihoods);
        let placed: Vec<_> = each.map(|(begun, here)| self.placed(begun, here)).collect();
        let each = begun.into_iter().zip(placed);
        each.filter_map(|(begun, placed)| Some(begun.made(placed?)))
            .collect()
    }

    /// What the posterior says of a draw; where blocks have laws of their own these put their effects.
    fn placed(&self, begun: &Begun, likelihoods: &AtShared) -> Option<Placed> {
        let Begun {
            spreads,
            parameters,
            ..
        } = begun;
        if !self.own_laws {
            return Some(Placed {
                log_density: self.density.log_given(parameters, spreads, likelihoods),
                log_shrinkage: begun.log_shrinkage,
                effects: None,
            });
        }
        let blocks = BlockLaws::around(self.density, parameters, spreads, likelihoods)?;
        let in_blocks = &begun.scores.as_slice()[self.in_blocks().start..];
        let mut parameters = parameters.clone();
        blocks.place(in_blocks, self.density, &mut parameters.effects);
        Some(Placed {
            log_density: self.density.log_given(&parameters, spreads, likelihoods),
            log_shrinkage: begun.log_shrinkage - 0.5 * blocks.log_determinant(),
            effects: Some(parameters.effects),
        })
    }

    fn at(&self, law: &Conditional, scores: &DVector<f64>) -> Parameters {
        let point = &law.mean + law.factor.spread_out(scores);
        self.density.parameters(point.as_slice())
    }
}

impl ScoreLaw {
    fn new(shift: DVector<f64>, stretch: DVector<f64>) -> Self {
        Self {
            log_stretch: stretch.iter().map(|stretch| stretch.ln()).sum(),
            shift,
            stretch,
        }
    }

    /// As the approximation has it, a little widened.
    fn widened(scores: usize) -> Self {
        let widened = WIDENED.powf((WIDENED_SCORES / scores as f64).sqrt().min(1.0));
        Self::new(
            DVector::zeros(scores),
            DVector::from_element(scores, widened),
        )
    }

    /// What standard normal numbers become.
    fn scores(&self, standard: &DVector<f64>) -> DVector<f64> {
        &self.shift + self.stretch.component_mul(standard)
    }

    fn log_density(&self, scores: &DVector<f64>) -> f64 {
        let each = scores.iter().zip(&self.shift).zip(&self.stretch);
        let standard = each.map(|((score, shift), stretch)| (score - shift) / stretch);
        standard.map(normal::log_density).sum::<f64>() - self.log_stretch
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use crate::wear::sample::Sample;

    /// With laws of their own for blocks or without, the weighted draws are those of the same posterior.
    #[test]
    fn own_laws_of_blocks_leave_the_posterior_as_it_is() {
        const DRAWS: usize = 16_000;
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a top");
        let summary = |own_laws: bool, of: fn(&Draw) -> f64| {
            let proposal = Proposal::new(&density, &nested, own_laws);
            let drawn = proposal.matched(
                Amount {
                    draws: DRAWS,
                    pilot: DRAWS / 4,
                },
                5,
            );
            Sample::of_weighted(drawn, DRAWS).summary(of)
        };
        let asked: [fn(&Draw) -> f64; 4] = [
            |draw| draw.shared[0],
            |draw| draw.effects[1],
            |draw| draw.spreads[0].ln(),
            |draw| draw.effects[2].powi(2),
        ];
        for of in asked {
            let (one, other) = (summary(false, of), summary(true, of));
            let error = one.errors[0].hypot(other.errors[0]);
            assert!(
                (one.mean - other.mean).abs() < 4.0 * error,
                "{one:?} {other:?}"
            );
            assert!(
                (one.spread / other.spread - 1.0).abs() < 0.1,
                "{one:?} {other:?}"
            );
        }
        // What they are for: draws weigh more evenly.
        let worth = |own_laws| summary(own_laws, |draw| draw.shared[0]).effective;
        assert!(
            worth(true) > worth(false),
            "{} {}",
            worth(true),
            worth(false)
        );
    }
}
