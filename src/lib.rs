//! keenspan learns from a tree crew's own log how long wood-chipper knives stay sharp, and answers
//! with bounds: when to change them, and what today's rule costs.
//!
//! Data flows one way:
//!
//! ```text
//! logbook  -->  lives  -->  wear  -->  decisions  -->  views
//! ```

pub mod decisions;
pub mod lives;
pub mod logbook;
pub(crate) mod numerics;
pub mod quantities;
pub mod simulation;
pub mod views;
pub mod wear;
pub mod wood;
