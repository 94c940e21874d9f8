//! What goes through the chipper, turned into the numbers that wear depends on.
//!
//! A run may hold a mix of species; each is known by the hardness of its green wood. Dirt and the
//! state of the wood count for the whole run.

mod conditions;
mod error;
mod hardness;
mod mix;
mod species;
mod words;

pub use conditions::{Blend, BlendPart, Contamination, Covariates, WoodState};
pub use error::WoodError;
pub use hardness::{HardnessBasis, REFERENCE_HARDNESS};
pub use mix::{Wood, WoodMix};
pub use species::{Species, SpeciesTable};
