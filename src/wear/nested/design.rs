//! The design on which the spreads of group effects lie: boxes of shares of their priors.

use super::Nested;
use super::integrals::Integrals;
use crate::numerics::normal;
use crate::wear::density::WearDensity;
use crate::wear::prior::HalfNormal;
use rayon::prelude::*;

/// A box of the design: for each grouping a range of shares of its spread's prior.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Lower and upper share of each spread's prior.
    pub shares: Vec<(f64, f64)>,
    /// The spreads in its middle.
    pub middle: Vec<f64>,
    /// Its approximate posterior probability.
    pub probability: f64,
}

/// A side of cells: a range of shares of a spread's prior, and the spread in its middle.
struct Side {
    range: (f64, f64),
    middle: f64,
}

/// A range of a spread that holds more of the posterior than this tells too little: bounds are laid anew, closer.
const CROWDED: f64 = 0.75;
/// Times that they are; each narrows them several times over.
const ROUNDS: usize = 4;
/// So many cells are worth a thread of their own: of a crew, a tenth of a millisecond.
const LEAST_CELLS: usize = 64;
/// Bounds laid anew reach so many standard deviations of a normal posterior to either side.
const REACH: f64 = 2.3;

impl Cell {
    /// The part of the prior that lies in it.
    pub fn prior(&self) -> f64 {
        self.shares.iter().map(|(low, high)| high - low).product()
    }

    fn split(&self, sides: &[Side]) -> Vec<Self> {
        let inside = sides.iter().map(|side| {
            let mut inside = self.clone();
            inside.shares.push(side.range);
            inside.middle.push(side.middle);
            inside
        });
        inside.collect()
    }
}

impl Side {
    fn of(prior: &HalfNormal, low: f64, high: f64) -> Self {
        Self {
            range: (low, high),
            middle: prior.quantile(low + 0.5 * (high - low)),
        }
    }
}

impl Nested {
    /// Cells between these bounds, which are normal scores of the share of a spread's prior that lies below; closer
    /// round the posterior where that is far narrower than the prior, as a fleet's is. Empty where the approximation
    /// has no top anywhere.
    pub(super) fn design(&self, density: &WearDensity, scores: &[f64]) -> Vec<Cell> {
        let below = |score: &f64| normal::log_lower_tail(*score).exp();
        let mut bounds = vec![whole(scores.iter().map(below)); self.priors.len()];
        let mut cells = self.cells_between(density, &bounds);
        for _ in 0..ROUNDS {
            let mut crowded = false;
            for (grouping, bounds) in bounds.iter_mut().enumerate() {
                let held = held(&cells, grouping, bounds);
                if held.iter().any(|held| *held > CROWDED) {
                    (*bounds, crowded) = (closer(bounds, &held), true);
                }
            }
            if !crowded {
                break;
            }
            cells = self.cells_between(density, &bounds);
        }
        cells
    }

    fn cells_between(&self, density: &WearDensity, bounds: &[Vec<f64>]) -> Vec<Cell> {
        let mut cells = vec![Cell {
            shares: Vec::new(),
            middle: Vec::new(),
            probability: 0.0,
        }];
        for (bounds, prior) in bounds.iter().zip(&self.priors) {
            let sides = bounds.windows(2);
            let sides: Vec<Side> = sides.map(|it| Side::of(prior, it[0], it[1])).collect();
            cells = cells.iter().flat_map(|cell| cell.split(&sides)).collect();
        }
        let integrals = Integrals::of(self, density);
        let log = |cell: &Cell| {
            let integral = integrals.log_given(&cell.middle);
            integral.unwrap_or(f64::NEG_INFINITY) + cell.prior().ln()
        };
        let logs = cells.par_iter().with_min_len(LEAST_CELLS).map(log);
        let logs: Vec<f64> = logs.collect();
        let largest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if largest == f64::NEG_INFINITY {
            return Vec::new();
        }
        let total: f64 = logs.iter().map(|log| (log - largest).exp()).sum();
        for (cell, log) in cells.iter_mut().zip(&logs) {
            cell.probability = (log - largest).exp() / total;
        }
        cells
    }
}

/// Bounds of ranges that hold everything.
fn whole(inner: impl Iterator<Item = f64>) -> Vec<f64> {
    [0.0].into_iter().chain(inner).chain([1.0]).collect()
}

/// The probability of each range of one grouping's spread.
fn held(cells: &[Cell], grouping: usize, bounds: &[f64]) -> Vec<f64> {
    let mut held = vec![0.0; bounds.len() - 1];
    for cell in cells {
        let (low, _) = cell.shares[grouping];
        let range = bounds.partition_point(|bound| *bound <= low);
        held[range - 1] += cell.probability;
    }
    held
}

/// As many bounds, where the quantiles of the posterior lie if it is even within each range.
fn closer(bounds: &[f64], held: &[f64]) -> Vec<f64> {
    let inner = bounds.len() - 2;
    let score = |place: usize| REACH * (2.0 * place as f64 / (inner as f64 - 1.0) - 1.0);
    let quantile = |place: usize| {
        let wanted = normal::log_lower_tail(score(place)).exp();
        let mut below = 0.0;
        for (range, held) in bounds.windows(2).zip(held) {
            if below + held >= wanted && *held > 0.0 {
                return range[0] + (range[1] - range[0]) * (wanted - below) / held;
            }
            below += held;
        }
        1.0
    };
    whole((0..inner).map(quantile))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closer_bounds_hold_about_as_much_each_as_of_a_normal_law() {
        let bounds = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0];
        let closer = closer(&bounds, &[0.0, 0.02, 0.96, 0.02, 0.0]);
        assert_eq!(closer.len(), bounds.len());
        assert!(closer.is_sorted(), "{closer:?}");
        // The middle of a posterior that is even on either side, and its tails.
        assert!((closer[1] - 0.307).abs() < 0.001, "{closer:?}");
        assert!((closer[2] + closer[3] - 1.0).abs() < 1e-12, "{closer:?}");
    }

    #[test]
    fn each_cell_counts_for_its_own_range() {
        let cell = |low: f64, probability| Cell {
            shares: vec![(0.0, 1.0), (low, low + 0.5)],
            middle: Vec::new(),
            probability,
        };
        // Shares that add up without rounding.
        let cells = [cell(0.0, 0.25), cell(0.5, 0.625), cell(0.0, 0.125)];
        assert_eq!(held(&cells, 1, &[0.0, 0.5, 1.0]), [0.375, 0.625]);
        assert_eq!(held(&cells, 0, &[0.0, 1.0]), [1.0]);
    }
}
