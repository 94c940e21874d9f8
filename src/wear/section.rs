//! The likelihood with something held still: the spread, or a quantile of life.

use crate::numerics::newton::Quadratic;
use nalgebra::{DMatrix, DVector};

/// A curved section through the parameters `(intercept, b.., log sigma)`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Section {
    /// `log sigma` held at this value.
    pub fixed_log_sigma: Option<f64>,
    /// `intercept + x.b + sigma w` held at `y`: `(y, w, x)`. The intercept then follows from the rest.
    pub quantile: Option<(f64, f64, Vec<f64>)>,
}

impl Section {
    /// The free coordinates of `theta`.
    pub fn restrict(&self, theta: &DVector<f64>) -> DVector<f64> {
        DVector::from_iterator(
            self.free(theta.len()).len(),
            self.free(theta.len()).map(|i| theta[i]),
        )
    }

    /// All parameters from the free ones.
    pub fn extend(&self, free: &DVector<f64>) -> DVector<f64> {
        let dimension = free.len()
            + usize::from(self.fixed_log_sigma.is_some())
            + usize::from(self.quantile.is_some());
        let mut theta = DVector::zeros(dimension);
        for (i, value) in self.free(dimension).zip(free.iter()) {
            theta[i] = *value;
        }
        if let Some(log_sigma) = self.fixed_log_sigma {
            theta[dimension - 1] = log_sigma;
        }
        if let Some((y, w, x)) = &self.quantile {
            let pull: f64 = x.iter().zip(theta.iter().skip(1)).map(|(x, b)| x * b).sum();
            theta[0] = y - pull - theta[dimension - 1].exp() * w;
        }
        theta
    }

    /// The function in the free coordinates, by the chain rule.
    pub fn restricted(&self, full: Quadratic, free: &DVector<f64>) -> Quadratic {
        let dimension = full.gradient.len();
        let sigma_w = self
            .quantile
            .as_ref()
            .map_or(0.0, |(_, w, _)| self.extend(free)[dimension - 1].exp() * w);
        let mut jacobian = DMatrix::zeros(dimension, free.len());
        for (column, i) in self.free(dimension).enumerate() {
            jacobian[(i, column)] = 1.0;
            if let Some((_, _, x)) = &self.quantile {
                jacobian[(0, column)] = if i == dimension - 1 {
                    -sigma_w
                } else {
                    -x[i - 1]
                };
            }
        }
        let mut hessian = jacobian.transpose() * &full.hessian * &jacobian;
        if self.quantile.is_some() && self.fixed_log_sigma.is_none() {
            // The intercept bends with log sigma.
            let last = free.len() - 1;
            hessian[(last, last)] -= full.gradient[0] * sigma_w;
        }
        Quadratic {
            value: full.value,
            gradient: jacobian.transpose() * &full.gradient,
            hessian,
        }
    }

    fn free(&self, dimension: usize) -> std::ops::Range<usize> {
        usize::from(self.quantile.is_some())
            ..dimension - usize::from(self.fixed_log_sigma.is_some())
    }
}
