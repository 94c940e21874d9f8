//! A fleet of any size, machine by machine: for tables of edges and runs too large to be written by hand.
//!
//! Each machine has a stream of random numbers of its own, so that any machine can be had without the others and
//! the fleet is the same however many threads invent it. Conditions come from a few classes of wood, dirt and
//! state, as a real fleet's do: rows of covariates repeat by the million.

mod edge;

use super::dice::Dice;
use crate::logbook::EdgeWithRuns;
use edge::WorkingEdge;

/// Covariates of the wear rate, in the order of every run: the log of side hardness against the reference, dirt
/// from clean (0) over dusty (0.5) to dirty (1), and 1 where the wood was frozen.
pub const FLEET_COVARIATES: [&str; 3] = ["hard", "dirt", "frozen"];

/// Classes of wood, by the log of side hardness against the reference; invented.
const WOODS: [f64; 8] = [-0.75, -0.5, -0.3, -0.1, 0.0, 0.15, 0.3, 0.45];
/// Weights of clean, dusty and dirty work; invented.
const DIRT: [(f64, f64); 3] = [(0.55, 0.0), (0.3, 0.5), (0.15, 1.0)];
/// Share of runs in frozen wood; invented.
const FROZEN: f64 = 0.1;
/// Chance that a run is in the same conditions as the one before.
const SAME_JOB: f64 = 0.4;

/// What is true of an invented fleet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FleetTruth {
    /// Log of the characteristic life (63.2 % dull) in hours of the mean machine in reference conditions.
    pub log_eta: f64,
    /// Log of the shape.
    pub log_kappa: f64,
    /// Coefficients of the log wear rate by [`FLEET_COVARIATES`].
    pub beta: [f64; 3],
    /// Standard deviation of the machines' log lives.
    pub spread: f64,
    /// Strikes per hour.
    pub strikes_per_hour: f64,
}

impl Default for FleetTruth {
    /// The values of tests/reference/changing_exposure, whose crew is invented too.
    fn default() -> Self {
        Self {
            log_eta: 13_f64.ln(),
            log_kappa: 2.3_f64.ln(),
            beta: [0.35, 0.85, 0.1],
            spread: 0.25,
            strikes_per_hour: 0.012,
        }
    }
}

/// How large a fleet is, and how it works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FleetPlan {
    /// Start of the random numbers.
    pub seed: u64,
    /// Machines.
    pub machines: usize,
    /// Edges of each machine.
    pub edges_per_machine: usize,
    /// Runs that an edge goes through, on average and roughly.
    pub runs_per_edge: usize,
    /// What is true of it.
    pub truth: FleetTruth,
}

impl Default for FleetPlan {
    fn default() -> Self {
        Self {
            seed: 1,
            machines: 20,
            edges_per_machine: 250,
            runs_per_edge: 10,
            truth: FleetTruth::default(),
        }
    }
}

/// One machine of an invented fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetMachine {
    /// What it is called.
    pub name: String,
    /// What it adds to the log of life; hidden from whoever reads the tables.
    pub effect: f64,
    /// Its edges, numbered through the whole fleet.
    pub edges: Vec<EdgeWithRuns>,
}

impl FleetPlan {
    /// The machine of this number, from zero.
    ///
    /// # Examples
    ///
    /// ```
    /// use keenspan::simulation::FleetPlan;
    ///
    /// let plan = FleetPlan { machines: 2, edges_per_machine: 3, ..FleetPlan::default() };
    /// let second = plan.machine(1);
    /// assert_eq!((second.edges.len(), second.edges[0].id.as_str()), (3, "4"));
    /// ```
    pub fn machine(&self, number: usize) -> FleetMachine {
        let mut dice = Dice::stream(self.seed, number as u64);
        let effect = self.truth.spread * dice.normal();
        let first = number * self.edges_per_machine;
        let edges = (0..self.edges_per_machine).map(|edge| EdgeWithRuns {
            level: Some(number),
            ..WorkingEdge::new(self, effect, &mut dice).life((first + edge + 1).to_string())
        });
        FleetMachine {
            name: format!("m{:05}", number + 1),
            effect,
            edges: edges.collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::EdgeSeen;

    fn fleet() -> Vec<FleetMachine> {
        let plan = FleetPlan {
            machines: 20,
            edges_per_machine: 100,
            ..FleetPlan::default()
        };
        (0..plan.machines).map(|m| plan.machine(m)).collect()
    }

    #[test]
    fn a_machine_is_the_same_whenever_it_is_asked_for() {
        let plan = FleetPlan::default();
        let alone = plan.machine(7);
        let _ = plan.machine(3);
        assert_eq!(plan.machine(7), alone);
        assert_ne!(plan.machine(8).effect, alone.effect);
    }

    #[test]
    fn an_edge_goes_through_about_as_many_runs_as_planned_and_ends_in_every_way() {
        let fleet = fleet();
        let edges: Vec<&EdgeWithRuns> = fleet.iter().flat_map(|machine| &machine.edges).collect();
        let runs: usize = edges.iter().map(|edge| edge.runs.len()).sum();
        let mean = runs as f64 / edges.len() as f64;
        assert!((9.0..13.0).contains(&mean), "{mean}");
        let share = |of: fn(&EdgeWithRuns) -> bool| {
            edges.iter().filter(|edge| of(edge)).count() as f64 / edges.len() as f64
        };
        assert!(share(|edge| matches!(edge.seen, EdgeSeen::Exact { .. })) > 0.2);
        assert!(share(|edge| matches!(edge.seen, EdgeSeen::Interval { .. })) > 0.15);
        assert!(share(|edge| matches!(edge.seen, EdgeSeen::Right { .. })) > 0.1);
        assert!(share(|edge| matches!(edge.seen, EdgeSeen::Left { .. })) > 0.01);
        assert!((0.03..0.3).contains(&share(|edge| edge.struck)));
    }

    #[test]
    fn rows_of_covariates_repeat() {
        let fleet = fleet();
        let mut rows: Vec<Vec<u64>> = fleet
            .iter()
            .flat_map(|machine| machine.edges.iter().flat_map(|edge| &edge.runs))
            .map(|run| run.covariates.iter().map(|x| x.to_bits()).collect())
            .collect();
        rows.sort_unstable();
        rows.dedup();
        assert!(rows.len() <= WOODS.len() * DIRT.len() * 2);
    }
}
