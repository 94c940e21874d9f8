//! Which parameter stands where. The only place that knows indices.

use super::records::EdgeRecords;
use std::ops::Range;

/// The order of the parameters that every edge shares:
///
/// | place | parameter |
/// | --- | --- |
/// | first | location, the log of typical life |
/// | then | coefficients of the covariates of life |
/// | then | coefficients of the wear rate |
/// | then | the logit of the share that a touch-up takes back |
/// | then | the log of the spread `sigma` |
/// | last | the log of the grader's error |
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    features: usize,
    rates: usize,
}

impl Layout {
    /// The log of typical life in reference conditions stands here, whatever else there is.
    pub const LOCATION: usize = 0;

    /// For so many covariates of life and of the wear rate.
    pub fn new(features: usize, rates: usize) -> Self {
        Self { features, rates }
    }

    /// For the covariates of these records.
    pub fn of(records: &EdgeRecords) -> Self {
        Self::new(records.feature_names.len(), records.rate_names.len())
    }

    /// Number of parameters.
    pub fn dimension(&self) -> usize {
        4 + self.features + self.rates
    }

    /// The log of typical life in reference conditions.
    pub fn location(&self) -> usize {
        Self::LOCATION
    }

    /// Coefficients of the covariates of log life; positive lasts longer.
    pub fn features(&self) -> Range<usize> {
        1..1 + self.features
    }

    /// Coefficients of the log wear rate; positive wears faster.
    pub fn rates(&self) -> Range<usize> {
        1 + self.features..1 + self.features + self.rates
    }

    /// The logit of the share of wear that a touch-up takes back.
    pub fn touch_up(&self) -> usize {
        1 + self.features + self.rates
    }

    /// The log of the spread `sigma`.
    pub fn log_sigma(&self) -> usize {
        2 + self.features + self.rates
    }

    /// The log of the grader's error on the log of wear fraction.
    pub fn log_eye(&self) -> usize {
        3 + self.features + self.rates
    }

    /// The parameters' names, in order.
    pub fn names(&self, records: &EdgeRecords) -> Vec<String> {
        let word = |word: &str| word.to_string();
        std::iter::once(word("location"))
            .chain(records.feature_names.iter().cloned())
            .chain(records.rate_names.iter().cloned())
            .chain([word("touch_up"), word("log_sigma"), word("log_eye")])
            .collect()
    }
}
