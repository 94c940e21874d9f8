//! Woods by name.
//!
//! The table is compiled in from `datasets/species.csv`. A name is looked up without regard to case,
//! spaces, hyphens or apostrophes.

mod lookup;
mod names;
mod table;

pub use table::{Species, SpeciesTable};
