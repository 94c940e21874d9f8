//! Three seasons of an invented parks-and-riverbank crew, written down the way crews write.
//!
//! One drum, Heron, and one disc, Nettle, with matched sets of two-edged knives; willow, ash, oak
//! and spruce; grit after the spring floods, frozen wood in winter. The crew's rule is to change
//! after 50 h on the drum and 30 h on the disc, but it changes earlier where the operator feels that
//! the edge has gone dull, and now and then runs past dull until anybody would stop.
//!
//! The log has what real logs have:
//!
//! - runs that nobody wrote down, which show as hours on the meter that no run explains;
//! - a mis-typed wood ("wilow") and, in the same file, hours with a decimal comma;
//! - a run without readings, only hours;
//! - removals without a grade, and a few grades given halfway through a life;
//! - a touch-up on each machine;
//! - strikes, as they fall;
//! - an edge at work on Heron when the log starts, with the meter reading at which it was fitted;
//! - the hour meter of Nettle, replaced in June 2025;
//! - a row of events without a meter reading.

mod mess;
mod season;
mod yard;

use super::Truth;
use crate::logbook::Logbook;
use crate::logbook::write::texts;
use season::Season;

/// The seed of the demo log in datasets/demo-riverbank.
pub const DEMO_SEED: u64 = 20272;

/// The invented crew's log as typed records. What cannot be said in typed records (the mis-typed
/// wood, the decimal comma) is only in [`demo_files`].
pub fn demo_logbook(seed: u64, truth: &Truth) -> Logbook {
    let mut logbook = Season::new(seed, truth).play();
    mess::leave_out_runs(&mut logbook);
    mess::blank_some_cells(&mut logbook);
    logbook
}

/// The invented crew's log as files: name and text. The same seed gives the same bytes.
pub fn demo_files(seed: u64, truth: &Truth) -> Vec<(String, String)> {
    let logbook = demo_logbook(seed, truth);
    let files = texts(&logbook).into_iter();
    files
        .map(|(file, text)| (file.name().to_owned(), mess::spoil(file, text)))
        .collect()
}
