//! Fresh edges that a machine still carries.

use super::Lives;
use crate::logbook::Machine;
use std::collections::BTreeSet;

impl Lives {
    /// Fresh edges left on the set in a machine beyond the one at work: those that have not worked since the
    /// knives were last ground. None where the log does not tell which edge is at work.
    pub fn fresh_edges_left(&self, machine: &Machine) -> u32 {
        let state = self.machine(&machine.name);
        let Some(at_work) = state.and_then(|state| state.at_work.as_ref()) else {
            return 0;
        };
        let used = match at_work.life.and_then(|life| self.lives.get(life)) {
            Some(now) => {
                let of_set = self.lives.iter().filter(|life| {
                    life.set == now.set && life.features.regrinds == now.features.regrinds
                });
                let edges: BTreeSet<u32> = of_set.map(|life| life.edge).collect();
                edges.len() as u32
            }
            // Edges are used in the order of their numbers.
            None => at_work.edge,
        };
        machine.edges_per_knife.saturating_sub(used)
    }
}
