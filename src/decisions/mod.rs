//! What to do about it.

mod cautions;

pub use cautions::handling_knives;
