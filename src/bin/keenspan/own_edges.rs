//! What each machine's own edges are: gathered once, for a fleet asks of each machine a dozen times.

use keenspan::lives::{EdgeLife, Ending};
use keenspan::logbook::Machine;
use keenspan::wear::Among;
use std::collections::HashMap;

/// The edges that one machine has run.
#[derive(Debug, Clone, Default)]
pub struct OwnEdges {
    /// How many have come out.
    pub finished: usize,
    /// How many somebody has looked at.
    pub graded: usize,
    /// Whether most were reground.
    pub reground: bool,
    /// Whose a new edge of it is.
    among_new: Vec<Among>,
    /// Whose a reground one is.
    among_reground: Vec<Among>,
}

impl OwnEdges {
    fn of(machine: &str, own: &[&EdgeLife]) -> Self {
        let count = |of: fn(&EdgeLife) -> bool| own.iter().filter(|life| of(life)).count();
        Self {
            finished: count(|life| life.ending != Ending::Running),
            graded: count(EdgeLife::was_seen),
            reground: 2 * count(|life| life.features.regrinds > 0) > own.len(),
            among_new: Among::of_own(own, machine, false),
            among_reground: Among::of_own(own, machine, true),
        }
    }

    /// Of each machine of the log, by name.
    pub fn by_machine(machines: &[Machine], lives: &[EdgeLife]) -> HashMap<String, Self> {
        let mut own: HashMap<&str, Vec<&EdgeLife>> = HashMap::new();
        for life in lives {
            own.entry(&life.machine).or_default().push(life);
        }
        let of_machine = |machine: &Machine| {
            let name = machine.name.as_str();
            let own = own.get(name).map_or(&[][..], Vec::as_slice);
            (name.to_string(), Self::of(name, own))
        };
        machines.iter().map(of_machine).collect()
    }

    /// Whose edges are asked about.
    pub fn among(&self, reground: bool) -> Vec<Among> {
        match reground {
            true => self.among_reground.clone(),
            false => self.among_new.clone(),
        }
    }
}
