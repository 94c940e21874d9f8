//! What carries a shift: one set, grinder, machine or kind of dirt, or all edges alike.

use super::change::normalised;
use super::levels::Levels;
use super::looked::{Looked, Stretch, Told};
use super::series::Group;
use crate::decisions::DecisionError;
use crate::quantities::{Estimate, Probability};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::fmt;

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
    looked: &Looked<'_>,
    stretch: &Stretch,
) -> Result<(Vec<Carrier>, Probability), DecisionError> {
    let (shifts, starts, last) = (&looked.shifts, stretch.starts.clone(), stretch.last);
    let evenly = shifts.log_evidence(|_| true, starts.clone(), last);
    let others = outside(looked, stretch);
    let of_suspect = |suspect: &Suspect| {
        let own = looked.levels.has(Some(&suspect.group));
        let change = shifts.change(|edge| own.get(edge) == Some(&true), starts.clone(), last);
        let carrier = suspect.carrier(looked, stretch, (others, change.ratio(looked.level)?))?;
        Ok((change.log_evidence + suspect.prior.ln(), carrier))
    };
    let suspects = suspects(looked.levels, stretch);
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
    group: Group,
    /// The chance before scores are looked at.
    prior: f64,
}

/// The levels with enough edges in the run. A factor in which all edges are alike cannot be told from all.
fn suspects(levels: &Levels<'_>, stretch: &Stretch) -> Vec<Suspect> {
    let differ = |factor: &Factor| {
        let (mut count, mut edges) = (0, 0);
        for (_, places) in levels.of_factor(*factor) {
            count += 1;
            edges += places.len();
        }
        count + usize::from(edges < levels.edges() && count > 0) > 1
    };
    let factors: Vec<Factor> = Factor::ALL.into_iter().filter(differ).collect();
    let share = (1.0 - EVENLY) / factors.len() as f64;
    let run = stretch.places();
    let suspects = factors.into_iter().flat_map(|factor| {
        let count = levels.of_factor(factor).count();
        let enough = levels.of_factor(factor).filter(|(_, places)| {
            let in_run = places.iter().filter(|place| run.contains(place));
            in_run.count() >= FEWEST
        });
        enough.map(move |(level, _)| Suspect {
            group: Group {
                factor,
                level: level.to_owned(),
            },
            prior: share / count as f64,
        })
    });
    suspects.collect()
}

/// The mean of scores, and how much they tell together.
fn mean<'a>(edges: impl Iterator<Item = &'a Told>) -> Told {
    let none = (0.0, 0.0);
    let (sum, told) = edges.fold(none, |all, one| (all.0 + one.mean, all.1 + one.told));
    Told {
        mean: if told > 0.0 { sum / told } else { 0.0 },
        told,
    }
}

/// Of the edges before a run and after it.
fn outside(looked: &Looked<'_>, stretch: &Stretch) -> Told {
    let before = looked.told.iter().take(stretch.first);
    mean(before.chain(looked.told.iter().skip(stretch.last + 1)))
}

impl Suspect {
    fn carrier(
        &self,
        looked: &Looked<'_>,
        stretch: &Stretch,
        (others, ratio): (Told, Estimate<f64>),
    ) -> Result<Carrier, DecisionError> {
        let run = looked.levels.within(Some(&self.group), stretch.places());
        let before = looked.levels.within(Some(&self.group), 0..stretch.first);
        let share = |own: &[usize], all: usize| own.len() as f64 / (all as f64).max(1.0);
        let of_run = share(&run, stretch.places().len());
        let of_before = share(&before, stretch.first);
        let own = mean(run.iter().filter_map(|place| looked.told.get(*place)));
        let mut variance = own.told.recip();
        if others.told > 0.0 {
            variance += others.told.recip();
        }
        Ok(Carrier {
            factor: self.group.factor,
            level: self.group.level.clone(),
            edges: run.len(),
            mean_score: own.mean - others.mean,
            standard_error: variance.sqrt(),
            ratio,
            chance: Probability::new(0.0)?,
            came_with_it: stretch.first > 0 && of_run >= NEARLY_ALL && of_before <= FEW_BEFORE,
        })
    }
}
