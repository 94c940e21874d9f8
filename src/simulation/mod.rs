//! An invented crew from stated true parameters: the demo log, and data for tests of the fit.
//!
//! ```text
//! truth    the parameters that the invented world runs on
//! dice     random draws from a seed
//! edge     one edge wearing, hour by hour
//! crew     many edges at once, straight to edge lives: for calibration
//! demo     three seasons of a parks crew, day by day, with the mess of a real log
//! ```

mod conditions;
mod crew;
mod demo;
mod dice;
mod edge;
mod truth;

pub use crew::{CrewPlan, crew};
pub use demo::{DEMO_SEED, demo_files, demo_logbook};
pub use truth::{Effects, StrikeRates, Truth};
