//! Where group effects stand.

use super::records::{EdgeRecord, Grouping};
use crate::numerics::Blocks;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// So many effects may stand in the corner, beside the parameters that all edges share: its cost grows as the cube.
const CORNER: usize = 40;
/// A block may hold so many.
const BLOCK: usize = 120;

/// Where group effects stand. Effects are numbered through all groupings in turn. Given what all share, the effects
/// of edges that have none in common know nothing of each other: they stand in blocks of their own. The grouping with
/// the most levels stands in blocks, each of one; of the others those that are too many for the corner join the blocks
/// of the edges that they belong to (the machines of a fleet, each with its sets).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Effects {
    /// Where each grouping's effects begin; one more at the end.
    starts: Vec<usize>,
    /// The effects of each block.
    members: Vec<Vec<usize>>,
    /// The place of each effect behind the parameters that all share.
    places: Vec<usize>,
    blocks: Arc<Blocks>,
}

impl Effects {
    /// Of these groupings, as these edges bring their levels together.
    pub fn of(groupings: &[Grouping], edges: &[EdgeRecord]) -> Self {
        let starts = starts(groupings);
        let levels = |grouping: usize| groupings[grouping].levels.len();
        let mut by_levels: Vec<usize> = (0..groupings.len()).rev().collect();
        by_levels.sort_by_key(|&grouping| std::cmp::Reverse(levels(grouping)));
        let mut inside: Vec<usize> = by_levels.iter().take(1).copied().collect();
        let mut members = components(&starts, &inside, edges);
        for &grouping in by_levels.iter().skip(1) {
            let in_blocks: usize = members.iter().map(Vec::len).sum();
            if starts[groupings.len()] - in_blocks <= CORNER {
                break;
            }
            let with_it: Vec<usize> = inside.iter().copied().chain([grouping]).collect();
            let larger = components(&starts, &with_it, edges);
            if larger.iter().all(|block| block.len() <= BLOCK) {
                (inside, members) = (with_it, larger);
            }
        }
        Self::arranged(starts, members)
    }

    /// Of these groupings, their effects in these blocks; `None` where an effect stands in two, or in none.
    pub fn in_blocks(groupings: &[Grouping], members: Vec<Vec<usize>>) -> Option<Self> {
        let starts = starts(groupings);
        let mut seen = vec![false; starts[groupings.len()]];
        let mut all = members.iter().flatten();
        let fits = all.all(|&effect| {
            let fresh = seen.get(effect).is_some_and(|seen| !seen);
            if fresh {
                seen[effect] = true;
            }
            fresh
        });
        fits.then(|| Self::arranged(starts, members))
    }

    fn arranged(starts: Vec<usize>, members: Vec<Vec<usize>>) -> Self {
        let count = starts.last().copied().unwrap_or(0);
        let mut places = vec![None; count];
        let corner = count - members.iter().map(Vec::len).sum::<usize>();
        for (behind, &effect) in members.iter().flatten().enumerate() {
            places[effect] = Some(corner + behind);
        }
        let mut next = 0..;
        let places = places.into_iter();
        Self {
            places: places
                .map(|place| place.or_else(|| next.next()).unwrap_or_default())
                .collect(),
            blocks: Arc::new(Blocks::of(members.iter().map(Vec::len))),
            starts,
            members,
        }
    }

    /// How many effects there are.
    pub fn count(&self) -> usize {
        self.places.len()
    }

    /// The effects of one grouping.
    pub fn of_grouping(&self, grouping: usize) -> Range<usize> {
        self.starts[grouping]..self.starts[grouping + 1]
    }

    /// How many effects stand in the corner.
    pub fn in_corner(&self) -> usize {
        self.count() - self.blocks.dimension()
    }

    /// The blocks behind the corner.
    pub fn blocks(&self) -> &Arc<Blocks> {
        &self.blocks
    }

    /// The effects of each block.
    pub fn members(&self) -> &[Vec<usize>] {
        &self.members
    }

    /// The block in which an effect stands; `None` for one in the corner.
    pub fn block(&self, effect: usize) -> Option<usize> {
        let behind = self.places[effect].checked_sub(self.in_corner())?;
        Some(self.blocks.find(behind))
    }

    /// Where in its block an effect stands; `None` for one in the corner.
    pub fn place_in_block(&self, effect: usize) -> Option<usize> {
        let behind = self.places[effect].checked_sub(self.in_corner())?;
        Some(behind - self.blocks.first(behind))
    }

    /// The place of an effect in a vector that begins with `shared` parameters, then holds the effects of the corner,
    /// then the blocks.
    pub fn place(&self, effect: usize, shared: usize) -> usize {
        shared + self.places[effect]
    }
}

fn starts(groupings: &[Grouping]) -> Vec<usize> {
    let mut starts = vec![0];
    for grouping in groupings {
        starts.push(starts[starts.len() - 1] + grouping.levels.len());
    }
    starts
}

/// The effects of these groupings that edges bring together, in the order of each block's first.
fn components(starts: &[usize], groupings: &[usize], edges: &[EdgeRecord]) -> Vec<Vec<usize>> {
    let mut joined = Joined((0..starts[starts.len() - 1]).collect());
    for edge in edges {
        let level = |&grouping: &usize| {
            let level = edge.groups.get(grouping).copied().flatten();
            level.map(|level| starts[grouping] + level)
        };
        let own: Vec<usize> = groupings.iter().filter_map(level).collect();
        own.windows(2)
            .for_each(|pair| joined.join(pair[0], pair[1]));
    }
    let mut blocks: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for &grouping in groupings {
        for effect in starts[grouping]..starts[grouping + 1] {
            blocks.entry(joined.first(effect)).or_default().push(effect);
        }
    }
    blocks.into_values().collect()
}

/// Sets that are joined, each known by its first member (Tarjan, Journal of the ACM 22, 1975).
struct Joined(Vec<usize>);

impl Joined {
    fn first(&mut self, mut member: usize) -> usize {
        while self.0[member] != member {
            self.0[member] = self.0[self.0[member]];
            member = self.0[member];
        }
        member
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.first(one), self.first(other));
        self.0[one.max(other)] = one.min(other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grouping(levels: usize) -> Grouping {
        Grouping {
            name: String::new(),
            levels: vec![String::new(); levels],
        }
    }

    fn edge(groups: [Option<usize>; 3]) -> EdgeRecord {
        EdgeRecord {
            groups: groups.to_vec(),
            ..EdgeRecord::default()
        }
    }

    fn places(effects: &Effects) -> Vec<usize> {
        (0..effects.count()).map(|e| effects.place(e, 4)).collect()
    }

    #[test]
    fn a_crew_has_its_most_numerous_grouping_behind_the_corner() {
        let effects = Effects::of(&[grouping(2), grouping(5), grouping(3)], &[]);
        assert_eq!(places(&effects), [4, 5, 9, 10, 11, 12, 13, 6, 7, 8]);
        assert_eq!((effects.in_corner(), effects.blocks().len()), (5, 5));
    }

    /// A hundred machines with two sets each, and two grinders who grind for all.
    fn fleet(set_of: impl Fn(usize, usize) -> usize) -> Effects {
        let edges: Vec<EdgeRecord> = (0..100)
            .flat_map(|machine| {
                let set = &set_of;
                (0..2).map(move |own| edge([Some(machine), Some(set(machine, own)), Some(own)]))
            })
            .collect();
        Effects::of(&[grouping(100), grouping(200), grouping(2)], &edges)
    }

    #[test]
    fn the_machines_of_a_fleet_stand_with_their_sets() {
        let effects = fleet(|machine, own| 2 * machine + own);
        assert_eq!((effects.in_corner(), effects.blocks().len()), (2, 100));
        let block = &effects.members()[7];
        assert_eq!(*block, [114, 115, 7]);
        let mut places = places(&effects);
        places.sort_unstable();
        assert_eq!(places, (4..306).collect::<Vec<usize>>());
        let again = Effects::in_blocks(
            &[grouping(100), grouping(200), grouping(2)],
            effects.members().to_vec(),
        );
        assert_eq!(again, Some(effects));
    }

    #[test]
    fn sets_that_go_round_the_whole_fleet_leave_the_machines_in_the_corner() {
        // The grinders join the hundred sets in use, which are few enough.
        let effects = fleet(|machine, own| 2 * (machine + own) % 200);
        assert_eq!((effects.in_corner(), effects.blocks().len()), (100, 101));
        assert!((0..100).all(|machine| effects.block(machine).is_none()));
    }

    #[test]
    fn blocks_that_share_an_effect_are_none() {
        let groupings = [grouping(2), grouping(2)];
        assert!(Effects::in_blocks(&groupings, vec![vec![0, 2], vec![2]]).is_none());
        assert!(Effects::in_blocks(&groupings, vec![vec![4]]).is_none());
    }
}
