//! Money, in the shop's own currency.

use super::QuantityError;
use serde::{Deserialize, Serialize};

/// An amount in the shop's currency; below zero is a saving.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Money(f64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0.0);

    /// Checks that `amount` is finite.
    ///
    /// # Errors
    ///
    /// [`QuantityError::NotFinite`] otherwise.
    pub fn new(amount: f64) -> Result<Self, QuantityError> {
        if amount.is_finite() {
            // Adding zero turns minus nothing, the sum of no parts, into nothing.
            Ok(Self(amount + 0.0))
        } else {
            Err(QuantityError::NotFinite {
                quantity: "an amount of money",
                found: amount,
            })
        }
    }

    /// The plain amount.
    pub fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Money {
    type Error = QuantityError;
    fn try_from(value: f64) -> Result<Self, QuantityError> {
        Self::new(value)
    }
}

impl From<Money> for f64 {
    fn from(money: Money) -> f64 {
        money.0
    }
}
