//! How sure the bounds are.

use super::QuantityError;
use serde::{Deserialize, Serialize};

/// The share of cases that bounds are meant to hold, strictly between 0 and 1: 0.90 for 90 % bounds.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Level(f64);

impl Level {
    /// The 90 % level that every decision uses unless told otherwise.
    pub const NINETY: Self = Self(0.90);
    /// The 95 % level customary for published life-table fits.
    pub const NINETY_FIVE: Self = Self(0.95);

    /// Checks that `value` lies strictly between 0 and 1.
    ///
    /// # Errors
    ///
    /// [`QuantityError::OutOfRange`] otherwise.
    pub fn new(value: f64) -> Result<Self, QuantityError> {
        if value > 0.0 && value < 1.0 {
            Ok(Self(value))
        } else {
            Err(QuantityError::OutOfRange {
                quantity: "a confidence level",
                low: 0.0,
                high: 1.0,
                found: value,
            })
        }
    }

    /// The plain number.
    pub fn get(self) -> f64 {
        self.0
    }

    /// The share left out below the lower bound, and again above the upper one.
    pub fn tail(self) -> f64 {
        0.5 * (1.0 - self.0)
    }
}

impl TryFrom<f64> for Level {
    type Error = QuantityError;
    fn try_from(value: f64) -> Result<Self, QuantityError> {
        Self::new(value)
    }
}

impl From<Level> for f64 {
    fn from(level: Level) -> f64 {
        level.0
    }
}
