//! What edges of one machine, one knife set or one grinder have in common.

use super::dice::Dice;
use std::collections::BTreeMap;

/// Spreads of log life among machines, knife sets and grinders: standard deviations of normal laws
/// about zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupSpreads {
    /// Among machines.
    pub machine: f64,
    /// Among knife sets.
    pub set: f64,
    /// Among grinders.
    pub grinder: f64,
}

impl GroupSpreads {
    /// All alike.
    pub const NONE: Self = Self {
        machine: 0.0,
        set: 0.0,
        grinder: 0.0,
    };
}

/// The effects drawn for one crew, on log life, by name: 0.1 makes edges last 10.5 % longer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GroupEffects {
    /// Of each machine.
    pub machines: BTreeMap<String, f64>,
    /// Of each knife set.
    pub sets: BTreeMap<String, f64>,
    /// Of each grinder.
    pub grinders: BTreeMap<String, f64>,
}

/// The names that effects are drawn for.
pub(super) struct GroupNames {
    pub(super) machines: Vec<String>,
    pub(super) sets: Vec<String>,
    pub(super) grinders: Vec<String>,
}

impl GroupEffects {
    pub(super) fn draw(names: GroupNames, spreads: GroupSpreads, dice: &mut Dice) -> Self {
        let mut each = |names: Vec<String>, spread: f64| -> BTreeMap<String, f64> {
            let drawn = names.into_iter().map(|name| (name, spread * dice.normal()));
            drawn.collect()
        };
        Self {
            machines: each(names.machines, spreads.machine),
            sets: each(names.sets, spreads.set),
            grinders: each(names.grinders, spreads.grinder),
        }
    }

    /// The sum of effects on an edge. A name that no effect was drawn for, such as the blank grinder of
    /// new steel, adds nothing.
    pub fn on(&self, machine: &str, set: &str, grinder: &str) -> f64 {
        let found = [
            self.machines.get(machine),
            self.sets.get(set),
            self.grinders.get(grinder),
        ];
        found.into_iter().flatten().sum()
    }
}
