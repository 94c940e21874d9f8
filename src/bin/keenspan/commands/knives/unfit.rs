//! What must not be done, said where nothing can be ranked.

use super::bench::SeenOnBench;
use super::machine::as_seen as at_hand;
use super::machine_of;
use crate::failure::Failure;
use crate::fitting::Fitted;
use crate::unfit::worded;
use keenspan::decisions::{MustNot, must_not_do};
use keenspan::lives::SetState;
use keenspan::logbook::Logbook;
use keenspan::quantities::Units;

/// A sentence for each of these sets that must not be run, as the log has it and as somebody sees it.
pub fn as_seen(
    fitted: &Fitted,
    sets: &[&SetState],
    log: &Logbook,
    (seen, units): (&SeenOnBench, Units),
) -> Result<Vec<String>, Failure> {
    let mut sentences = Vec::new();
    for set in sets.iter().filter(|set| !set.discarded) {
        let regrinds = fitted.costs.whole_regrinds();
        let mut must_not = must_not_do(&at_hand(set, seen), regrinds)?;
        must_not.retain(MustNot::forbids_running);
        if !must_not.is_empty() {
            let unfit = worded(set, machine_of(set, log)?, must_not, units);
            sentences.push(format!("{} is not to be run: {}", set.set, unfit.why()));
        }
    }
    Ok(sentences)
}
