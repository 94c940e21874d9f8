//! Drawing again from weighted draws, and taking some of many, as evenly as whole numbers allow.

/// Systematic resampling: `count` indices, ascending, index `i` as often as its share of the total weight
/// asks, rounded down or up.
///
/// A comb of `count` teeth, `1 / count` apart and the first at `offset / count`, is laid over the running
/// sums of the weights: each tooth takes the index that it falls on. With `offset` uniform on `[0, 1)`
/// every index is taken `count w` times on average (Kitagawa, Journal of Computational and Graphical
/// Statistics 5(1), 1996). The weights need not sum to one; an index of weight zero is never taken. Empty
/// where a weight is negative or not finite, none is above zero, or `offset` lies outside `[0, 1)`.
pub fn systematic(weights: &[f64], count: usize, offset: f64) -> Vec<usize> {
    let total: f64 = weights.iter().sum();
    let usable =
        total.is_finite() && weights.iter().all(|&w| w >= 0.0) && (0.0..1.0).contains(&offset);
    let Some(last) = weights.iter().rposition(|&w| w > 0.0).filter(|_| usable) else {
        return Vec::new();
    };
    let mut taken = Vec::with_capacity(count);
    let mut running = 0.0;
    for (index, weight) in weights.iter().enumerate().take(last + 1) {
        running += weight;
        // Rounding in the running sum must not lose the last tooth.
        let teeth = if index == last {
            count
        } else {
            teeth_before(running / total, count, offset)
        };
        taken.resize(teeth.max(taken.len()), index);
    }
    taken
}

/// One of every `step` places below `length`, by turns the first and the last of them: of numbers that stand in order
/// those taken lie neither low nor high. All where `step` is 1 or less.
pub fn by_turns(length: usize, step: usize) -> impl Iterator<Item = usize> {
    let step = step.max(1);
    (0..length.div_ceil(step)).map(move |turn| {
        let first = turn * step;
        let last = (first + step).min(length) - 1;
        if turn % 2 == 0 { first } else { last }
    })
}

/// Teeth at `(offset + j) / count` below `place`.
fn teeth_before(place: f64, count: usize, offset: f64) -> usize {
    ((place * count as f64 - offset).ceil().max(0.0) as usize).min(count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_comb_laid_by_hand() {
        // Running sums 0.5, 0.75, 0.75, 1; teeth at 0.125, 0.375, 0.625, 0.875.
        assert_eq!(systematic(&[2.0, 1.0, 0.0, 1.0], 4, 0.5), [0, 0, 1, 3]);
        // A tooth at the very start of a stretch belongs to it.
        assert_eq!(systematic(&[0.0, 1.0, 1.0], 2, 0.0), [1, 2]);
        assert_eq!(systematic(&[1.0], 0, 0.3), [0_usize; 0]);
    }

    #[test]
    fn some_places_by_turns() {
        let taken = |length, step| by_turns(length, step).collect::<Vec<_>>();
        assert_eq!(taken(8, 2), [0, 3, 4, 7]);
        assert_eq!(taken(7, 3), [0, 5, 6]);
        assert_eq!(taken(3, 0), [0, 1, 2]);
        assert_eq!(taken(3, 5), [0]);
        assert_eq!(taken(0, 2), [0_usize; 0]);
        // Neither low nor high.
        let mean = taken(256, 2).iter().sum::<usize>() as f64 / 128.0;
        assert_eq!(mean, 127.5);
    }

    #[test]
    fn what_is_no_weight_takes_nothing() {
        for weights in [&[0.0, 0.0][..], &[1.0, -0.1], &[1.0, f64::NAN], &[]] {
            assert!(systematic(weights, 3, 0.5).is_empty());
        }
        assert!(systematic(&[1.0], 3, 1.0).is_empty());
    }

    proptest! {
        #[test]
        fn each_index_comes_as_often_as_its_weight_asks(
            weights in prop::collection::vec(prop_oneof![Just(0.0), 0.0..1.0f64, 0.0..1e-9f64], 1..60),
            count in 1..500usize,
            offset in 0.0..1.0f64,
        ) {
            let total: f64 = weights.iter().sum();
            prop_assume!(total > 0.0);
            let taken = systematic(&weights, count, offset);
            prop_assert_eq!(taken.len(), count);
            prop_assert!(taken.is_sorted());
            for (index, weight) in weights.iter().enumerate() {
                let asked = count as f64 * weight / total;
                let times = taken.iter().filter(|&&i| i == index).count() as f64;
                // Within 1e-9: the running sum is rounded.
                prop_assert!(times > asked - 1.0 - 1e-9 && times < asked + 1.0 + 1e-9);
                prop_assert!(*weight > 0.0 || times == 0.0);
            }
        }
    }
}
