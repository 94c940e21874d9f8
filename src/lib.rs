//! keenspan learns from a tree crew's own log how long wood-chipper knives stay sharp, and answers with
//! bounds: when to change them, when the edge at work is due, what to do with a set on the bench, what a job
//! will do to the edges. The program `keenspan` is a thin front on this library; whatever it answers can be
//! asked here.
//!
//! # Reading order
//!
//! Data flows one way, and each room is a chapter. Read them in this order:
//!
//! 1. [`logbook`]: what the crew wrote, read into typed records, with every fault by file, line and column.
//! 2. [`lives`]: each edge's life so far, put together from those rows.
//! 3. [`wear`]: what wear looks like: the likelihood of what was seen, priors, the posterior and its draws.
//! 4. [`decisions`]: what to do about it, and what it costs.
//! 5. [`views`]: how an answer is shown: text, JSON, pages, pictures, cards.
//!
//! Under all of them lie [`quantities`] (numbers with their units) and [`wood`] (species, dirt, state of the
//! wood); beside them [`simulation`], a crew that is invented from stated truths.
//!
//! # From a log folder to a due mark
//!
//! The demo log's drum machine, Heron, in three steps: what wear looks like by its log, after how many hours to
//! change in the wood that it usually chips, and at what reading the edge that is at work now is due.
//!
//! ```
//! use keenspan::decisions::{
//!     AtWorkIn, Evidence, KnifeLayout, Question, ShopCosts, due, handling_knives, must_not_run,
//!     recommend,
//! };
//! use keenspan::lives::edge_lives;
//! use keenspan::logbook::read::read_logbook;
//! use keenspan::quantities::{Level, WearFraction};
//! use keenspan::wear::{
//!     Among, Asked, EdgeRecords, PriorPack, StrikePosterior, StrikeRecord, WearModel, seeded,
//! };
//! use linfa::traits::Fit;
//! use linfa::{DatasetBase, ParamGuard};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! // What the crew wrote; each edge's life so far; what things cost.
//! let log = read_logbook("datasets/demo-riverbank".as_ref())?.logbook;
//! let lives = edge_lives(&log);
//! let mut shop = ShopCosts::common_practice()?;
//! for (item, value) in &log.costs.items {
//!     shop = shop.with(item.key(), *value)?;
//! }
//!
//! // What wear looks like: common practice until the log says otherwise.
//! let pack = PriorPack::common_practice()?;
//! let (records, observations) = EdgeRecords::from_lives(&lives);
//! let edges = DatasetBase::new(records, observations);
//! let model = WearModel::params(&pack, WearFraction::new(shop.call_at.value)?).check()?;
//! let posterior = model.fit(&edges)?;
//! assert!(posterior.health().is_trustworthy());
//! let met = StrikeRecord::new(&lives.strikes, &lives.usual_mix.crew);
//! let strikes = StrikePosterior::new(&pack, &met);
//! let draws = posterior.draws(&strikes, 600, &mut seeded(1));
//!
//! // After how many hours to change, against today's rule.
//! let machine = log.machines.iter().find(|it| it.name == "Heron").ok_or("no such machine")?;
//! let blend = lives.usual_mix.machine(&machine.name).as_ref().clone();
//! let among = Among::of_machine(&lives.lives, &machine.name, true);
//! let asked = Asked { blend: blend.clone(), rotor: machine.rotor, reground: true, among };
//! let laws = draws.under(&asked);
//! let costs = shop.cycle(KnifeLayout {
//!     knives: machine.knives,
//!     edges_per_knife: machine.edges_per_knife,
//! })?;
//! let known = posterior.log_life_variances(&asked);
//! let evidence = Evidence {
//!     edges_finished: lives.tally.edges_used - lives.tally.running,
//!     edges_graded: lives.tally.graded_endings,
//!     prior_variance: known.before,
//!     posterior_variance: known.after,
//! };
//! let level = Level::NINETY;
//! let question = Question {
//!     rule: machine.rule,
//!     service_every: None,
//!     hours_per_year: None,
//!     level,
//!     evidence,
//! };
//! let interval = recommend(&laws, &costs, &question)?.interval;
//! assert_eq!(format!("{:.0} hours", interval.point.get()), "37 hours");
//! assert!(interval.lower < interval.point && interval.point < interval.upper);
//!
//! // The mark of the edge at work. A set that must not run gets none, whatever it would save.
//! let state = lives.machine(&machine.name).ok_or("no such machine")?;
//! let at_work = state.at_work.as_ref().ok_or("no edge at work")?;
//! let set = lives.sets.iter().find(|set| set.set == at_work.set).ok_or("no such set")?;
//! if must_not_run(set, shop.whole_regrinds())?.is_empty() && !at_work.struck {
//!     let life = at_work.life.ok_or("nothing is known of it")?;
//!     let aged = posterior.aged(&edges.records().edges[life], &edges.targets()[life])?;
//!     let (edge, rates) = (draws.aged(&aged), draws.wear_rates(&blend));
//!     let (meter, lately) = (state.meter, &rates);
//!     let at_work = AtWorkIn { edge: &edge, laws: &laws, rates: &rates, meter, lately };
//!     let mark = due(at_work, &costs, level, &evidence)?.mark.ok_or("no meter reading")?;
//!     assert!(Some(mark.point) >= state.meter);
//! }
//! // Wherever an answer sends somebody to the knives, these go with it.
//! assert!(!handling_knives().is_empty());
//! # Ok(())
//! # }
//! ```
//!
//! The same from the command line: `keenspan --log datasets/demo-riverbank due`. The notebooks beside the source
//! (`notebooks-md`) work each step by hand.

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
    #[doc = include_str!("../notebooks-md/06-calibration.md")]
    struct Calibration;
    #[doc = include_str!("../models/README.md")]
    struct Models;
    #[doc = include_str!("../models/wear.md")]
    struct Wear;
}
