//! Covariates in their own spread, so that a fit does not depend on their units.

use super::life_table::LifeTable;
use nalgebra::{DMatrix, DVector};

/// Where each covariate is centred, and how widely it spreads.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardisation {
    means: Vec<f64>,
    scales: Vec<f64>,
}

impl Standardisation {
    /// Of the columns of `table`; a constant column keeps its own scale.
    pub fn of(table: &LifeTable) -> Self {
        let count = table.covariates.len().max(1) as f64;
        let column = |j: usize| table.covariates.iter().map(move |row| row[j]);
        let columns = 0..table.covariate_names.len();
        let means: Vec<f64> = columns
            .clone()
            .map(|j| column(j).sum::<f64>() / count)
            .collect();
        let scales = columns
            .map(|j| (column(j).map(|x| (x - means[j]).powi(2)).sum::<f64>() / count).sqrt())
            .map(|scale| if scale > 0.0 { scale } else { 1.0 })
            .collect();
        Self { means, scales }
    }

    /// One row in spreads from the centre.
    pub fn row(&self, x: &[f64]) -> Vec<f64> {
        x.iter()
            .zip(&self.means)
            .zip(&self.scales)
            .map(|((x, mean), scale)| (x - mean) / scale)
            .collect()
    }

    /// The whole table so.
    pub fn table(&self, table: &LifeTable) -> LifeTable {
        table.with_rows(table.covariates.iter().map(|row| self.row(row)).collect())
    }

    /// The matrix that takes `(intercept, b.., log sigma or nothing)` back to the covariates' own units:
    /// `b = b' / scale`, `intercept = intercept' - sum of b' mean / scale`.
    pub fn back(&self, parameters: usize) -> DMatrix<f64> {
        let mut matrix = DMatrix::identity(parameters, parameters);
        for (j, (mean, scale)) in self.means.iter().zip(&self.scales).enumerate() {
            matrix[(0, j + 1)] = -mean / scale;
            matrix[(j + 1, j + 1)] = 1.0 / scale;
        }
        matrix
    }

    /// Parameters and their covariance in the covariates' own units.
    pub fn own_units(
        &self,
        free: &DVector<f64>,
        covariance: &DMatrix<f64>,
    ) -> (DVector<f64>, DMatrix<f64>) {
        let back = self.back(free.len());
        (&back * free, &back * covariance * back.transpose())
    }
}
