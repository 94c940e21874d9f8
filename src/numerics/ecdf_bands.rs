//! Simultaneous bands around the distribution function of a uniform sample.
//!
//! Saeilynoja, Buerkner and Vehtari, Graphical test for discrete uniformity and its applications in
//! goodness-of-fit evaluation and multiple sample comparison, Statistics and Computing 32:32, 2022.

use statrs::function::beta::beta_reg;
use statrs::function::factorial::ln_factorial;

/// The tail probability is searched to this relative width.
const TAIL_TOLERANCE: f64 = 1e-9;

/// Bounds on how many of a uniform sample's values lie at or below `1/K, 2/K, ..., (K-1)/K`; all hold
/// together with a stated probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Bands {
    /// Values in the sample.
    pub sample_size: usize,
    /// Least counts, one a point.
    pub lower: Vec<usize>,
    /// Largest counts, one a point.
    pub upper: Vec<usize>,
    /// Probability that a uniform sample lies inside at every point: the least reachable one that is not
    /// below what was asked for (counts are whole numbers, so it moves in steps).
    pub coverage: f64,
}

impl Bands {
    /// Whether a sample lies inside at every point. False where it holds another number of values than
    /// the bands are for, or one outside 0 to 1.
    ///
    /// For ranks `0..=L` hand in `(rank + 1) / (L + 1)`, with bands whose number of points divides `L + 1`:
    /// there a uniform rank has the uniform distribution function, exactly.
    pub fn inside(&self, values: &[f64]) -> bool {
        let points = (self.lower.len() + 1) as f64;
        let bounds = self.lower.iter().zip(&self.upper).enumerate();
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        values.len() == self.sample_size
            && values.iter().all(|value| (0.0..=1.0).contains(value))
            && bounds.into_iter().all(|(i, (lower, upper))| {
                let point = (i + 1) as f64 / points;
                let count = sorted.partition_point(|&value| value <= point);
                (*lower..=*upper).contains(&count)
            })
    }
}

/// The bands that hold at all of `points - 1` inner points of an even grid together with probability
/// `coverage`, equally unlikely to be left at each of them.
///
/// At each point the count is binomial; the bounds are its quantiles at `gamma / 2` and `1 - gamma / 2`,
/// with the largest `gamma` for which the probability of staying inside everywhere is still `coverage`.
/// That probability is worked out exactly, not simulated. A `coverage` of one or more, or NaN, gives
/// bounds that always hold.
pub fn uniform_bands(sample_size: usize, points: usize, coverage: f64) -> Bands {
    let points = points.max(1);
    let kernel = Kernel::new(sample_size, points);
    let bands_at = |tail: f64| {
        let lower = lower_bounds(sample_size, points, tail);
        // The count above a point is distributed as the count below its mirror image.
        let upper: Vec<usize> = lower
            .iter()
            .rev()
            .map(|bound| sample_size - bound)
            .collect();
        let coverage = kernel.chance_inside(&lower, &upper);
        Bands {
            sample_size,
            lower,
            upper,
            coverage,
        }
    };
    let miss = if coverage < 1.0 {
        (1.0 - coverage).min(1.0)
    } else {
        0.0
    };
    // Points that are each missed with this probability or less are all hit often enough (Bonferroni).
    let mut low = miss / (2.0 * points as f64);
    let mut high = 0.5;
    let mut best = bands_at(low);
    while low > 0.0 && high > low * (1.0 + TAIL_TOLERANCE) {
        let middle = (low * high).sqrt();
        let bands = bands_at(middle);
        if bands.coverage >= coverage {
            (low, best) = (middle, bands);
        } else {
            high = middle;
        }
    }
    best
}

/// At each inner point the least count whose binomial distribution function reaches `tail`.
fn lower_bounds(sample_size: usize, points: usize, tail: f64) -> Vec<usize> {
    let mut bound = 0;
    (1..points)
        .map(|i| {
            let beyond = 1.0 - i as f64 / points as f64;
            // P(count <= bound) of the binomial, as a beta integral.
            let reached =
                |bound: usize| beta_reg((sample_size - bound) as f64, bound as f64 + 1.0, beyond);
            // Bounds ascend with the points.
            while bound < sample_size && reached(bound) < tail {
                bound += 1;
            }
            bound
        })
        .collect()
}

/// Chances of the counts in one cell of the grid.
///
/// The paper moves from point to point by binomials. The same numbers come from a Poisson process of
/// `sample_size` expected values, on condition that it has exactly `sample_size`: its counts in the cells
/// do not depend on each other, so that one list of chances serves every step (Moscovich and Nadler,
/// Statistics and Probability Letters 123, 2017).
struct Kernel {
    sample_size: usize,
    /// Poisson probabilities of `0, 1, ...` values in a cell.
    cell: Vec<f64>,
    /// Poisson probability of `sample_size` values in all cells.
    whole: f64,
}

impl Kernel {
    fn new(sample_size: usize, points: usize) -> Self {
        let mean = sample_size as f64 / points as f64;
        Self {
            sample_size,
            cell: (0..=sample_size)
                .map(|count| poisson(count, mean))
                .collect(),
            whole: poisson(sample_size, sample_size as f64),
        }
    }

    /// Probability that the counts stay within their bounds at every point.
    fn chance_inside(&self, lower: &[usize], upper: &[usize]) -> f64 {
        let mut first = 0;
        let mut chances = vec![1.0];
        for (&low, &high) in lower.iter().zip(upper) {
            chances = (low..=high)
                .map(|count| self.step(count, first, &chances))
                .collect();
            first = low;
        }
        self.step(self.sample_size, first, &chances) / self.whole
    }

    /// Chance of arriving at `count`, from the chances of `first, first + 1, ...` one point before.
    fn step(&self, count: usize, first: usize, chances: &[f64]) -> f64 {
        let Some(most) = count.checked_sub(first) else {
            return 0.0;
        };
        // From the lowest start the cell must hold `most` values, from the next one fewer, and so on.
        let cell = self.cell[..=most].iter().rev();
        chances
            .iter()
            .zip(cell)
            .map(|(chance, cell)| chance * cell)
            .sum()
    }
}

fn poisson(count: usize, mean: f64) -> f64 {
    if count == 0 {
        return (-mean).exp();
    }
    (count as f64 * mean.ln() - mean - ln_factorial(count as u64)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn one_inner_point_is_a_binomial() {
        // Six of six heads or tails: 2 / 64. Five or more: 14 / 64.
        let bands = uniform_bands(6, 2, 0.9);
        assert_eq!((bands.lower[0], bands.upper[0]), (1, 5));
        assert_relative_eq!(bands.coverage, 62.0 / 64.0, max_relative = 1e-13);
    }

    #[test]
    fn bands_mirror_each_other_and_widen_with_coverage() {
        let narrow = uniform_bands(60, 12, 0.8);
        let wide = uniform_bands(60, 12, 0.99);
        for i in 0..11 {
            assert_eq!(narrow.lower[i] + narrow.upper[10 - i], 60);
            assert!(wide.lower[i] <= narrow.lower[i] && narrow.upper[i] <= wide.upper[i]);
        }
    }

    #[test]
    fn a_sample_is_inside_only_where_it_should_be() {
        let bands = uniform_bands(100, 20, 0.95);
        let even: Vec<f64> = (0..100).map(|i| (f64::from(i) + 0.5) / 100.0).collect();
        let bent: Vec<f64> = even.iter().map(|u| u * u).collect();
        assert!(bands.inside(&even) && !bands.inside(&bent) && !bands.inside(&even[1..]));
        let ranks: Vec<f64> = (0..100).map(|i| f64::from(i % 40 + 1) / 40.0).collect();
        assert!(bands.inside(&ranks));
    }

    #[test]
    fn the_ends_of_the_arguments() {
        assert_eq!(uniform_bands(10, 5, 1.0).lower, [0; 4]);
        assert_eq!(uniform_bands(10, 5, f64::NAN).upper, [10; 4]);
        assert_relative_eq!(
            uniform_bands(10, 1, 0.9).coverage,
            1.0,
            max_relative = 1e-13
        );
        assert!(uniform_bands(0, 5, 0.9).inside(&[]));
        let narrowest = uniform_bands(10, 5, 0.0);
        assert!(
            narrowest
                .lower
                .iter()
                .zip(&narrowest.upper)
                .all(|(lower, upper)| lower <= upper)
        );
    }
}
