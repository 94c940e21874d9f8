//! Each edge's life so far, put together from what the crew wrote.
//!
//! This is the last room that knows dates and hour meters. It drops nothing silently: a [`Tally`]
//! says what was set aside and why.
//!
//! ```text
//! gather      rows by machine
//! meter_line  hour-meter readings on one axis per machine      (increasing: which readings to trust)
//! timeline    runs on that axis, and the hours between them    (conditions: what they went through)
//! placement   events on that axis                              (order: over all machines and the bench)
//! shop        which edge is at work where                      (at_work, fitting, bench, open_life)
//! hearsay     what else rows say for and against running a set   (damage, note_words)
//! build       edge lives, tally, present state                 (looks, usual_mix, strikes, present, set_state,
//!                                                              unfit; fleet: machines and sets by name)
//! ```
//!
//! `run_lives` puts lives together from plain tables of edges and runs instead, `fleet_hours` from tables of millions.
//!
//! # Examples
//!
//! ```
//! use keenspan::lives::{MixOrigin, edge_lives};
//! use keenspan::logbook::read::read_logbook;
//!
//! let log = read_logbook("datasets/demo-riverbank".as_ref())?.logbook;
//! let lives = edge_lives(&log);
//!
//! // Every edge is used, or set aside with a reason.
//! let tally = &lives.tally;
//! assert_eq!(tally.edges_found, tally.edges_used + tally.set_aside.len());
//! assert_eq!(tally.edges_used, lives.lives.len());
//!
//! // What one edge went through, and what was seen of it.
//! let life = &lives.lives[0];
//! println!("{}, edge {}: {:.1} hours", life.set, life.edge, life.exposure.total().get());
//! assert!(!life.exposure.segments.is_empty());
//!
//! // How a machine stands now, and what it usually chips.
//! let heron = lives.machine("Heron").ok_or("no such machine")?;
//! assert!(heron.at_work.is_some() && heron.meter.is_some());
//! assert_eq!(lives.usual_mix.origin("Heron"), MixOrigin::Own);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod build;
mod conditions;
mod damage;
mod day_notes;
mod edge_life;
mod edges_left;
mod exposure;
mod fleet;
mod fleet_hours;
mod gather;
mod hearsay;
mod increasing;
mod looks;
mod meter_line;
mod meter_notes;
mod note;
mod note_words;
mod observation;
mod open_life;
mod open_notes;
mod order;
mod pace;
mod placement;
mod present;
mod run_lives;
mod set_state;
mod sets;
mod shop;
mod stays;
mod strikes;
mod tally;
mod timeline;
mod unfit;
mod usual_mix;

pub use crate::logbook::{CovariateRows, Dulling, EdgeHours, Rotor};
pub use build::{Lives, edge_lives};
pub use damage::Doubt;
pub use edge_life::{CameOut, EdgeFeatures, EdgeLife, Ending, LastLook, Saw};
pub use exposure::{Exposure, Segment, TouchUp};
pub use fleet_hours::{FleetHours, fleet_hours};
pub use note::{EdgeName, Matter, Note, Record};
pub use observation::{Look, Noticed, Observation, Sight};
pub use pace::{hours_per_day, hours_per_load};
pub use present::{AtWork, BedKnifeEvent, MachineState};
pub use run_lives::{RunLife, RunLives, RunStretch, run_lives};
pub use set_state::{EdgeCondition, EdgeState, Grind, SetPlace, SetState};
pub use sets::SetsOfMachine;
pub use stays::Stay;
pub use strikes::{StrikeClass, StrikeCounts};
pub use tally::{Alarm, AsideReason, ConditionHours, MachineHours, SetAside, Tally};
pub use usual_mix::{MixOrigin, UsualMix};

use crate::quantities::MeterHours;

/// Hours closer than this are one place: they differ by rounding only. A third of a second.
const SAME_PLACE: f64 = 1e-4;

/// Rounds away what binary fractions leave behind (1040.3 - 1000.1 is 40.2): no hour meter shows a
/// millionth.
fn tidy(hours: f64) -> f64 {
    (hours * 1e6).round() / 1e6
}

/// Hours that cannot be below zero but for rounding.
fn hours(value: f64) -> MeterHours {
    MeterHours::new(value.max(0.0)).unwrap_or(MeterHours::ZERO)
}

#[cfg(test)]
mod tests;
