//! Each edge's life so far, put together from what the crew wrote.
//!
//! This is the last room that knows dates and hour meters. It drops nothing silently: a [`Tally`]
//! says what was set aside and why.

mod edge_life;
mod exposure;
mod observation;
mod tally;

pub use crate::logbook::Rotor;
pub use edge_life::{EdgeFeatures, EdgeLife, Ending};
pub use exposure::{Exposure, Segment, TouchUp};
pub use observation::{Look, Observation, Sight};
pub use tally::{SetAside, Tally};
