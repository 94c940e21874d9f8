//! Sets that must not be run, whatever the log says of their edges.

use crate::failure::Failure;
use crate::fitting::Fitted;
use keenspan::decisions::{Caveat, MustNot, ShopCosts, must_not_run};
use keenspan::lives::{Lives, SetPlace, SetState};
use keenspan::logbook::Machine;
use keenspan::quantities::Units;
use keenspan::views::UnfitSet;

/// The set in this machine, where it must not be run.
pub fn at_work(
    fitted: &Fitted,
    machine: &Machine,
    units: Units,
) -> Result<Option<UnfitSet>, Failure> {
    by_log(&fitted.lives, &fitted.costs, machine, units)
}

/// The same where nothing has been fitted yet.
pub fn by_log(
    lives: &Lives,
    costs: &ShopCosts,
    machine: &Machine,
    units: Units,
) -> Result<Option<UnfitSet>, Failure> {
    for set in sets_in(lives, machine) {
        if let Some(unfit) = judged(costs, set, machine, units)? {
            return Ok(Some(unfit));
        }
    }
    Ok(None)
}

fn sets_in<'l>(lives: &'l Lives, machine: &Machine) -> impl Iterator<Item = &'l SetState> {
    let name = machine.name.clone();
    let here = move |set: &&SetState| matches!(&set.place, SetPlace::In { machine, .. } if *machine == name);
    lives.sets.iter().filter(here)
}

/// What must be said where the log has a nick in the knives at work in this machine.
pub fn nicked(fitted: &Fitted, machine: &Machine) -> Option<Caveat> {
    let nicked = sets_in(&fitted.lives, machine).any(SetState::is_nicked);
    nicked.then_some(Caveat::NickNotCosted)
}

/// A set as it would stand in this machine, where it must not be run in it.
pub fn in_machine(
    fitted: &Fitted,
    set: &SetState,
    machine: &Machine,
    units: Units,
) -> Result<Option<UnfitSet>, Failure> {
    judged(&fitted.costs, set, machine, units)
}

fn judged(
    costs: &ShopCosts,
    set: &SetState,
    machine: &Machine,
    units: Units,
) -> Result<Option<UnfitSet>, Failure> {
    let must_not = must_not_run(
        &SetState {
            discard_width: machine.discard_width,
            ..set.clone()
        },
        costs.whole_regrinds(),
    )?;
    Ok((!must_not.is_empty()).then(|| worded(set, machine, must_not, units)))
}

/// A set that must not be run in this machine, with what its words need.
pub fn worded(set: &SetState, machine: &Machine, must_not: Vec<MustNot>, units: Units) -> UnfitSet {
    UnfitSet {
        set: set.set.clone(),
        machine: machine.name.clone(),
        crack_noted: set.crack.map(|row| row.to_string()),
        doubt: set.doubt,
        mismatch_noted: set.unmatched.map(|row| row.to_string()),
        must_not,
        units,
    }
}
