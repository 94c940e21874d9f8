//! Each edge's score as the edges before it foretell it.
//!
//! The model is fitted anew to the first few edges, to somewhat more than half as many again (of a fleet: to three or
//! four times as many), and so on. The edges
//! between two fits are foretold by the draws of the earlier one, weighted by what was seen of the edges that came
//! out in between (Chopin, Biometrika 89, 2002), the weights Pareto-smoothed. A fleet has hundreds of edges between two
//! fits, of hundreds of machines: no draw would outlive those. What all machines share is known well from the fit, and
//! an edge is foretold by the draws weighted by its own machine's edges since: by less than is known, and rightly.

use super::{ScoreBounds, ends, score, span, with_unseen_groups};
use crate::numerics::pareto::{largest_trusted_shape, smooth};
use crate::wear::adequacy::predicted::{parameters, turned};
use crate::wear::importance::{self, Amount, Weighted, is_crowded};
use crate::wear::nested::Nested;
use crate::wear::sample::Draw;
use crate::wear::{WearError, WearPosterior};
use rayon::prelude::*;
use std::collections::HashMap;
use std::ops::Range;

/// Draws of each fit. Basis: worth some 150 independent ones, by which what they foretell errs by some 6 % of the spread
/// between edges; half as many again would leave 5 %, for half as much work again. (Measured with 240 draws of chance.)
const DRAWS: usize = 256;
/// Those of them that are made first, which tell where to make the others. Basis: of 60 the weights of one edge more of
/// the demo's 63 are not to be trusted than of 100 or 200; of none those of 26. A power of two, as the rest: points are
/// most even then.
const PILOT: usize = 128;

/// The same for fleets, where little is unsure of what all machines share beside the spread between edges.
const DRAWS_OF_FLEETS: usize = 144;
const PILOT_OF_FLEETS: usize = 48;

/// Edges of the first fit; those before it are foretold by the priors.
const FIRST: usize = 4;
/// The most by which the edges of one fit outnumber those of the fit before. Basis: on the demo, against 12,000
/// draws fitted anew at nearly every edge, scores of 300 draws err by 0.047 (root mean square); with a first fit at two
/// edges and 1.5 by 0.045. It is the number of draws that decides.
const GROWTH: f64 = 1.6;

/// The same for fleets, whose blocks of effects are looked at by themselves: one edge in so many, up to so many of them.
/// Basis: fewer edges than there are blocks tell little that the priors did not.
const FIRST_SHARE_OF_FLEETS: usize = 100;
const FIRST_OF_FLEETS: usize = 64;
const GROWTH_OF_FLEETS: f64 = 4.0;

/// What a fit that failed says of an edge.
const NOTHING: ScoreBounds = ScoreBounds {
    low: f64::NEG_INFINITY,
    high: f64::INFINITY,
    rough: true,
};

/// Every edge, in the order of the records.
pub(super) fn ahead(whole: &WearPosterior, seed: u64) -> Vec<ScoreBounds> {
    let of_block = |block: Range<usize>| {
        let before = fitted_before(whole, block.start, seed);
        match before {
            Ok(before) => foretold(before, whole, block, seed),
            Err(_) => vec![NOTHING; block.len()],
        }
    };
    let edges = whole.density().last_looks().len();
    let (first, growth) = if is_crowded(whole.density()) {
        let first = (edges / FIRST_SHARE_OF_FLEETS).clamp(FIRST, FIRST_OF_FLEETS);
        (first, GROWTH_OF_FLEETS)
    } else {
        (FIRST, GROWTH)
    };
    let blocks = blocks(edges, first, growth).into_par_iter();
    let foretold: Vec<Vec<ScoreBounds>> = blocks.map(of_block).collect();
    foretold.concat()
}

/// Draws fitted to the first so many edges. Levels that come later keep their places, and their effects are what a
/// new level's would be.
fn fitted_before(whole: &WearPosterior, edges: usize, seed: u64) -> Result<Weighted, WearError> {
    let density = whole.density().of_first(edges);
    let nested = Nested::of_fewer(&density, whole.nested())?;
    let amount = if is_crowded(&density) {
        Amount {
            draws: DRAWS_OF_FLEETS,
            pilot: PILOT_OF_FLEETS,
        }
    } else {
        Amount {
            draws: DRAWS,
            pilot: PILOT,
        }
    };
    let before = importance::draws(&density, &nested, amount, seed);
    if smooth(&before.log_weights).k_hat.is_nan() {
        return Err(WearError::NotSettled {
            iterations: nested.iterations(),
        });
    }
    Ok(before)
}

/// The edges between two fits, each of which is of at the most so many times as many as the one before. All grow by
/// about the same share, so that none is made for the last few edges alone.
fn blocks(edges: usize, first: usize, most: f64) -> Vec<Range<usize>> {
    let (first, whole) = (first as f64, edges as f64 / first as f64);
    let fits = (whole.ln() / most.ln()).ceil().max(0.0);
    let growth = whole.powf(1.0 / fits);
    let starts = (0..fits as i32).map(|fit| (first * growth.powi(fit)).round() as usize);
    let mut bounds: Vec<usize> = [0].into_iter().chain(starts).chain([edges]).collect();
    bounds.dedup();
    bounds.windows(2).map(|pair| pair[0]..pair[1]).collect()
}

/// The edges of a block, each foretold by the draws, which saw those before the block, and by those before it in the
/// block.
fn foretold(
    before: Weighted,
    whole: &WearPosterior,
    block: Range<usize>,
    seed: u64,
) -> Vec<ScoreBounds> {
    let density = whole.density();
    let looks = &density.last_looks()[block.clone()];
    let draws: Vec<&Draw> = before.draws.iter().collect();
    let edges: Vec<usize> = block.collect();
    let likelihoods = |draw: &&Draw| density.log_likelihood_of(&parameters(draw), &edges);
    let likelihoods: Vec<Vec<f64>> = draws.par_iter().map(likelihoods).collect();
    let bounds: Vec<usize> = looks.iter().flat_map(ends).collect();
    let foretelling = with_unseen_groups(density, whole.groupings(), &draws, seed);
    let chances = foretelling
        .par_iter()
        .map(|at| density.chances(at, &bounds));
    let chances: Vec<Vec<f64>> = chances.collect();

    let trusted = largest_trusted_shape(draws.len());
    let mut seen = Seen::none(before.log_weights, is_crowded(density));
    let mut chances = turned(&chances).into_iter();
    let mut foretold = Vec::with_capacity(looks.len());
    let own_blocks = &density.blocks_of_edges()[edges.first().copied().unwrap_or(0)..];
    for ((look, block), likelihoods) in looks.iter().zip(own_blocks).zip(&turned(&likelihoods)) {
        let (log_weights, anything) = seen.for_block(*block);
        let smoothed = smooth(log_weights);
        let weights: Vec<f64> = smoothed.log_weights.iter().map(|log| log.exp()).collect();
        let own = chances.by_ref().take(ends(look).len());
        let scores: Vec<f64> = own.map(|chances| score(&chances, &weights)).collect();
        let [low, high] = span(look, &scores);
        // Before the first weights are those of the fit, which are good by its making.
        let rough = anything && (smoothed.k_hat > trusted || smoothed.k_hat.is_nan());
        foretold.push(ScoreBounds { low, high, rough });
        seen.see(*block, likelihoods);
    }
    foretold
}

/// The draws' weights by what was seen since their fit.
struct Seen {
    of_fit: Vec<f64>,
    /// By the blocks that are looked at by themselves; all edges are of one where none is.
    since: HashMap<Option<usize>, Vec<f64>>,
    apart: bool,
}

impl Seen {
    fn none(of_fit: Vec<f64>, apart: bool) -> Self {
        Self {
            of_fit,
            since: HashMap::new(),
            apart,
        }
    }

    fn key(&self, block: Option<usize>) -> Option<usize> {
        block.filter(|_| self.apart)
    }

    /// The log weights for an edge of this block, and whether anything was seen of it since the fit.
    fn for_block(&self, block: Option<usize>) -> (&[f64], bool) {
        let since = self.since.get(&self.key(block));
        (since.unwrap_or(&self.of_fit), since.is_some())
    }

    fn see(&mut self, block: Option<usize>, likelihoods: &[f64]) {
        let key = self.key(block);
        let weights = self.since.entry(key).or_insert_with(|| self.of_fit.clone());
        for (weight, likelihood) in weights.iter_mut().zip(likelihoods) {
            *weight += likelihood;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_hold_every_edge_once_and_grow_evenly() {
        let plans = [(FIRST, GROWTH), (FIRST_OF_FLEETS, GROWTH_OF_FLEETS)];
        let all = (0..300).flat_map(|edges| plans.map(|(first, growth)| (edges, first, growth)));
        for (edges, first, growth) in all {
            let blocks = blocks(edges, first, growth);
            let held: Vec<usize> = blocks.iter().cloned().flatten().collect();
            assert_eq!(held, (0..edges).collect::<Vec<_>>());
            for block in blocks.iter().skip(1) {
                assert!(block.start >= first);
                // Rounded to whole edges at both ends.
                let most = growth * (block.start as f64 + 0.5) + 0.5;
                assert!(block.end as f64 <= most, "{edges}: {block:?}");
            }
        }
        // A fit for one edge alone would cost as much as the largest.
        assert_eq!(blocks(65, FIRST, GROWTH).last(), Some(&(41..65)));
    }
}
