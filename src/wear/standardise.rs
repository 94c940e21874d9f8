//! Covariates in their own spread, so that a fit does not depend on their units.

use nalgebra::{DMatrix, DVector};

/// Where each covariate is centred, and how widely it spreads.
#[derive(Debug, Clone, PartialEq)]
pub struct Standardisation {
    means: Vec<f64>,
    scales: Vec<f64>,
}

impl Standardisation {
    /// With these centres and spreads; a column that does not spread keeps its own scale.
    pub fn new(means: Vec<f64>, scales: Vec<f64>) -> Self {
        let own = |scale| if scale > 0.0 { scale } else { 1.0 };
        Self {
            means,
            scales: scales.into_iter().map(own).collect(),
        }
    }

    /// Centre of one column, and one over its spread.
    #[inline(always)]
    pub fn of_column(&self, j: usize) -> (f64, f64) {
        (self.means[j], 1.0 / self.scales[j])
    }

    /// One row in spreads from the centre.
    pub fn row(&self, x: &[f64]) -> Vec<f64> {
        x.iter()
            .zip(&self.means)
            .zip(&self.scales)
            .map(|((x, mean), scale)| (x - mean) / scale)
            .collect()
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
