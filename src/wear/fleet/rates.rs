//! Wear of an edge's segments with its slopes by the coefficients of the wear rate.

use super::shape::Shape;
use crate::lives::CovariateRows;

/// Where distinct rows are more than this, a table of their rates would not fit into the processor's cache.
const MOST: usize = 1 << 16;

/// Wear rates under one set of coefficients.
pub(super) struct Rates<'r> {
    shape: Shape,
    rows: &'r CovariateRows,
    coefficients: &'r [f64],
    /// Whether second slopes are wanted.
    bends: bool,
    /// For each row the rate, then rate times each covariate, then, if second slopes are wanted, rate times each product
    /// of two.
    table: Option<Vec<f64>>,
}

impl<'r> Rates<'r> {
    pub(super) fn new(rows: &'r CovariateRows, coefficients: &'r [f64], bends: bool) -> Self {
        Self::with_table(rows, coefficients, bends, rows.len() <= MOST)
    }

    fn with_table(
        rows: &'r CovariateRows,
        coefficients: &'r [f64],
        bends: bool,
        table: bool,
    ) -> Self {
        let shape = Shape {
            covariates: coefficients.len(),
        };
        let mut rates = Self {
            shape,
            rows,
            coefficients,
            bends,
            table: None,
        };
        if table {
            let width = rates.width();
            let mut values = vec![0.0; width * rows.len()];
            for (number, into) in (0..).zip(values.chunks_exact_mut(width)) {
                rates.add_row(number, 1.0, into);
            }
            rates.table = Some(values);
        }
        rates
    }

    /// Sums of a segment: wear, its slopes, and if wanted its second slopes row by row from the diagonal on.
    pub(super) fn width(&self) -> usize {
        let products = if self.bends { self.shape.products() } else { 0 };
        1 + self.shape.covariates + products
    }

    /// The log of a row's rate.
    pub(super) fn log_rate(&self, row: u32) -> f64 {
        let products = self.rows.row(row).iter().zip(self.coefficients);
        products.map(|(x, b)| x * b).sum()
    }

    pub(super) fn row(&self, row: u32) -> &[f64] {
        self.rows.row(row)
    }

    fn add_row(&self, row: u32, hours: f64, sums: &mut [f64]) {
        let wear = hours * self.log_rate(row).exp();
        let x = self.rows.row(row);
        let mut sums = sums.iter_mut();
        let mut add = |amount: f64| {
            if let Some(sum) = sums.next() {
                *sum += amount;
            }
        };
        add(wear);
        x.iter().for_each(|x| add(wear * x));
        if !self.bends {
            return;
        }
        for (j, one) in x.iter().enumerate() {
            x.iter().skip(j).for_each(|other| add(wear * one * other));
        }
    }

    /// Adds so many hours under each of some rows.
    #[inline]
    pub(super) fn add(&self, rows: &[u32], hours: &[f64], sums: &mut [f64]) {
        let segments = rows.iter().zip(hours);
        match &self.table {
            Some(table) => {
                let width = sums.len();
                for (row, hours) in segments {
                    let start = *row as usize * width;
                    let of_row = table.get(start..start + width).unwrap_or_default();
                    for (sum, rate) in sums.iter_mut().zip(of_row) {
                        *sum += hours * rate;
                    }
                }
            }
            None => segments.for_each(|(row, hours)| self.add_row(*row, *hours, sums)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_table_of_rates_says_what_each_row_says() {
        let mut rows = CovariateRows::new(2);
        let numbers: Vec<u32> = [[0.5, 1.0], [-0.25, 0.0], [0.5, 1.0]]
            .iter()
            .map(|row| rows.number(row))
            .collect();
        assert_eq!(numbers, [0, 1, 0]);
        let sums = |table: bool| {
            let rates = Rates::with_table(&rows, &[0.3, -0.8], true, table);
            let mut sums = vec![0.0; rates.width()];
            rates.add(&numbers, &[2.0, 3.0, 1.5], &mut sums);
            sums
        };
        let (tabled, plain) = (sums(true), sums(false));
        assert_eq!(tabled.len(), 6);
        for (tabled, plain) in tabled.iter().zip(plain) {
            assert_relative_eq!(*tabled, plain, max_relative = 1e-15);
        }
        let wear = 3.5 * (0.15 - 0.8_f64).exp() + 3.0 * (-0.075_f64).exp();
        assert_relative_eq!(tabled[0], wear, max_relative = 1e-15);
    }
}
