//! What to do about it.

mod cycle;
mod cycle_costs;
mod error;
mod standard_axis;
mod strike_factors;

pub use cycle::{AgeReplacement, Cheapest};
pub use cycle_costs::CycleCosts;
pub use error::DecisionError;
