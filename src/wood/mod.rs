//! What goes through the chipper, turned into the numbers that wear depends on.
//!
//! A run may hold a mix of species; each is known by the hardness of its green wood. Dirt and the
//! state of the wood count for the whole run.

mod conditions;
mod species;

pub use conditions::{Blend, BlendPart, Contamination, Covariates, WoodState};
pub use species::{REFERENCE_HARDNESS, Species, SpeciesTable, Wood, WoodMix};
