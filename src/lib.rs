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

/// Pages whose blocks are compiled and run with the tests.
#[cfg(doctest)]
mod pages {
    #[doc = include_str!("../README.md")]
    struct Readme;
    #[doc = include_str!("../notebooks-md/01-first-hour.md")]
    struct FirstHour;
    #[doc = include_str!("../notebooks-md/02-interval-by-hand.md")]
    struct IntervalByHand;
    #[doc = include_str!("../notebooks-md/03-defaults.md")]
    struct Defaults;
    #[doc = include_str!("../notebooks-md/04-checks.md")]
    struct Checks;
    #[doc = include_str!("../notebooks-md/05-what-it-cannot-know.md")]
    struct WhatItCannotKnow;
    #[doc = include_str!("../models/README.md")]
    struct Models;
    #[doc = include_str!("../models/wear.md")]
    struct Wear;
}
