//! The heaviest run of numbers that never fall, out of a list in which some are wrong.

/// Which entries of `values` to keep, so that the kept ones never fall and their weights add up to
/// the most. With a few wrong readings among many right ones, this keeps the right ones: dropping
/// the wrong ones costs less than dropping everything they contradict.
///
/// Source: the longest increasing subsequence (Fredman 1975), with weights and a tree of prefix
/// maxima, in `n ln n` steps. Weights are above zero.
pub(super) fn heaviest_nondecreasing(values: &[(f64, u32)]) -> Vec<bool> {
    // Nothing is wrong with most meters.
    if values.is_sorted_by(|before, after| before.0 <= after.0) {
        return vec![true; values.len()];
    }
    let mut best = PrefixMaxima::over(values.iter().map(|(value, _)| *value));
    let mut chains: Vec<Chain> = Vec::with_capacity(values.len());
    for (index, (value, weight)) in values.iter().enumerate() {
        let rank = best.rank(*value);
        let before = best.up_to(rank, &chains);
        let weight = u64::from(*weight) + before.map_or(0, |at| chains[at].weight);
        chains.push(Chain { weight, before });
        best.raise(rank, index, &chains);
    }
    keep_along(&chains)
}

struct Chain {
    weight: u64,
    before: Option<usize>,
}

fn keep_along(chains: &[Chain]) -> Vec<bool> {
    let mut kept = vec![false; chains.len()];
    let mut next = (0..chains.len()).max_by_key(|at| chains[*at].weight);
    while let Some(at) = next {
        kept[at] = true;
        next = chains[at].before;
    }
    kept
}

/// A Fenwick tree: the heaviest chain that ends at a value of no higher rank than the one asked about.
struct PrefixMaxima {
    sorted: Vec<f64>,
    tree: Vec<Option<usize>>,
}

impl PrefixMaxima {
    fn over(values: impl Iterator<Item = f64>) -> Self {
        let mut sorted: Vec<f64> = values.collect();
        sorted.sort_by(f64::total_cmp);
        sorted.dedup();
        let tree = vec![None; sorted.len() + 1];
        Self { sorted, tree }
    }

    /// The 1-based place of `value` among the distinct values.
    fn rank(&self, value: f64) -> usize {
        self.sorted.partition_point(|known| *known <= value)
    }

    fn up_to(&self, mut rank: usize, chains: &[Chain]) -> Option<usize> {
        let mut found: Option<usize> = None;
        while rank > 0 {
            found = heavier(found, self.tree[rank], chains);
            rank &= rank - 1;
        }
        found
    }

    fn raise(&mut self, mut rank: usize, index: usize, chains: &[Chain]) {
        while rank < self.tree.len() {
            self.tree[rank] = heavier(self.tree[rank], Some(index), chains);
            rank += rank & rank.wrapping_neg();
        }
    }
}

fn heavier(one: Option<usize>, other: Option<usize>, chains: &[Chain]) -> Option<usize> {
    one.into_iter()
        .chain(other)
        .max_by_key(|at| (chains[*at].weight, *at))
}

#[cfg(test)]
mod tests {
    use super::heaviest_nondecreasing;

    fn kept(values: &[(f64, u32)]) -> Vec<f64> {
        let keep = heaviest_nondecreasing(values);
        let pairs = values.iter().zip(keep);
        pairs.filter(|(_, keep)| *keep).map(|(v, _)| v.0).collect()
    }

    #[test]
    fn readings_in_order_are_all_kept() {
        let values = [(1.0, 1), (1.0, 1), (2.0, 1), (5.0, 1)];
        assert_eq!(kept(&values), [1.0, 1.0, 2.0, 5.0]);
    }

    #[test]
    fn one_wrong_digit_is_dropped_and_the_rest_stays() {
        let values = [(100.0, 1), (108.0, 1), (1112.0, 1), (116.0, 1), (120.0, 1)];
        assert_eq!(kept(&values), [100.0, 108.0, 116.0, 120.0]);
    }

    #[test]
    fn weight_decides_between_two_that_contradict_each_other() {
        assert_eq!(
            kept(&[(100.0, 1), (108.0, 3), (106.0, 2), (112.0, 3)]),
            [100.0, 108.0, 112.0]
        );
    }

    #[test]
    fn the_chain_is_as_heavy_as_the_heaviest_of_all_subsets() {
        let values = [
            (3.0, 2),
            (1.0, 1),
            (2.0, 3),
            (2.0, 1),
            (0.0, 5),
            (4.0, 1),
            (1.0, 2),
        ];
        let best = (0u32..128)
            .filter_map(|set| weight_if_nondecreasing(&values, set))
            .max();
        let keep = heaviest_nondecreasing(&values);
        let ours: u32 = values
            .iter()
            .zip(keep)
            .filter(|(_, keep)| *keep)
            .map(|(v, _)| v.1)
            .sum();
        assert_eq!(Some(ours), best);
    }

    fn weight_if_nondecreasing(values: &[(f64, u32)], set: u32) -> Option<u32> {
        let chosen: Vec<_> = (0..values.len())
            .filter(|at| set >> at & 1 == 1)
            .map(|at| values[at])
            .collect();
        chosen
            .windows(2)
            .all(|two| two[0].0 <= two[1].0)
            .then(|| chosen.iter().map(|v| v.1).sum())
    }
}
