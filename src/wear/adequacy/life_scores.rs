//! The life of each edge as a normal score under what the crew's other edges foretell for an edge like it.
//!
//! What is foretold differs from [`edge_scores`](super::edge_scores) in one thing: the groups that may carry a
//! fault (the knife set, who ground it) count as never seen. Their own effects, fitted to the very edges that
//! are looked at, would take a lasting fault for the way of the set or grinder and hide it. The draws without
//! the edge (Pareto-smoothed weights) keep everything else, and each has effects of unseen groups drawn with
//! its own spreads.
//!
//! Nothing is drawn from within what was seen of an edge: its score is a span, and whoever sums scores weighs a
//! span by how much it tells.

use super::leave_one_out::Weights;
use super::predicted::{Predicted, parameters, turned};
use crate::numerics::normal;
use crate::wear::density::Parameters;
use crate::wear::generator::seeded_stream;
use crate::wear::likelihood::{LastLook, LastSeen};
use crate::wear::posterior::WearPosterior;
use crate::wear::sample::Draw;
use rand::seq::SliceRandom;
use rayon::prelude::*;
use serde::Serialize;

/// Groups that count as never seen: what a fault may come with. A machine has its own way of wearing edges, and
/// what is asked is whether that changed.
const UNSEEN: [&str; 2] = ["set", "grinder"];

/// The change of log life over which it is told how much of it makes one unit of score: 0.61 or 1.65 times as
/// long. Basis: the changes that matter to a crew.
const CHANGE: f64 = 0.5;

/// Draws that are looked at. Basis: scores then err by a few hundredths, of a standard deviation of 1.
const DRAWS: usize = 500;

/// The stream of the seed that effects of unseen groups are drawn from.
const STREAM: u64 = (1 << 40) + 3;

/// One edge's life as a normal score.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LifeScore {
    /// Its place among the records.
    pub edge: usize,
    /// What was last seen of it.
    pub seen: LastSeen,
    /// The lowest score that fits what was seen: positive for an edge that lasted longer than foretold, standard
    /// normal if edges wear as they should. Minus infinity where nothing bounds it.
    pub low: f64,
    /// The highest that fits; the same as `low` for an edge whose end was noticed.
    pub high: f64,
    /// By how much the log of life differs between edges one unit of score apart, from this edge towards those
    /// that last as foretold: laws of life are not normal, and short lives lie further apart than long ones.
    pub log_life_per_score: f64,
    /// Whether the weights that stand for the fit without this edge cannot be trusted: its score is rough.
    pub rough: bool,
}

impl WearPosterior {
    /// The life of every edge of which anything was seen as a normal score, in the order of the records. The
    /// same seed gives the same scores, whatever the number of threads.
    pub fn life_scores(&self, seed: u64) -> Vec<LifeScore> {
        let predicted = Predicted::thinned(self.density(), self.sample(), DRAWS);
        let (left_out, weights) = predicted.leave_one_out();
        let draws = self.with_unseen_groups(&predicted.draws, seed);
        let spans = Spans::of(self, &draws, &weights);
        let doubtful = left_out.doubtful();
        let looks = self.density().last_looks().iter().enumerate();
        looks
            .filter(|(_, look)| !ends(look).is_empty())
            .map(|(edge, look)| {
                let [low, high] = spans.bounds(look);
                LifeScore {
                    edge,
                    seen: look.seen,
                    low,
                    high,
                    log_life_per_score: spans.log_life_per_score(look),
                    rough: doubtful.contains(&edge),
                }
            })
            .collect()
    }

    /// The draws with effects of sets and grinders that were never seen. Each level's effects are a shuffled
    /// set of even normal quantiles, so that few draws already average as the normal law says.
    fn with_unseen_groups(&self, draws: &[&Draw], seed: u64) -> Vec<Parameters> {
        let mut random = seeded_stream(seed, STREAM);
        let mut all: Vec<Parameters> = draws.iter().map(|draw| parameters(draw)).collect();
        let mut scores: Vec<f64> = (0..draws.len())
            .map(|place| normal::quantile((place as f64 + 0.5) / draws.len() as f64))
            .collect();
        for (number, grouping) in self.groupings().iter().enumerate() {
            if !UNSEEN.contains(&grouping.name.as_str()) {
                continue;
            }
            for effect in self.density().effects().of_grouping(number) {
                scores.shuffle(&mut random);
                for ((at, draw), score) in all.iter_mut().zip(draws).zip(&scores) {
                    at.effects[effect] = draw.spreads[number] * score;
                }
            }
        }
        all
    }
}

/// The scores at the bounds of every edge's last look, by the bounds' numbers.
struct Spans {
    /// As they are.
    scores: Vec<f64>,
    /// Were lives foretold shorter for a short one, longer for a long one.
    changed: Vec<f64>,
}

impl Spans {
    fn of(posterior: &WearPosterior, draws: &[Parameters], weights: &Weights) -> Self {
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

    /// The scores between which an edge lies. A large chance of looking no more worn is a short life.
    fn bounds(&self, look: &LastLook) -> [f64; 2] {
        [
            look.high
                .map_or(f64::NEG_INFINITY, |high| self.scores[high]),
            look.low.map_or(f64::INFINITY, |low| self.scores[low]),
        ]
    }

    /// The change of log life over the change of score that goes with it, averaged over the edge's bounds.
    fn log_life_per_score(&self, look: &LastLook) -> f64 {
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
            density.log_chances(&moved, &places)
        };
        let rows: Vec<Vec<f64>> = self.draws.par_iter().map(chances).collect();
        let mut scores = vec![f64::NAN; places.iter().max().map_or(0, |last| last + 1)];
        for (column, (edge, bound)) in turned(&rows).iter().zip(bounds) {
            scores[*bound] = score(column, &self.weights[*edge]);
        }
        scores
    }
}

/// The bounds of what was seen, each once.
fn ends(look: &LastLook) -> Vec<usize> {
    let low = look.low.filter(|low| Some(*low) != look.high);
    look.high.into_iter().chain(low).collect()
}

/// The normal score whose upper tail is the mean chance. A chance that doubles cannot tell from 0 or 1 counts
/// as the nearest that they can.
fn score(log_chances: &[f64], weights: &[f64]) -> f64 {
    let chances = log_chances.iter().zip(weights);
    let mean: f64 = chances.map(|(log, weight)| weight * log.exp()).sum();
    -normal::quantile(mean.clamp(f64::MIN_POSITIVE, 1.0 - 0.5 * f64::EPSILON))
}
