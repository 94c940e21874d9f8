//! The life of each edge as a normal score, foretold in two ways.
//!
//! **Ahead**, by the edges that came out before it, as a crew would have been told on the day: what a change is
//! noticed by. Such scores are independent and standard normal if nothing changes, whatever is not known yet of the
//! crew (Dawid, Journal of the Royal Statistical Society A 147, 1984), so that sums of them give false signs about as
//! seldom as is printed. Scores that all other edges foretell are not: edges after a change teach the model that
//! lives are short and half of the change is gone, and in quiet times the scores of one log add up to nothing (in a
//! study of simulated crews they found one faulty grinder in five, where scores ahead found more than half).
//!
//! **Together**, by all other edges, with the draws' weights smoothed: what a change is measured by once it has been
//! noticed, as a difference between edges, in which the level that all share drops out.
//!
//! In both the knife set and who ground it count as never seen, each draw having effects drawn with its own spreads:
//! their own effects, learned from the very edges that are looked at, would take a lasting fault for the way of the
//! set or the grinder. Scores of one set then hang together a little; the study finds false signs as seldom as
//! printed nevertheless.
//!
//! Nothing is drawn from within what was seen of an edge: its score is a span, and whoever sums scores weighs a
//! span by how much it tells.

mod ahead;
mod together;

use super::predicted::{Predicted, parameters};
use crate::lives::Observation;
use crate::numerics::normal;
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::generator::seeded_stream;
use crate::wear::importance::is_crowded;
use crate::wear::likelihood::{LastLook, LastSeen};
use crate::wear::sample::Draw;
use crate::wear::{EdgeRecords, Grouping, WearError, WearModel, WearPosterior};
use linfa::DatasetBase;
use rand::seq::SliceRandom;
use serde::Serialize;
use together::Spans;

/// Groups that count as never seen: what a fault may come with. A machine has its own way of wearing edges, and
/// what is asked is whether that changed.
const UNSEEN: [&str; 2] = ["set", "grinder"];

/// The change of log life over which it is told how much of it makes one unit of score: 0.61 or 1.65 times as
/// long. Basis: the changes that matter to a crew.
const CHANGE: f64 = 0.5;

/// Draws that are looked at. Basis: on the demo scores of 300 draws err by 0.03 of a standard deviation of 1 (root mean
/// square, against twice as many); a decision's fit has 384.
const DRAWS: usize = 384;
/// Of a fleet, where scores hang far less on what all machines share.
const DRAWS_OF_FLEETS: usize = 128;

/// The stream of the seed that effects of unseen groups are drawn from.
const STREAM: u64 = (1 << 40) + 3;

/// The scores that fit what was seen of an edge: positive for one that lasted longer than foretold, standard normal
/// if edges wear as they should.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ScoreBounds {
    /// The lowest; minus infinity where nothing bounds it.
    pub low: f64,
    /// The highest; the same as `low` for an edge whose end was noticed.
    pub high: f64,
    /// Whether the weights of the draws that foretell it cannot be trusted, so that it is rough.
    pub rough: bool,
}

/// One edge's life as a normal score.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LifeScore {
    /// Its place among the records.
    pub edge: usize,
    /// What was last seen of it.
    pub seen: LastSeen,
    /// As the edges before it foretell it.
    pub ahead: ScoreBounds,
    /// As all other edges foretell it, sets and grinders unseen.
    pub together: ScoreBounds,
    /// By how much the log of life differs between edges one unit of score apart, from this edge towards those
    /// that last as foretold: laws of life are not normal, and short lives lie further apart than long ones.
    pub log_life_per_score: f64,
}

impl WearModel {
    /// The life of every edge of which anything was seen as a normal score, in the order of the records, which
    /// must be that of time. The posterior is one that this model gave for these edges. The same seed gives the
    /// same scores, whatever the number of threads.
    ///
    /// # Errors
    ///
    /// [`WearError::Unpaired`] where the posterior is of other edges.
    ///
    /// # Examples
    ///
    /// The scores of a crew's edges, and whether they drift.
    ///
    /// ```
    /// use keenspan::decisions::{FinishedEdge, Scheme, drift};
    /// use keenspan::quantities::{Level, WearFraction};
    /// use keenspan::simulation::{CrewPlan, crew};
    /// use keenspan::wear::{EdgeRecords, PriorPack, WearModel};
    /// use linfa::traits::Fit;
    /// use linfa::{DatasetBase, ParamGuard};
    ///
    /// let lives = crew(1, &CrewPlan { edges: 15, ..CrewPlan::default() });
    /// let (records, seen) = EdgeRecords::from_edges(&lives, &[]);
    /// let edges = DatasetBase::new(records, seen);
    /// let pack = PriorPack::common_practice()?;
    /// let model = WearModel::params(&pack, WearFraction::new(1.3)?).draws(500).check()?;
    /// let scores = model.life_scores(&edges, &model.fit(&edges)?, 1)?;
    /// assert!(scores.iter().all(|score| score.ahead.low <= score.ahead.high));
    /// let finished = scores.iter().map(|score| FinishedEdge::of(&lives[score.edge], score));
    /// let answer = drift(&finished.collect::<Vec<_>>(), &[], Scheme::USUAL, Level::NINETY)?;
    /// assert_eq!(answer.edges, scores.len());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn life_scores(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
        posterior: &WearPosterior,
        seed: u64,
    ) -> Result<Vec<LifeScore>, WearError> {
        let density = posterior.density();
        let (records, observations) = (dataset.records().edges.len(), density.last_looks().len());
        if records != observations {
            return Err(WearError::Unpaired {
                records,
                observations,
            });
        }
        let (ahead, together) = rayon::join(
            || ahead::ahead(posterior, seed),
            || together(posterior, seed),
        );
        let looks = density.last_looks().iter().enumerate();
        let scores = looks.zip(ahead).zip(together);
        let scores = scores.filter(|(((_, look), _), _)| !ends(look).is_empty());
        Ok(scores
            .map(
                |(((edge, look), ahead), (together, log_life_per_score))| LifeScore {
                    edge,
                    seen: look.seen,
                    ahead,
                    together,
                    log_life_per_score,
                },
            )
            .collect())
    }
}

/// Every edge as all others foretell it, and the log of life for one unit of score.
fn together(posterior: &WearPosterior, seed: u64) -> Vec<(ScoreBounds, f64)> {
    let density = posterior.density();
    let predicted = Predicted::of(density, thinned(posterior));
    let (left_out, weights) = predicted.with_weights();
    let draws = with_unseen_groups(density, posterior.groupings(), &predicted.draws, seed);
    let spans = Spans::of(posterior, &draws, &weights);
    let doubtful = left_out.doubtful();
    let looks = density.last_looks().iter().enumerate();
    looks
        .map(|(edge, look)| {
            let [low, high] = spans.bounds(look);
            let bounds = ScoreBounds {
                low,
                high,
                rough: doubtful.contains(&edge),
            };
            (bounds, spans.log_life_per_score(look))
        })
        .collect()
}

/// [`DRAWS`] of the draws, or somewhat fewer.
fn thinned(posterior: &WearPosterior) -> impl Iterator<Item = (&Draw, f64)> {
    let sample = posterior.sample();
    let most = if is_crowded(posterior.density()) {
        DRAWS_OF_FLEETS
    } else {
        DRAWS
    };
    let step = sample.len().div_ceil(most).max(1);
    sample.weighted_draws().step_by(step)
}

/// The draws with effects of sets and grinders that were never seen. Each level's effects are a shuffled
/// set of even normal quantiles, so that few draws already average as the normal law says.
fn with_unseen_groups(
    density: &WearDensity,
    groupings: &[Grouping],
    draws: &[&Draw],
    seed: u64,
) -> Vec<Parameters> {
    let mut random = seeded_stream(seed, STREAM);
    let mut all: Vec<Parameters> = draws.iter().map(|draw| parameters(draw)).collect();
    let mut scores: Vec<f64> = (0..draws.len())
        .map(|place| normal::quantile((place as f64 + 0.5) / draws.len() as f64))
        .collect();
    for (number, grouping) in groupings.iter().enumerate() {
        if !UNSEEN.contains(&grouping.name.as_str()) {
            continue;
        }
        for effect in density.effects().of_grouping(number) {
            scores.shuffle(&mut random);
            for ((at, draw), score) in all.iter_mut().zip(draws).zip(&scores) {
                at.effects[effect] = draw.spreads[number] * score;
            }
        }
    }
    all
}

/// The bounds of what was seen, each once.
fn ends(look: &LastLook) -> Vec<usize> {
    let low = look.low.filter(|low| Some(*low) != look.high);
    look.high.into_iter().chain(low).collect()
}

/// The lowest and the highest score of a look, from the scores at its [`ends`]. A large chance of looking no more
/// worn is a short life.
fn span(look: &LastLook, scores: &[f64]) -> [f64; 2] {
    let low = look.high.and(scores.first().copied());
    let high = look.low.and(scores.last().copied());
    [
        low.unwrap_or(f64::NEG_INFINITY),
        high.unwrap_or(f64::INFINITY),
    ]
}

/// The normal score whose upper tail is the mean chance. A chance that doubles cannot tell from 0 or 1 counts
/// as the nearest that they can.
fn score(chances: &[f64], weights: &[f64]) -> f64 {
    let chances = chances.iter().zip(weights);
    let mean: f64 = chances.map(|(chance, weight)| weight * chance).sum();
    -normal::quantile(mean.clamp(f64::MIN_POSITIVE, 1.0 - 0.5 * f64::EPSILON))
}
