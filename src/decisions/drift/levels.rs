//! Which edges stand under which level: a fleet's are asked for by hundreds of sums, signs and suspects.

use super::FinishedEdge;
use super::carriers::Factor;
use super::series::Group;
use std::collections::BTreeMap;
use std::ops::Range;

/// The places of edges by what they have in common.
pub(super) struct Levels<'e> {
    edges: usize,
    places: BTreeMap<Factor, BTreeMap<&'e str, Vec<usize>>>,
}

impl<'e> Levels<'e> {
    pub fn of(edges: &'e [FinishedEdge]) -> Self {
        let mut places: BTreeMap<Factor, BTreeMap<&str, Vec<usize>>> = BTreeMap::new();
        for (place, edge) in edges.iter().enumerate() {
            for (factor, level) in edge.each_factor_once() {
                let of_factor = places.entry(*factor).or_default();
                of_factor.entry(level).or_default().push(place);
            }
        }
        Self {
            edges: edges.len(),
            places,
        }
    }

    /// How many edges there are.
    pub fn edges(&self) -> usize {
        self.edges
    }

    /// The levels of one factor, by name.
    pub fn of_factor(&self, factor: Factor) -> impl Iterator<Item = (&'e str, &[usize])> {
        let levels = self.places.get(&factor).into_iter().flatten();
        levels.map(|(level, places)| (*level, places.as_slice()))
    }

    /// The edges of a group, in order of time.
    pub fn places(&self, group: &Group) -> &[usize] {
        let levels = self.places.get(&group.factor);
        let places = levels.and_then(|levels| levels.get(group.level.as_str()));
        places.map_or(&[], Vec::as_slice)
    }

    /// Those within a range; all in it where there is no group.
    pub fn within(&self, group: Option<&Group>, range: Range<usize>) -> Vec<usize> {
        match group {
            Some(group) => {
                let places = self.places(group).iter().copied();
                places.filter(|place| range.contains(place)).collect()
            }
            None => range.collect(),
        }
    }

    /// Of every edge, whether it is one of the group's; all are where there is none.
    pub fn has(&self, group: Option<&Group>) -> Vec<bool> {
        let Some(group) = group else {
            return vec![true; self.edges];
        };
        let mut has = vec![false; self.edges];
        for place in self.places(group) {
            has[*place] = true;
        }
        has
    }
}
