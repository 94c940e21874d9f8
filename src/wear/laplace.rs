//! The posterior as a normal law around its most probable point.

use super::WearError;
use super::density::LogPosterior;
use crate::numerics::newton::{self, NewtonSettings};
use nalgebra::{Cholesky, DMatrix, DVector};
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

/// Laplace's approximation: a normal law with the mode as mean and the inverse of the negative
/// Hessian there as covariance (Tierney and Kadane, 1986).
#[derive(Debug, Clone)]
pub struct Laplace {
    mode: DVector<f64>,
    covariance: DMatrix<f64>,
    /// Lower Cholesky factor of the covariance.
    factor: DMatrix<f64>,
    log_density: f64,
    iterations: usize,
}

impl Laplace {
    /// Finds the mode of `posterior` from `start`.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`] where the search finds no top with negative curvature.
    pub fn fit(posterior: &impl LogPosterior, start: &[f64]) -> Result<Self, WearError> {
        let found = newton::maximise(
            |theta| posterior.evaluate(theta.as_slice()),
            DVector::from_row_slice(start),
            NewtonSettings::default(),
        );
        let unsettled = || WearError::NotSettled {
            iterations: found.iterations,
        };
        if !found.converged {
            return Err(unsettled());
        }
        let covariance = newton::covariance(&found.at.hessian).ok_or_else(unsettled)?;
        let factor = Cholesky::new(covariance.clone()).ok_or_else(unsettled)?.l();
        Ok(Self {
            mode: found.point,
            covariance,
            factor,
            log_density: found.at.value,
            iterations: found.iterations,
        })
    }

    /// The most probable parameters.
    pub fn mode(&self) -> &[f64] {
        self.mode.as_slice()
    }

    /// Their covariance.
    pub fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// Standard deviation of parameter `i`.
    pub fn spread(&self, i: usize) -> f64 {
        self.covariance[(i, i)].sqrt()
    }

    /// The log posterior density at the mode.
    pub fn log_density(&self) -> f64 {
        self.log_density
    }

    /// Newton steps that the search took.
    pub fn iterations(&self) -> usize {
        self.iterations
    }

    /// The log of the evidence: `log density at the mode + d/2 ln(2 pi) + 1/2 ln det(covariance)`.
    pub fn log_evidence(&self) -> f64 {
        let log_determinant: f64 = self.factor.diagonal().iter().map(|l| l.ln()).sum();
        self.log_density
            + self.mode.len() as f64 * crate::numerics::normal::LOG_SQRT_TWO_PI
            + log_determinant
    }

    /// `count` draws, each a full set of parameters. They come in mirrored pairs around
    /// the mode, so that the mean of any linear figure is exact.
    pub fn draws(&self, count: usize, random: &mut impl Rng) -> Vec<Vec<f64>> {
        let mut draws = Vec::with_capacity(count + 1);
        while draws.len() < count {
            let scores = DVector::from_iterator(
                self.mode.len(),
                StandardNormal
                    .sample_iter(&mut *random)
                    .take(self.mode.len()),
            );
            let offset = &self.factor * scores;
            draws.push((&self.mode + &offset).as_slice().to_vec());
            draws.push((&self.mode - &offset).as_slice().to_vec());
        }
        draws.truncate(count);
        draws
    }
}
