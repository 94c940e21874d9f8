//! The distinct covariate rows of a data set: what hours of work were like.

use super::wear_sum::WearSum;
use crate::numerics::lanes::{LANES, exp_each};
use std::collections::HashMap;

/// The covariates of a row that are not zero, by column.
type SparseRow = Vec<(usize, f64)>;

/// The distinct covariate rows of a data set, so that each rate is computed once.
#[derive(Debug, Clone, Default)]
pub struct CovariateRows {
    rows: Vec<SparseRow>,
    /// The same with its zeros, column by column.
    columns: Vec<Vec<f64>>,
    /// Where each row stands, by its bits.
    known: HashMap<Vec<u64>, usize>,
    /// Room for the bits of the row that is looked up.
    bits: Vec<u64>,
}

/// Every row's wear rate, as a share of the fastest.
#[derive(Debug, Clone)]
pub struct Rates {
    /// The log of the fastest.
    pub log_fastest: f64,
    /// The log of each.
    pub log_rates: Vec<f64>,
    /// Each over the fastest.
    pub shares: Vec<f64>,
}

impl CovariateRows {
    /// None yet, of `columns` covariates each.
    pub fn new(columns: usize) -> Self {
        Self {
            columns: vec![Vec::new(); columns],
            ..Self::default()
        }
    }

    /// Number of covariates in a row.
    pub fn columns(&self) -> usize {
        self.columns.len()
    }

    /// The covariates of a row that are not zero, by column.
    pub fn row(&self, row: usize) -> &[(usize, f64)] {
        &self.rows[row]
    }

    /// The index of `row`, which is added if new.
    pub fn index(&mut self, row: impl Iterator<Item = f64> + Clone) -> usize {
        // Adding zero makes one of the two zeros.
        self.bits.clear();
        self.bits.extend(row.clone().map(|x| (x + 0.0).to_bits()));
        if let Some(known) = self.known.get(self.bits.as_slice()) {
            return *known;
        }
        let entries = row.enumerate();
        let number = self.push(entries.filter(|(_, x)| *x != 0.0).collect());
        self.known.insert(self.bits.clone(), number);
        number
    }

    fn push(&mut self, row: SparseRow) -> usize {
        let number = self.rows.len();
        for column in &mut self.columns {
            column.push(0.0);
        }
        for &(column, x) in &row {
            self.columns[column][number] = x;
        }
        self.rows.push(row);
        number
    }

    /// The rows alone that these sums speak of, which speak of them by their new numbers then.
    pub fn of_sums<'a>(&self, sums: impl Iterator<Item = &'a mut WearSum>) -> Self {
        let mut kept = Self::new(self.columns());
        let mut numbers: Vec<Option<usize>> = vec![None; self.rows.len()];
        for (row, _) in sums.flat_map(WearSum::parts_mut) {
            let number = numbers[*row].get_or_insert_with(|| kept.push(self.rows[*row].clone()));
            *row = *number;
        }
        kept
    }

    /// Each row's wear rate at coefficients `beta`.
    pub fn rates(&self, beta: &[f64]) -> Rates {
        let mut log_rates = vec![0.0; self.rows.len()];
        pulp::Arch::new().dispatch(Combined {
            columns: &self.columns,
            factors: beta,
            sum: &mut log_rates,
        });
        let log_fastest = log_rates.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut shares: Vec<f64> = log_rates.iter().map(|log| log - log_fastest).collect();
        exp_each(&mut shares);
        Rates {
            shares,
            log_rates,
            log_fastest,
        }
    }

    /// From slopes by each row's log rate to slopes by the coefficients.
    pub fn by_coefficient(&self, by_log_rate: &[f64]) -> Vec<f64> {
        let mut slopes = vec![0.0; self.columns()];
        pulp::Arch::new().dispatch(Products {
            columns: &self.columns,
            with: by_log_rate,
            products: &mut slopes,
        });
        slopes
    }
}

impl Rates {
    /// Nothing yet for each row.
    pub fn zeros(&self) -> Vec<f64> {
        vec![0.0; self.shares.len()]
    }
}

/// Adds columns, each times its factor.
struct Combined<'a> {
    columns: &'a [Vec<f64>],
    factors: &'a [f64],
    sum: &'a mut [f64],
}

impl pulp::WithSimd for Combined<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        for (column, factor) in self.columns.iter().zip(self.factors) {
            for (sum, x) in self.sum.iter_mut().zip(column) {
                *sum += factor * x;
            }
        }
    }
}

/// The sum of each column's products with another.
struct Products<'a> {
    columns: &'a [Vec<f64>],
    with: &'a [f64],
    products: &'a mut [f64],
}

impl pulp::WithSimd for Products<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        for (product, column) in self.products.iter_mut().zip(self.columns) {
            let mut lanes = [0.0; LANES];
            let (ours, theirs) = (column.chunks_exact(LANES), self.with.chunks_exact(LANES));
            let rest = ours.remainder().iter().zip(theirs.remainder());
            for (ours, theirs) in ours.zip(theirs) {
                for ((lane, x), y) in lanes.iter_mut().zip(ours).zip(theirs) {
                    *lane += x * y;
                }
            }
            let rest: f64 = rest.map(|(x, y)| x * y).sum();
            *product = lanes.iter().sum::<f64>() + rest;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn rates_and_slopes_are_those_of_each_row_alone() {
        let mut rows = CovariateRows::new(3);
        let row = |i: usize| vec![i as f64 % 4.0, 0.0, (i * 7) as f64 % 5.0 - 2.0];
        let numbers: Vec<usize> = (0..43).map(|i| rows.index(row(i).into_iter())).collect();
        // Every twentieth is alike.
        assert_eq!(numbers[..20], (0..20).collect::<Vec<_>>());
        assert_eq!(numbers[20..40], numbers[..20]);
        let beta = [0.3, -2.0, 0.9];
        let rates = rows.rates(&beta);
        let by_rate: Vec<f64> = (0..20).map(|i| f64::from(i) - 7.5).collect();
        let slopes = rows.by_coefficient(&by_rate);
        for (number, (log, share)) in rates.log_rates.iter().zip(&rates.shares).enumerate() {
            let own = row(number);
            let expected: f64 = own.iter().zip(&beta).map(|(x, b)| x * b).sum();
            assert_relative_eq!(*log, expected, max_relative = 1e-14);
            assert_relative_eq!(
                *share,
                (expected - rates.log_fastest).exp(),
                max_relative = 1e-14
            );
        }
        for (column, slope) in slopes.iter().enumerate() {
            let expected: f64 = (0..20).map(|i| row(i)[column] * by_rate[i]).sum();
            assert_relative_eq!(*slope, expected, max_relative = 1e-13, epsilon = 1e-13);
        }
    }
}
