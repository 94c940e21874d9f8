//! The sums that are kept: one over all edges, one for each machine and one for each grinder.
//!
//! What befalls the edges of one machine or of one who grinds moves their own sum at once, and that of all edges
//! only by their share. Sets have no sum: their edges are too few.

use super::FinishedEdge;
use super::carriers::Factor;
use super::cusum::{Cusum, Run, Sums};
use super::scheme::Scheme;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// What has sums of its own.
const SUMMED: [Factor; 2] = [Factor::Machine, Factor::Grinder];

/// Edges that share something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Group {
    /// What kind of thing.
    pub factor: Factor,
    /// Which one, by name.
    #[serde(rename = "name")]
    pub level: String,
}

impl Group {
    pub(super) fn has(&self, edge: &FinishedEdge) -> bool {
        edge.level(self.factor) == Some(&self.level)
    }
}

/// A sign, by the places of edges among all.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sign {
    /// The run that gave it.
    pub run: Run,
    /// Whose sum gave it; `None` for that of all edges.
    pub group: Option<Group>,
    /// The edge of that sum before the run's first.
    pub before: Option<usize>,
}

/// Those that have a sum of their own: the levels of each factor in which edges differ.
pub(super) fn groups(edges: &[FinishedEdge]) -> Vec<Group> {
    let levels = |factor: Factor| -> BTreeSet<&str> {
        edges.iter().filter_map(|edge| edge.level(factor)).collect()
    };
    let several = SUMMED.into_iter().map(|factor| (factor, levels(factor)));
    several
        .filter(|(_, levels)| levels.len() > 1)
        .flat_map(|(factor, levels)| {
            levels.into_iter().map(move |level| Group {
                factor,
                level: level.to_owned(),
            })
        })
        .collect()
}

/// In how many sums each edge stands, at the most.
pub(super) fn sums_an_edge(groups: &[Group]) -> usize {
    let factors: BTreeSet<Factor> = groups.iter().map(|group| group.factor).collect();
    1 + factors.len()
}

/// The sums over all edges, and the signs of all sums in the order in which they came.
pub(super) fn signs(
    edges: &[FinishedEdge],
    groups: Vec<Group>,
    scheme: Scheme,
) -> (Vec<Sums>, Vec<Sign>) {
    let mut all = Cusum::new(scheme);
    let chart = edges.iter().map(|edge| all.push(edge.ahead)).collect();
    let places: Vec<usize> = (0..edges.len()).collect();
    let mut signs = placed(&all, &places, None);
    for group in groups {
        let own = edges.iter().enumerate().filter(|(_, edge)| group.has(edge));
        let mut sum = Cusum::new(scheme);
        let mut places = Vec::new();
        for (place, edge) in own {
            sum.push(edge.ahead);
            places.push(place);
        }
        signs.extend(placed(&sum, &places, Some(&group)));
    }
    // Of signs with one edge that of all edges comes first.
    signs.sort_by_key(|sign| sign.run.signalled);
    (chart, signs)
}

/// The signs of one sum, by the places of its edges among all.
fn placed(sum: &Cusum, places: &[usize], group: Option<&Group>) -> Vec<Sign> {
    let sign = |run: &Run| {
        Some(Sign {
            run: Run {
                side: run.side,
                first: *places.get(run.first)?,
                signalled: *places.get(run.signalled)?,
            },
            group: group.cloned(),
            before: run
                .first
                .checked_sub(1)
                .and_then(|before| places.get(before).copied()),
        })
    };
    sum.runs().iter().filter_map(sign).collect()
}
