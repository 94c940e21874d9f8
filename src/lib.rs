//! keenspan learns from a tree crew's own log how long wood-chipper knives stay sharp, and answers
//! with bounds: when to change them, and what today's rule costs.
//!
//! Data flows one way:
//!
//! ```text
//! logbook  -->  lives  -->  wear  -->  decisions  -->  views
//! what the      each edge's  what wear  what to do      how it is
//! crew wrote    life so far  looks like and when        shown
//! ```
//!
//! From a log folder to the cheapest interval:
//!
//! ```
//! use keenspan::decisions::{Evidence, KnifeLayout, Question, ShopCosts, recommend};
//! use keenspan::lives::{Rotor, edge_lives};
//! use keenspan::quantities::{Level, WearFraction};
//! use keenspan::wear::{
//!     Among, Asked, EdgeRecords, PriorPack, StrikePosterior, StrikeRecord, WearModel, seeded,
//! };
//! use linfa::ParamGuard;
//! use linfa::traits::Fit;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! // What the crew wrote, and each edge's life so far.
//! let log = keenspan::logbook::read::read_logbook("datasets/demo-riverbank".as_ref())?.logbook;
//! let lives = edge_lives(&log);
//!
//! // What wear looks like: common practice until the log says otherwise.
//! let pack = PriorPack::common_practice()?;
//! let (records, observations) = EdgeRecords::from_lives(&lives);
//! let model = WearModel::params(&pack, WearFraction::new(1.3)?).check()?;
//! let posterior = model.fit(&linfa::DatasetBase::new(records, observations))?;
//!
//! // What to do: the drum, in the wood that it usually chips.
//! let blend = lives.usual_mix.machine("Heron").as_ref().clone();
//! let among = Among::of_machine(&lives.lives, "Heron", true);
//! let asked = Asked { blend, rotor: Rotor::Drum, reground: true, among };
//! let strikes = StrikePosterior::new(&pack, &StrikeRecord::new(&lives.strikes, &lives.usual_mix.crew));
//! let draws = posterior.draws(&strikes, 1000, &mut seeded(1)).under(&asked);
//! let costs = ShopCosts::common_practice()?.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
//! let known = posterior.log_life_variances(&asked);
//! let evidence = Evidence {
//!     edges_finished: lives.tally.edges_used,
//!     edges_graded: lives.tally.graded_endings,
//!     prior_variance: known.before,
//!     posterior_variance: known.after,
//! };
//! let question =
//!     Question { rule: None, service_every: None, hours_per_year: None, level: Level::NINETY, evidence };
//! let interval = recommend(&draws, &costs, &question)?.interval;
//! assert!(interval.lower < interval.point && interval.point < interval.upper);
//! # Ok(())
//! # }
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
