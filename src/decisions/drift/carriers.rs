//! What carries a shift: one set, grinder, machine or kind of dirt, or all edges alike.

use super::FinishedEdge;
use super::change::{Shifts, normalised};
use super::looked::Stretch;
use crate::decisions::DecisionError;
use crate::quantities::{Estimate, Level, Probability};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::ops::Range;

/// The chance, before scores are looked at, that a shift is spread evenly; the rest is divided among factors and
/// then among each one's levels, so that many sets are not many chances to be blamed. Basis: judged.
const EVENLY: f64 = 0.5;
/// Levels need so many edges within the run to be blamed. Basis: one edge may be odd by itself.
const FEWEST: usize = 2;
/// A level came with the run if it has this share of the run's edges at the least, and at most the other share of
/// those before it. Basis: judged.
const NEARLY_ALL: f64 = 0.9;
const FEW_BEFORE: f64 = 0.5;

/// What edges may have in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Factor {
    /// The machine.
    Machine,
    /// The knife set.
    Set,
    /// Who ground it.
    Grinder,
    /// The dirt that most of its hours were logged with.
    Dirt,
}

impl Factor {
    const ALL: [Self; 4] = [Self::Machine, Self::Set, Self::Grinder, Self::Dirt];
}

impl fmt::Display for Factor {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(match self {
            Factor::Machine => "machine",
            Factor::Set => "set",
            Factor::Grinder => "grinder",
            Factor::Dirt => "dirt",
        })
    }
}

/// One set, grinder, machine or kind of dirt that may carry a shift.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Carrier {
    /// What kind of thing.
    pub factor: Factor,
    /// Which one, by name.
    #[serde(rename = "name")]
    pub level: String,
    /// Its edges within the run.
    #[serde(rename = "edges_in_run")]
    pub edges: usize,
    /// Their mean score less that of the edges outside the run: below 0 where they last shorter, in standard
    /// deviations of single edges.
    pub mean_score: f64,
    /// Standard error of that difference.
    pub standard_error: f64,
    /// How long they last over how long all other edges do, if this one carries the shift.
    pub ratio: Estimate<f64>,
    /// The chance that this one carries it.
    pub chance: Probability,
    /// Nearly all edges of the run are its own and few before were: it came with the shift, and scores cannot
    /// tell the two apart.
    pub came_with_it: bool,
}

/// Everything that may carry a run, the likeliest first, and the chance that it is spread evenly.
pub(super) fn carriers(
    edges: &[FinishedEdge],
    shifts: &Shifts,
    stretch: &Stretch,
    level: Level,
) -> Result<(Vec<Carrier>, Probability), DecisionError> {
    let (starts, last) = (stretch.starts.clone(), stretch.last);
    let evenly = shifts.log_evidence(|_| true, starts.clone(), last);
    let of_suspect = |suspect: &Suspect| {
        // Names are compared once for each edge.
        let own: Vec<bool> = edges.iter().map(|edge| suspect.has(edge)).collect();
        let change = shifts.change(|edge| own.get(edge) == Some(&true), starts.clone(), last);
        let carrier = suspect.carrier((edges, &own), stretch, change.ratio(level)?)?;
        Ok((change.log_evidence + suspect.prior.ln(), carrier))
    };
    let suspects = suspects(edges, stretch);
    let weighed: Vec<Result<_, DecisionError>> = suspects.par_iter().map(of_suspect).collect();
    let weighed: Vec<(f64, Carrier)> = weighed.into_iter().collect::<Result<_, _>>()?;
    let (own, mut carriers): (Vec<f64>, Vec<Carrier>) = weighed.into_iter().unzip();
    let mut logs = vec![evenly + EVENLY.ln()];
    logs.extend(own);
    let chances = normalised(&logs);
    for (carrier, chance) in carriers.iter_mut().zip(chances.iter().skip(1)) {
        carrier.chance = Probability::new(chance.clamp(0.0, 1.0))?;
    }
    carriers.sort_by(|a, b| b.chance.get().total_cmp(&a.chance.get()));
    let evenly = chances.first().map_or(1.0, |chance| chance.clamp(0.0, 1.0));
    Ok((carriers, Probability::new(evenly)?))
}

/// A level that may carry it.
struct Suspect {
    factor: Factor,
    level: String,
    /// The chance before scores are looked at.
    prior: f64,
}

/// The levels with enough edges in the run. A factor in which all edges are alike cannot be told from all.
fn suspects(edges: &[FinishedEdge], stretch: &Stretch) -> Vec<Suspect> {
    let factors: Vec<(Factor, BTreeSet<&str>)> = Factor::ALL
        .into_iter()
        .map(|factor| {
            let levels = edges.iter().filter_map(|edge| edge.level(factor));
            (factor, levels.collect::<BTreeSet<_>>())
        })
        .filter(|(factor, levels)| {
            let without = edges.iter().any(|edge| edge.level(*factor).is_none());
            levels.len() + usize::from(without && !levels.is_empty()) > 1
        })
        .collect();
    let share = (1.0 - EVENLY) / factors.len() as f64;
    let suspects = factors.iter().flat_map(|(factor, levels)| {
        let mut in_run: BTreeMap<&str, usize> = BTreeMap::new();
        for level in stretch.within(edges).filter_map(|edge| edge.level(*factor)) {
            *in_run.entry(level).or_default() += 1;
        }
        let enough = in_run.into_iter().filter(|(_, edges)| *edges >= FEWEST);
        enough.map(|(level, _)| Suspect {
            factor: *factor,
            level: level.to_owned(),
            prior: share / levels.len() as f64,
        })
    });
    suspects.collect()
}

/// The mean of scores, and how much they tell together.
fn mean<'a>(edges: impl Iterator<Item = &'a FinishedEdge>) -> (f64, f64) {
    let spans = edges.map(|edge| (edge.together.mean(), edge.together.told()));
    let (sum, told) = spans.fold((0.0, 0.0), |all, one| (all.0 + one.0, all.1 + one.1));
    (if told > 0.0 { sum / told } else { 0.0 }, told)
}

impl Suspect {
    fn has(&self, edge: &FinishedEdge) -> bool {
        edge.level(self.factor) == Some(&self.level)
    }

    /// `own` says of each edge whether it is one of this level's.
    fn carrier(
        &self,
        (edges, own): (&[FinishedEdge], &[bool]),
        stretch: &Stretch,
        ratio: Estimate<f64>,
    ) -> Result<Carrier, DecisionError> {
        let among = |places: Range<usize>| {
            let all = edges.iter().zip(own).take(places.end).skip(places.start);
            all.filter(|(_, own)| **own).map(|(edge, _)| edge)
        };
        let run = || among(stretch.first..stretch.last + 1);
        let before = || edges.iter().take(stretch.first);
        let share = |own: usize, all: usize| own as f64 / (all as f64).max(1.0);
        let of_run = share(run().count(), stretch.within(edges).count());
        let of_before = share(among(0..stretch.first).count(), before().count());
        let (own_mean, own_told) = mean(run());
        let (other_mean, other_told) = mean(before().chain(edges.iter().skip(stretch.last + 1)));
        let variance = own_told.recip()
            + if other_told > 0.0 {
                other_told.recip()
            } else {
                0.0
            };
        Ok(Carrier {
            factor: self.factor,
            level: self.level.clone(),
            edges: run().count(),
            mean_score: own_mean - other_mean,
            standard_error: variance.sqrt(),
            ratio,
            chance: Probability::new(0.0)?,
            came_with_it: stretch.first > 0 && of_run >= NEARLY_ALL && of_before <= FEW_BEFORE,
        })
    }
}
