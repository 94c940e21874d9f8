//! Chances.

use super::QuantityError;
use serde::{Deserialize, Serialize};

/// A chance between 0 and 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Probability(f64);

impl Probability {
    /// Certain.
    pub const ONE: Self = Self(1.0);

    /// Checks that `value` lies between 0 and 1.
    ///
    /// # Errors
    ///
    /// [`QuantityError::OutOfRange`] otherwise.
    pub fn new(value: f64) -> Result<Self, QuantityError> {
        if (0.0..=1.0).contains(&value) {
            // Adding zero turns minus nothing, the sum of no parts, into nothing.
            Ok(Self(value + 0.0))
        } else {
            Err(QuantityError::OutOfRange {
                quantity: "a probability",
                low: 0.0,
                high: 1.0,
                found: value,
            })
        }
    }

    /// The plain number between 0 and 1.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Probability {
    type Error = QuantityError;
    fn try_from(value: f64) -> Result<Self, QuantityError> {
        Self::new(value)
    }
}

impl From<Probability> for f64 {
    fn from(probability: Probability) -> f64 {
        probability.0
    }
}
