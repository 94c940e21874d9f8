//! An invented crew from stated true parameters: the demo log, and data for tests of the fit.
//!
//! ```text
//! truth       the parameters that the invented world runs on
//! parameters  the same as the list that a fit learns
//! groups      what machines, knife sets and grinders do to life
//! dice        random draws from a seed
//! conditions  what goes through, and how it is written
//! edge        one edge wearing, hour by hour
//! plan        how a crew works, and what it writes down
//! crew        many edges at once, straight to edge lives: for calibration     (written: what it says)
//! fleet       tables of edges and runs of any size, machine by machine
//! demo        three seasons of a parks crew, day by day, with the mess of a real log
//! ```
//!
//! # Examples
//!
//! ```
//! use keenspan::simulation::{CrewPlan, DEMO_SEED, Truth, demo_files, invented_crew};
//!
//! // Edges whose true lives are known, to hold a fit against.
//! let plan = CrewPlan { edges: 6, ..CrewPlan::default() };
//! let crew = invented_crew(7, &plan);
//! assert_eq!((crew.lives.len(), crew.hidden.len()), (6, 6));
//!
//! // The demo log, as files.
//! let files = demo_files(DEMO_SEED, &Truth::stated());
//! assert!(files.iter().any(|(name, text)| name == "runs.csv" && text.contains("wilow")));
//! ```

mod conditions;
mod crew;
mod demo;
mod dice;
mod edge;
mod fleet;
mod groups;
mod parameters;
mod plan;
mod truth;
mod written;

pub use crew::{InventedCrew, crew, invented_crew};
pub use demo::{DEMO_SEED, demo_files, demo_logbook};
pub use fleet::{FLEET_COVARIATES, FleetMachine, FleetPlan, FleetTruth};
pub use groups::{GroupEffects, GroupSpreads};
pub use plan::{CrewPlan, DirtSlips, Fault, OwnCondition};
pub use truth::{Effects, StrikeRates, Truth};

#[cfg(test)]
mod tests;
