//! Normal scores of ranks.

use crate::numerics::normal;

/// Each value's normal score: the standard normal quantile at `(rank - 3/8) / (n + 1/4)` (Blom 1958).
/// Equal values share their mean rank.
pub(super) fn normal_scores(values: &[f64]) -> Vec<f64> {
    let mut ascending: Vec<usize> = (0..values.len()).collect();
    ascending.sort_unstable_by(|&i, &j| values[i].total_cmp(&values[j]));
    let mut scores = vec![0.0; values.len()];
    let mut below = 0;
    for equal in ascending.chunk_by(|&i, &j| values[i] == values[j]) {
        let rank = below as f64 + (equal.len() as f64 + 1.0) / 2.0;
        let score = normal::quick_quantile((rank - 0.375) / (values.len() as f64 + 0.25));
        equal.iter().for_each(|&i| scores[i] = score);
        below += equal.len();
    }
    scores
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_middle_scores_zero_and_equal_values_score_the_same() {
        let scores = normal_scores(&[5.0, -1.0, 2.0, 2.0, 2.0]);
        assert_eq!(scores[2], scores[3]);
        assert_relative_eq!(scores[4], 0.0);
        assert_relative_eq!(scores[0], -scores[1], max_relative = 1e-13);
        // scipy.stats.norm.ppf(4.625 / 5.25).
        assert_relative_eq!(scores[0], 1.179_761_117_611_861_2, max_relative = 1e-10);
    }
}
