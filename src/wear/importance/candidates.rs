//! One draw of what all edges share, with several candidates for each block of group effects.
//!
//! A fleet has hundreds of blocks, and the small error of each adds to the log of a draw's weight until one draw
//! outweighs the rest. Given what is shared, blocks know nothing of each other: each is drawn several times over, one
//! of its candidates taken by its own weight, and the mean of those weights counts for the draw. The weighted draws
//! stay those of the posterior, whatever the number of candidates (Tran, Scharth, Pitt and Kohn, "Importance sampling
//! squared", arXiv:1309.3339, 2013). Candidates come in mirrored pairs, so that a lopsided error cancels.

use crate::numerics::elementary::log_sum_exp;
use crate::numerics::normal::LOG_SQRT_TWO_PI;
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::nested::Conditional;
use nalgebra::DVector;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};
use std::ops::Range;

/// The normal scores that draws are made of, shifted and stretched.
pub(super) struct Scores {
    /// By how many standard deviations each score is shifted.
    pub shift: DVector<f64>,
    /// By how much each is stretched.
    pub stretch: DVector<f64>,
}

/// What became of the candidates.
pub(super) struct Chosen {
    pub parameters: Parameters,
    /// Log of the posterior's density over that of the proposal given the spreads.
    pub log_ratio: f64,
    /// Mean and mean square of each score, candidates counted by their weights.
    pub moments: (DVector<f64>, DVector<f64>),
}

/// One candidate for every block.
struct Candidate {
    scores: DVector<f64>,
    parameters: Parameters,
    /// Log ratio of the densities: of what is shared, and of each block.
    shared: f64,
    blocks: Vec<f64>,
}

/// Scores of candidates: the first as given, the others with other scores behind the corner.
pub(super) fn offsets(
    first: &DVector<f64>,
    in_blocks: Range<usize>,
    count: usize,
    random: &mut impl Rng,
) -> Vec<DVector<f64>> {
    let mut offsets = vec![first.clone()];
    while offsets.len() < count {
        let mut next = offsets[offsets.len() - 1].clone();
        let mut own = next.rows_range_mut(in_blocks.clone());
        if offsets.len() % 2 == 1 {
            own.neg_mut();
        } else {
            own.iter_mut()
                .for_each(|score| *score = StandardNormal.sample(random));
        }
        offsets.push(next);
    }
    offsets
}

impl Scores {
    /// Looks at all candidates and takes one for each block.
    pub fn chosen(
        &self,
        density: &WearDensity,
        conditional: &Conditional,
        spreads: &[f64],
        offsets: &[DVector<f64>],
        random: &mut impl Rng,
    ) -> Option<Chosen> {
        let scores = offsets.iter().map(|offset| self.at(offset));
        let scores: Vec<DVector<f64>> = scores.collect();
        let place = |scores| &conditional.mean + conditional.factor.spread_out(scores);
        let points = scores.iter().map(place);
        let parameters: Vec<Parameters> = points
            .map(|point| density.parameters(point.as_slice()))
            .collect();
        // Candidates differ behind the corner only.
        let likelihoods = density.at_shared(&parameters.first()?.shared);
        let looks = offsets.iter().zip(scores).zip(&parameters);
        let look = |((offset, scores), parameters)| {
            let by_block = density.by_block(parameters, spreads, &likelihoods);
            self.candidate(density, offset, (scores, parameters.clone()), by_block)
        };
        let candidates: Vec<Candidate> = looks.map(look).collect();
        let first = candidates.first()?;
        let mut chosen = Chosen {
            parameters: first.parameters.clone(),
            log_ratio: first.shared - 0.5 * conditional.factor.log_determinant(),
            moments: (
                first.scores.clone(),
                first.scores.component_mul(&first.scores),
            ),
        };
        let corner = first.scores.len() - density.effects().blocks().dimension();
        let blocks = density.effects().blocks().ranges();
        for (block, own) in blocks.enumerate() {
            let logs: Vec<f64> = candidates.iter().map(|it| it.blocks[block]).collect();
            let total = log_sum_exp(logs.iter().copied());
            chosen.log_ratio += total - (logs.len() as f64).ln();
            let even = 1.0 / logs.len() as f64;
            let weight = |log: &f64| {
                if total.is_finite() {
                    (log - total).exp()
                } else {
                    even
                }
            };
            let weights: Vec<f64> = logs.iter().map(weight).collect();
            if let [_, _, ..] = candidates[..] {
                let taken = &candidates[taken(&weights, random.random())];
                for &effect in &density.effects().members()[block] {
                    chosen.parameters.effects[effect] = taken.parameters.effects[effect];
                }
                for score in corner + own.start..corner + own.end {
                    let of = |candidate: &Candidate| candidate.scores[score];
                    let own = || candidates.iter().map(of).zip(&weights);
                    chosen.moments.0[score] = own().map(|(z, w)| w * z).sum();
                    chosen.moments.1[score] = own().map(|(z, w)| w * z * z).sum();
                }
            }
        }
        Some(chosen)
    }

    /// The scores at an offset from the middle.
    fn at(&self, offset: &DVector<f64>) -> DVector<f64> {
        &self.shift + self.stretch.component_mul(offset)
    }

    fn candidate(
        &self,
        density: &WearDensity,
        offset: &DVector<f64>,
        (scores, parameters): (DVector<f64>, Parameters),
        (mut shared, mut blocks): (f64, Vec<f64>),
    ) -> Candidate {
        // Minus the log density of the proposal; that of the factor is added for all candidates together.
        let proposed =
            |score: usize| 0.5 * offset[score].powi(2) + self.stretch[score].ln() + LOG_SQRT_TWO_PI;
        let corner = scores.len() - density.effects().blocks().dimension();
        shared += (0..corner).map(proposed).sum::<f64>();
        for (block, own) in blocks.iter_mut().zip(density.effects().blocks().ranges()) {
            *block += own.map(|score| proposed(corner + score)).sum::<f64>();
            // Where the density is no number it is not likely either.
            if block.is_nan() {
                *block = f64::NEG_INFINITY;
            }
        }
        Candidate {
            scores,
            parameters,
            shared,
            blocks,
        }
    }
}

/// The candidate at a share of the whole weight.
fn taken(weights: &[f64], share: f64) -> usize {
    let mut sum = 0.0;
    let below = weights.iter().take_while(|weight| {
        sum += **weight;
        sum < share
    });
    below.count().min(weights.len() - 1)
}
