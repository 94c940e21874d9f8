//! Which parameter stands where. The only place that knows indices.

use std::ops::Range;

/// The order of the parameters: location (log of typical life), covariates of life, wear-rate
/// coefficients, log of the spread.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    features: usize,
    rates: usize,
}

impl Layout {
    /// For so many covariates of life and of the wear rate.
    pub fn new(features: usize, rates: usize) -> Self {
        Self { features, rates }
    }

    /// Number of parameters.
    pub fn dimension(&self) -> usize {
        2 + self.features + self.rates
    }

    /// The log of typical life in reference conditions.
    pub fn location(&self) -> usize {
        0
    }

    /// Coefficients of the covariates of log life; positive lasts longer.
    pub fn features(&self) -> Range<usize> {
        1..1 + self.features
    }

    /// Coefficients of the log wear rate; positive wears faster.
    pub fn rates(&self) -> Range<usize> {
        1 + self.features..1 + self.features + self.rates
    }

    /// The log of the spread `sigma`.
    pub fn log_sigma(&self) -> usize {
        1 + self.features + self.rates
    }
}
