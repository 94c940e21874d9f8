//! Quantities that cannot be below zero.

use super::QuantityError;
use serde::{Deserialize, Serialize};

macro_rules! nonnegative {
    ($(#[$doc:meta])* $name:ident, $words:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// None at all.
            pub const ZERO: Self = Self(0.0);

            /// Checks that `value` is finite and not below zero.
            ///
            /// # Errors
            ///
            /// [`QuantityError::Negative`] otherwise.
            pub fn new(value: f64) -> Result<Self, QuantityError> {
                if value.is_finite() && value >= 0.0 {
                    // Adding zero turns minus nothing, the sum of no parts, into nothing.
                    Ok(Self(value + 0.0))
                } else {
                    Err(QuantityError::Negative { quantity: $words, found: value })
                }
            }

            /// The plain number, in this quantity's own unit.
            pub fn get(self) -> f64 {
                self.0
            }

            /// The difference, or zero where `other` is the larger.
            pub fn saturating_sub(self, other: Self) -> Self {
                Self((self.0 - other.0).max(0.0))
            }
        }

        impl TryFrom<f64> for $name {
            type Error = QuantityError;
            fn try_from(value: f64) -> Result<Self, QuantityError> {
                Self::new(value)
            }
        }

        impl From<$name> for f64 {
            fn from(quantity: $name) -> f64 {
                quantity.0
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self::ZERO, |total, part| total + part)
            }
        }
    };
}

nonnegative!(
    /// Hours on a machine's hour meter: a reading, or the time between two readings.
    MeterHours,
    "meter hours"
);
nonnegative!(
    /// Hours of wear, counted as if all wood were clean green hardwood of reference hardness.
    WearHours,
    "wear hours"
);
nonnegative!(
    /// Wear so far as a fraction of what this edge takes to go dull: 0 fresh, 1 dull.
    WearFraction,
    "wear fraction"
);
nonnegative!(
    /// A width or depth of steel, in millimetres.
    Width,
    "width"
);
nonnegative!(
    /// A tightening torque, in newton metres.
    Torque,
    "torque"
);

/// Millimetres in an inch (exact by definition, international yard and pound agreement of 1959).
const MILLIMETRES_PER_INCH: f64 = 25.4;
/// Newton metres in a pound-force foot (exact: 0.45359237 kg x 9.80665 m/s2 x 0.3048 m).
const NEWTON_METRES_PER_POUND_FOOT: f64 = 1.355_817_948_331_400_4;

impl Width {
    /// From millimetres.
    ///
    /// # Errors
    ///
    /// [`QuantityError::Negative`] below zero or not finite.
    pub fn from_millimetres(millimetres: f64) -> Result<Self, QuantityError> {
        Self::new(millimetres)
    }

    /// From inches.
    ///
    /// # Errors
    ///
    /// [`QuantityError::Negative`] below zero or not finite.
    pub fn from_inches(inches: f64) -> Result<Self, QuantityError> {
        Self::new(inches * MILLIMETRES_PER_INCH)
    }

    /// In millimetres.
    pub fn millimetres(self) -> f64 {
        self.0
    }

    /// In inches.
    pub fn inches(self) -> f64 {
        self.0 / MILLIMETRES_PER_INCH
    }
}

impl Torque {
    /// From pound-feet.
    ///
    /// # Errors
    ///
    /// [`QuantityError::Negative`] below zero or not finite.
    pub fn from_pound_feet(pound_feet: f64) -> Result<Self, QuantityError> {
        Self::new(pound_feet * NEWTON_METRES_PER_POUND_FOOT)
    }

    /// In pound-feet.
    pub fn pound_feet(self) -> f64 {
        self.0 / NEWTON_METRES_PER_POUND_FOOT
    }
}
