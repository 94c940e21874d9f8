//! Numbers that travel dressed: each carries its unit in its type and checks itself on entry.
//!
//! A negative hour, a probability above one or an estimate outside its own bounds cannot be built.
//!
//! # Examples
//!
//! ```
//! use keenspan::quantities::{Estimate, Level, MeterHours, Money, Probability, QuantityError};
//!
//! let hours = MeterHours::new(37.0)?;
//! assert_eq!(hours.get(), 37.0);
//! let refused = MeterHours::new(-1.0).unwrap_err();
//! assert!(refused.to_string().ends_with("must be zero or more and finite; found -1"));
//! assert!(Probability::new(1.2).is_err());
//!
//! // An estimate carries its bounds and their level; `map` dresses all three numbers alike.
//! let bare = Estimate { point: 37.0, lower: 34.0, upper: 43.0, level: Level::NINETY };
//! let worth = bare.map(|hours| 2.0 * hours);
//! assert_eq!((worth.lower, worth.upper, worth.level.get()), (68.0, 86.0, 0.9));
//! assert_eq!(Money::new(12.5)?.get(), 12.5);
//! # Ok::<(), QuantityError>(())
//! ```

mod basis;
mod estimate;
mod grade;
mod level;
mod money;
mod nonnegative;
mod probability;
mod sensible;
mod units;

pub use basis::Basis;
pub use estimate::Estimate;
pub use grade::Grade;
pub use level::Level;
pub use money::Money;
pub use nonnegative::{MeterHours, Torque, WearFraction, WearHours, Width};
pub use probability::Probability;
pub use sensible::{Sensible, as_found};
pub use units::Units;

/// A number that does not fit the quantity it was meant for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// Not a finite number, or below zero.
    #[error("{quantity} must be zero or more and finite; found {found}")]
    Negative {
        /// Which quantity, in words.
        quantity: &'static str,
        /// The number given.
        found: f64,
    },
    /// Not between the two ends that the quantity allows.
    #[error("{quantity} must lie between {low} and {high}; found {found}")]
    OutOfRange {
        /// Which quantity, in words.
        quantity: &'static str,
        /// Smallest allowed value.
        low: f64,
        /// Largest allowed value.
        high: f64,
        /// The number given.
        found: f64,
    },
    /// Not a finite number.
    #[error("{quantity} must be a finite number; found {found}")]
    NotFinite {
        /// Which quantity, in words.
        quantity: &'static str,
        /// The number given.
        found: f64,
    },
}
