//! Counts that the fitted model would give again, against those in the log.

use super::AdequacyError;
use super::edge_scores::{EdgeScore, redrawn};
use super::predicted::{Predicted, parameters};
use crate::numerics::normal;
use crate::numerics::resampling::systematic;
use crate::quantities::Grade;
use crate::wear::density::WearDensity;
use crate::wear::likelihood::{LastLook, LastSeen};
use rand::{Rng, RngExt};
use rand_distr::{Binomial, Distribution, Poisson};
use rayon::prelude::*;
use serde::Serialize;

/// Data sets invented for each count. Basis: a 5 % bound of 500 errs by 1 % of chance.
const REPLICATES: usize = 500;
/// Of which so many stand side by side.
const ROWS: usize = 32;

/// Of each draw that a replicate is invented from, in their order, what `count` makes of the logs of the chances of these
/// bounds. A row of them is as long as the log: few are kept at a time.
fn counted<T>(
    density: &WearDensity,
    predicted: &Predicted,
    bounds: &[usize],
    mut count: impl FnMut(&[f64]) -> T,
) -> Vec<T> {
    let chosen = systematic(&predicted.weights, REPLICATES, 0.5);
    let row = |draw: &usize| density.log_chances(&parameters(predicted.draws[*draw]), bounds);
    let mut all = Vec::with_capacity(chosen.len());
    for some in chosen.chunks(ROWS) {
        let rows: Vec<Vec<f64>> = some.par_iter().map(row).collect();
        all.extend(rows.iter().map(|row| count(row)));
    }
    all
}

/// A count against what the model would give again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Count {
    /// In the log; a mean where what was seen leaves it open.
    pub observed: f64,
    /// By the model, on average.
    pub expected: f64,
    /// One chance in twenty that the model gives fewer.
    pub lower: f64,
    /// One chance in twenty that the model gives more.
    pub upper: f64,
    /// How often the model gives a count as far out, on either side.
    pub tail: f64,
}

/// One grade's count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GradeCount {
    /// The grade.
    pub grade: Grade,
    /// How often it was given at the last look.
    pub count: Count,
}

/// What the model would count again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Counts {
    /// The grades given at last looks, at the ages of those looks.
    pub grades: Vec<GradeCount>,
    /// Edges noticed dull in the cut. The model does not know who notices: expected is what would be noticed
    /// if everybody did, so that only more than expected speaks against it, and `tail` is of that side.
    pub noticed: Option<Count>,
    /// Edges that ended before half their typical life, told by their scores.
    pub short_lived: Option<Count>,
}

impl Count {
    fn of(observed: f64, mut again: Vec<f64>) -> Self {
        again.sort_by(f64::total_cmp);
        let count = again.len() as f64;
        let at = |share: f64| again[((share * count) as usize).min(again.len() - 1)];
        let fewer = again.partition_point(|x| *x < observed) as f64 / count;
        let no_more = again.partition_point(|x| *x <= observed) as f64 / count;
        Self {
            observed,
            expected: again.iter().sum::<f64>() / count,
            lower: at(0.05),
            upper: at(0.95),
            tail: (2.0 * no_more.min(1.0 - fewer)).min(1.0),
        }
    }

    /// With the tail of larger counts alone.
    fn one_sided(observed: f64, again: Vec<f64>) -> Self {
        let as_many = again.iter().filter(|x| **x >= observed).count() as f64;
        let tail = as_many / again.len() as f64;
        Self {
            tail,
            ..Self::of(observed, again)
        }
    }
}

pub(super) fn counts(
    density: &WearDensity,
    predicted: &Predicted,
    scores: &[EdgeScore],
    half_life_chance: f64,
    random: &mut impl Rng,
) -> Result<Counts, AdequacyError> {
    Ok(Counts {
        grades: grades(density, predicted, random),
        noticed: noticed(density, predicted, random),
        short_lived: short_lived(scores, half_life_chance, random)?,
    })
}

fn grades(density: &WearDensity, predicted: &Predicted, random: &mut impl Rng) -> Vec<GradeCount> {
    let looks = density.last_looks();
    let mut observed = [0.0; 4];
    for look in looks {
        if let LastSeen::Graded(grade) = look.seen {
            observed[grade as usize] += 1.0;
        }
    }
    // The three cuts of each edge that was graded.
    let cuts: Vec<usize> = looks
        .iter()
        .filter_map(|look| look.cuts)
        .flatten()
        .collect();
    if cuts.is_empty() || predicted.draws.is_empty() {
        return Vec::new();
    }
    let again = counted(density, predicted, &cuts, |log_chances| {
        let mut count = [0.0; 4];
        for cuts in log_chances.chunks_exact(3) {
            // An eye for which a share `u` of all edges looks less worn than this one.
            let u: f64 = random.random();
            count[cuts.iter().filter(|cut| cut.exp() <= u).count()] += 1.0;
        }
        count
    });
    let counted = |grade: usize| again.iter().map(|count| count[grade]).collect();
    let each = Grade::ALL.into_iter().zip(observed);
    each.map(|(grade, observed)| GradeCount {
        grade,
        count: Count::of(observed, counted(grade as usize)),
    })
    .collect()
}

/// Edges noticed dull against the hazard of being noticed, gathered until each edge was last seen. Whatever
/// ended an edge, both have the same mean if everybody notices (the compensator of a counting process:
/// Andersen, Borgan, Gill and Keiding, Statistical Models Based on Counting Processes, 1993, II.4).
fn noticed(density: &WearDensity, predicted: &Predicted, random: &mut impl Rng) -> Option<Count> {
    let looks = density.last_looks();
    let noticed =
        |look: &&LastLook| matches!(look.seen, LastSeen::NoticedDull | LastSeen::NoticedOverrun);
    let observed = looks.iter().filter(noticed).count() as f64;
    if observed == 0.0 || predicted.draws.is_empty() {
        return None;
    }
    let by_feel: Vec<usize> = looks.iter().filter_map(|look| look.noticed).collect();
    let again = counted(density, predicted, &by_feel, |log_chances| {
        let hazards = log_chances.iter().map(|log| -log);
        let law = Poisson::new(hazards.sum::<f64>());
        law.map_or(0.0, |law| law.sample(random))
    });
    Some(Count::one_sided(observed, again))
}

fn short_lived(
    scores: &[EdgeScore],
    chance: f64,
    random: &mut impl Rng,
) -> Result<Option<Count>, AdequacyError> {
    let Ok(law) = Binomial::new(scores.len() as u64, chance) else {
        return Ok(None);
    };
    if scores.is_empty() || !(chance > 0.0 && chance < 1.0) {
        return Ok(None);
    }
    let cut = normal::quantile(chance);
    // Drawn from the spans as a replicate of the log would be.
    let drawn = redrawn(scores, random)?;
    let observed = drawn.iter().filter(|score| **score < cut).count() as f64;
    let again = (0..REPLICATES).map(|_| law.sample(random) as f64).collect();
    Ok(Some(Count::of(observed, again)))
}
