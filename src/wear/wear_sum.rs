//! Wear hours as a function of the wear-rate coefficients.
//!
//! ```text
//! u(beta) = sum over rows of hours x exp(row . beta)
//! ```
//!
//! The likelihood sees only `ln u`. Its gradient is the mean of the covariate rows weighted by their
//! wear, its Hessian their weighted covariance.

use nalgebra::{DMatrix, DVector};

/// The distinct covariate rows of a data set, so that each rate is computed once.
#[derive(Debug, Clone, Default)]
pub struct CovariateRows {
    columns: usize,
    rows: Vec<Vec<f64>>,
}

impl CovariateRows {
    /// None yet, of `columns` covariates each.
    pub fn new(columns: usize) -> Self {
        Self {
            columns,
            rows: Vec::new(),
        }
    }

    /// Number of covariates in a row.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// The index of `row`, which is added if new.
    pub fn index(&mut self, row: &[f64]) -> usize {
        match self.rows.iter().position(|known| known == row) {
            Some(index) => index,
            None => {
                self.rows.push(row.to_vec());
                self.rows.len() - 1
            }
        }
    }

    /// `row . beta` for each row: the log of its wear rate.
    pub fn log_rates(&self, beta: &[f64]) -> Vec<f64> {
        self.rows
            .iter()
            .map(|row| row.iter().zip(beta).map(|(x, b)| x * b).sum())
            .collect()
    }
}

/// `ln` of a sum of hours by covariate row; at least one row with hours above zero.
#[derive(Debug, Clone, PartialEq)]
pub struct WearSum {
    /// Row index and log of the hours.
    parts: Vec<(usize, f64)>,
}

/// Value and derivatives of a [`WearSum`].
#[derive(Debug, Clone)]
pub struct WearSumAt {
    /// `ln u`.
    pub value: f64,
    /// `d ln u / d beta`.
    pub mean: DVector<f64>,
    /// Second derivatives.
    pub covariance: DMatrix<f64>,
}

impl WearSum {
    /// Gathers hours by row; `None` where there are no hours at all.
    pub fn new(parts: impl IntoIterator<Item = (usize, f64)>) -> Option<Self> {
        let mut gathered: Vec<(usize, f64)> = Vec::new();
        for (row, hours) in parts.into_iter().filter(|(_, hours)| *hours > 0.0) {
            match gathered.iter_mut().find(|(known, _)| *known == row) {
                Some((_, sum)) => *sum += hours,
                None => gathered.push((row, hours)),
            }
        }
        for (_, hours) in &mut gathered {
            *hours = hours.ln();
        }
        (!gathered.is_empty()).then_some(Self { parts: gathered })
    }

    /// Evaluates it at the log rates of `rows`.
    pub fn at(&self, rows: &CovariateRows, log_rates: &[f64]) -> WearSumAt {
        let logs: Vec<f64> = self
            .parts
            .iter()
            .map(|&(row, hours)| hours + log_rates[row])
            .collect();
        let largest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = logs.iter().map(|log| (log - largest).exp()).sum();
        let value = largest + total.ln();
        let columns = rows.columns();
        let mut mean = DVector::zeros(columns);
        let mut covariance = DMatrix::zeros(columns, columns);
        if columns > 0 {
            let shares: Vec<f64> = logs.iter().map(|log| (log - value).exp()).collect();
            for (&(row, _), share) in self.parts.iter().zip(&shares) {
                for (m, x) in mean.iter_mut().zip(&rows.rows[row]) {
                    *m += share * x;
                }
            }
            for (&(row, _), share) in self.parts.iter().zip(&shares) {
                let offset = DVector::from_row_slice(&rows.rows[row]) - &mean;
                covariance.ger(*share, &offset, &offset, 1.0);
            }
        }
        WearSumAt {
            value,
            mean,
            covariance,
        }
    }
}
