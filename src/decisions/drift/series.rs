//! The sums that are kept: one over all edges, one for each machine and one for each grinder.
//!
//! What befalls the edges of one machine or of one who grinds moves their own sum at once, and that of all edges
//! only by their share. Sets have no sum: their edges are too few.

use super::FinishedEdge;
use super::answer::Shift;
use super::carriers::Factor;
use super::cusum::{Cusum, Run, Sums};
use super::levels::Levels;
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

/// The sums of one group, edge by edge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GroupChart {
    /// Whose sums.
    pub group: Group,
    /// Its edges, in order of time.
    pub edges: Vec<GroupEdge>,
}

/// One edge in the sums of its group.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GroupEdge {
    /// Its place among all edges, in order of time, from 0.
    pub place: usize,
    /// The group's sums after it.
    #[serde(flatten)]
    pub sums: Sums,
}

/// All sums, and what they gave a sign of.
pub(super) struct Watched {
    /// The sums over all edges.
    pub all: Vec<Sums>,
    /// Those of each group.
    pub groups: Vec<GroupChart>,
    /// The signs of all of them, in the order in which they came.
    pub signs: Vec<Sign>,
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

impl Sign {
    /// Whether it is of other edges altogether: of another machine, or another grinder.
    pub fn is_apart_from(&self, shift: &Shift) -> bool {
        let groups = self.group.as_ref().zip(shift.group.as_ref());
        groups.is_some_and(|(own, other)| own.factor == other.factor && own.level != other.level)
    }
}

/// Those that have a sum of their own: the levels of each factor in which edges differ.
pub(super) fn groups(levels: &Levels<'_>) -> Vec<Group> {
    let several = SUMMED
        .into_iter()
        .filter(|factor| levels.of_factor(*factor).count() > 1);
    let groups = several.flat_map(|factor| {
        levels.of_factor(factor).map(move |(level, _)| Group {
            factor,
            level: level.to_owned(),
        })
    });
    groups.collect()
}

/// In how many sums each edge stands, at the most.
pub(super) fn sums_an_edge(groups: &[Group]) -> usize {
    let factors: BTreeSet<Factor> = groups.iter().map(|group| group.factor).collect();
    1 + factors.len()
}

/// Sums the scores of all edges, and those of each group.
pub(super) fn watch(
    edges: &[FinishedEdge],
    (groups, levels): (Vec<Group>, &Levels<'_>),
    scheme: Scheme,
) -> Watched {
    let mut sum = Cusum::new(scheme);
    let all = edges.iter().map(|edge| sum.push(edge.ahead)).collect();
    let places: Vec<usize> = (0..edges.len()).collect();
    let mut signs = placed(&sum, &places, None);
    let charts = groups.into_iter().map(|group| {
        let places = levels.places(&group);
        let mut sum = Cusum::new(scheme);
        let in_sums = places.iter().filter_map(|&place| {
            let sums = sum.push(edges.get(place)?.ahead);
            Some(GroupEdge { place, sums })
        });
        let edges: Vec<GroupEdge> = in_sums.collect();
        signs.extend(placed(&sum, places, Some(&group)));
        GroupChart { group, edges }
    });
    let groups = charts.collect();
    // Of signs with one edge that of all edges comes first.
    signs.sort_by_key(|sign| sign.run.signalled);
    Watched { all, groups, signs }
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
