//! What goes through the chipper, turned into the numbers that wear depends on.
//!
//! A run may hold a mix of species; each is known by the hardness of its green wood. Dirt and the
//! state of the wood count for the whole run.
//!
//! # Examples
//!
//! ```
//! use keenspan::wood::{Blend, Contamination, WoodError, WoodMix, WoodState};
//!
//! // As a crew writes it; parts without a share split what is left.
//! let mix = WoodMix::parse("oak 60%, ash 40%")?;
//! assert_eq!(mix.parts().count(), 2);
//! assert_eq!(Contamination::parse("root balls")?, Contamination::Gritty);
//! assert_eq!(WoodState::parse("dead")?, WoodState::Dry);
//!
//! // What the model takes it for: parts with their shares, each a row of covariates.
//! let blend = Blend::of(&mix, Contamination::Dusty, WoodState::Green);
//! let shares: f64 = blend.parts().iter().map(|part| part.share).sum();
//! assert!((shares - 1.0).abs() < 1e-12);
//! assert_eq!(blend.contamination_shares(), [0.0, 1.0, 0.0, 0.0]);
//!
//! // A word that nobody knows is refused with its likeliest meaning.
//! assert!(WoodMix::parse("wilow").unwrap_err().to_string().contains("willow"));
//! # Ok::<(), WoodError>(())
//! ```

mod conditions;
mod error;
mod hardness;
mod mix;
mod other_words;
mod species;
mod words;

pub use conditions::{Blend, BlendPart, Contamination, Covariates, WoodState};
pub use error::WoodError;
pub use hardness::{HardnessBasis, REFERENCE_HARDNESS};
pub use mix::{Wood, WoodMix};
pub use species::{Species, SpeciesTable};
