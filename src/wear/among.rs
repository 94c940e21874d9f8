//! Whose edges are asked about: the machine, the sets that it runs, who grinds them.

use crate::lives::EdgeLife;

/// The levels of one grouping that an edge asked about may belong to.
#[derive(Debug, Clone, PartialEq)]
pub struct Among {
    /// Which grouping, by name.
    pub grouping: String,
    /// Levels by name, with their shares. What is missing from the whole is a level never seen.
    pub shares: Vec<(String, f64)>,
}

impl Among {
    /// An edge of this machine on the average of the sets that it has run, each counted as often as it ran
    /// there, and, if reground, from the average of those who ground them.
    pub fn of_machine(lives: &[EdgeLife], machine: &str, reground: bool) -> Vec<Self> {
        let own = lives.iter().filter(|life| life.machine == machine);
        Self::of_own(&own.collect::<Vec<_>>(), machine, reground)
    }

    /// The same of all edges of this machine, where somebody has them already.
    pub fn of_own(own: &[&EdgeLife], machine: &str, reground: bool) -> Vec<Self> {
        let own = || own.iter().copied();
        let mut among = vec![
            Self::even("machine", [machine].into_iter()),
            Self::even("set", own().map(|life| life.set.as_str())),
        ];
        if reground {
            // New steel has no grinder, whoever is written down.
            let reground = own().filter(|life| life.features.regrinds > 0);
            let grinders = reground.map(|life| life.features.ground_by.as_str());
            among.push(Self::even(
                "grinder",
                grinders.filter(|name| !name.is_empty()),
            ));
        }
        among
    }

    /// Each name as often as it comes.
    fn even<'a>(grouping: &str, names: impl Iterator<Item = &'a str>) -> Self {
        let names: Vec<&str> = names.collect();
        let mut shares: Vec<(String, f64)> = Vec::new();
        for name in &names {
            let share = 1.0 / names.len() as f64;
            match shares.iter_mut().find(|(known, _)| known == name) {
                Some((_, sum)) => *sum += share,
                None => shares.push((name.to_string(), share)),
            }
        }
        Self {
            grouping: grouping.to_string(),
            shares,
        }
    }
}
