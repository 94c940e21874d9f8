//! What carries a shift: one set, grinder, machine or kind of dirt, or all edges alike.

use super::FinishedEdge;
use super::change::{Shifts, normalised};
use super::cusum::Run;
use crate::decisions::DecisionError;
use crate::quantities::{Estimate, Level, Probability};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
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
    pub level: String,
    /// Its edges within the run.
    pub edges: usize,
    /// Their mean score: 0 where they last as long as foretold, in standard deviations of single edges.
    pub mean_score: f64,
    /// Standard error of that mean.
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
    run: &Run,
    earliest: usize,
    level: Level,
) -> Result<(Vec<Carrier>, Probability), DecisionError> {
    let suspects = suspects(edges, run);
    let last = run.last.unwrap_or(edges.len().saturating_sub(1));
    let starts = earliest..=run.signalled;
    let evenly = shifts.change(|_| true, starts.clone(), last);
    let mut logs = vec![evenly.log_evidence + EVENLY.ln()];
    let mut carriers = Vec::new();
    for suspect in &suspects {
        let own = |edge: usize| edges.get(edge).is_some_and(|edge| suspect.has(edge));
        let change = shifts.change(own, starts.clone(), last);
        logs.push(change.log_evidence + suspect.prior.ln());
        carriers.push(suspect.carrier(edges, run, last, change.ratio(level)?)?);
    }
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
fn suspects(edges: &[FinishedEdge], run: &Run) -> Vec<Suspect> {
    let last = run.last.unwrap_or(edges.len());
    let within = edges.iter().take(last.saturating_add(1)).skip(run.first);
    let factors: Vec<(Factor, BTreeSet<&str>)> = Factor::ALL
        .into_iter()
        .map(|factor| {
            (
                factor,
                edges
                    .iter()
                    .filter_map(|edge| edge.level(factor))
                    .collect::<BTreeSet<_>>(),
            )
        })
        .filter(|(factor, levels)| {
            let outside = edges.iter().any(|edge| edge.level(*factor).is_none());
            levels.len() + usize::from(outside) > 1
        })
        .collect();
    let share = (1.0 - EVENLY) / factors.len() as f64;
    let suspects = factors.iter().flat_map(|(factor, levels)| {
        levels.iter().map(move |level| Suspect {
            factor: *factor,
            level: (*level).to_owned(),
            prior: share / levels.len() as f64,
        })
    });
    suspects
        .filter(|suspect| within.clone().filter(|edge| suspect.has(edge)).count() >= FEWEST)
        .collect()
}

impl Suspect {
    fn has(&self, edge: &FinishedEdge) -> bool {
        edge.level(self.factor) == Some(&self.level)
    }

    fn carrier(
        &self,
        edges: &[FinishedEdge],
        run: &Run,
        last: usize,
        ratio: Estimate<f64>,
    ) -> Result<Carrier, DecisionError> {
        let within = || edges.iter().take(last + 1).skip(run.first);
        let own = || within().filter(|edge| self.has(edge));
        let told: f64 = own().map(|edge| edge.span.told()).sum();
        let sum: f64 = own().map(|edge| edge.span.mean()).sum();
        let before = edges.iter().take(run.first);
        let share = |own: usize, all: usize| own as f64 / (all as f64).max(1.0);
        let of_run = share(own().count(), within().count());
        let of_before = share(
            before.clone().filter(|edge| self.has(edge)).count(),
            before.count(),
        );
        Ok(Carrier {
            factor: self.factor,
            level: self.level.clone(),
            edges: own().count(),
            mean_score: sum / told,
            standard_error: told.sqrt().recip(),
            ratio,
            chance: Probability::new(0.0)?,
            came_with_it: run.first > 0 && of_run >= NEARLY_ALL && of_before <= FEW_BEFORE,
        })
    }
}
