//! Each edge's score as all others foretell it.

use super::{CHANGE, ends, score, span};
use crate::wear::adequacy::leave_one_out::Weights;
use crate::wear::adequacy::predicted::turned;
use crate::wear::density::Parameters;
use crate::wear::likelihood::LastLook;
use crate::wear::posterior::WearPosterior;
use rayon::prelude::*;

/// The scores at the bounds of every edge's last look, by the bounds' numbers.
pub(super) struct Spans {
    /// As they are.
    scores: Vec<f64>,
    /// Were lives foretold shorter for a short one, longer for a long one.
    changed: Vec<f64>,
}

impl Spans {
    pub fn of(posterior: &WearPosterior, draws: &[Parameters], weights: &Weights) -> Self {
        // Each bound once, with the edge whose weights it is averaged by.
        let looks = posterior.density().last_looks().iter().enumerate();
        let all: Vec<(usize, usize)> = looks
            .flat_map(|(edge, look)| ends(look).into_iter().map(move |bound| (edge, bound)))
            .collect();
        let foretold = Foretelling {
            posterior,
            draws,
            weights,
        };
        let scores = foretold.scores(&all, 0.0);
        let (short, long): (Vec<_>, Vec<_>) =
            all.into_iter().partition(|(_, bound)| scores[*bound] < 0.0);
        let mut changed = foretold.scores(&short, -CHANGE);
        let of_long = foretold.scores(&long, CHANGE);
        changed.resize(scores.len(), f64::NAN);
        long.iter()
            .for_each(|(_, bound)| changed[*bound] = of_long[*bound]);
        Self { scores, changed }
    }

    /// The scores between which an edge lies.
    pub fn bounds(&self, look: &LastLook) -> [f64; 2] {
        let scores: Vec<f64> = ends(look).iter().map(|&end| self.scores[end]).collect();
        span(look, &scores)
    }

    /// The change of log life over the change of score that goes with it, averaged over the edge's bounds.
    pub fn log_life_per_score(&self, look: &LastLook) -> f64 {
        let ends = ends(look);
        let slopes = ends
            .iter()
            .map(|&bound| (self.changed[bound] - self.scores[bound]).abs() / CHANGE);
        ends.len() as f64 / slopes.sum::<f64>()
    }
}

/// What foretells scores.
struct Foretelling<'a> {
    posterior: &'a WearPosterior,
    draws: &'a [Parameters],
    weights: &'a Weights,
}

impl Foretelling<'_> {
    /// The score at each bound, under its edge's weights, were the log of every life foretold longer by
    /// `change`; by the bounds' numbers, with nothing between.
    fn scores(&self, bounds: &[(usize, usize)], change: f64) -> Vec<f64> {
        let density = self.posterior.density();
        let location = density.layout().location();
        let places: Vec<usize> = bounds.iter().map(|(_, bound)| *bound).collect();
        let chances = |draw: &Parameters| {
            let mut moved = draw.clone();
            moved.shared[location] += change;
            density.chances(&moved, &places)
        };
        let rows: Vec<Vec<f64>> = self.draws.par_iter().map(chances).collect();
        let mut scores = vec![f64::NAN; places.iter().max().map_or(0, |last| last + 1)];
        for (column, (edge, bound)) in turned(&rows).iter().zip(bounds) {
            scores[*bound] = score(column, &self.weights[*edge]);
        }
        scores
    }
}
