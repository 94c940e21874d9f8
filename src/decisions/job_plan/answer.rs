//! The plan of jobs.

use crate::decisions::Caveat;
use crate::quantities::{Estimate, MeterHours, Money, Probability};
use serde::{Deserialize, Serialize};

/// The plan. Bounds are spreads over the posterior draws at the level asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobPlan {
    /// The jobs in the recommended order.
    pub jobs: Vec<PlannedJob>,
    /// Whether to change at the yard before leaving.
    pub leave: Leaving,
    /// Chance that the edge now on the machine is still cutting at the end of the first job, neither called
    /// nor struck, if it is left on; absent where it must come off.
    #[serde(rename = "chance_present_lasts")]
    pub present_lasts: Option<Estimate<Probability>>,
    /// Sets to take along.
    #[serde(rename = "carry")]
    pub sets: Sets,
    /// Changes expected in all, those at the yard before leaving and before later jobs included.
    pub changes: Estimate<f64>,
    /// Forced stops expected: changes because the cut called for one or metal or stone was hit.
    pub forced_stops: Estimate<f64>,
    /// Chance of at least one strike on metal or stone.
    #[serde(rename = "chance_strike")]
    pub strike: Estimate<Probability>,
    /// Knife cost of all jobs: changes, forced stops, strikes, extra fuel and waiting, and the wear that the
    /// edge left on the machine has more (or less) of than the one it left with.
    pub cost: Estimate<Money>,
    /// How the order was found, and what it saves.
    pub order: OrderFound,
    /// An edge is due after this many meter hours in the usual wood.
    pub interval: MeterHours,
    /// Whether edges are changed on plan at all.
    pub changed_on_plan: bool,
    /// What must be said beside the plan.
    pub caveats: Vec<Caveat>,
}

/// One job of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlannedJob {
    /// Which job, counted from 0 in the order in which they were written.
    pub written: usize,
    /// Meter hours of work.
    pub hours: MeterHours,
    /// Meter hours of the usual wood that would wear an edge as much.
    pub wears_like: Estimate<MeterHours>,
    /// Chance that the knives are changed at the yard before it under this plan: below one where that
    /// depends on whether a fresh edge went in shortly before.
    #[serde(rename = "chance_change_before")]
    pub change_before: Estimate<Probability>,
    /// An edge that comes to it with wear of this many meter hours of the usual wood, or more, is changed
    /// before it; absent where none is.
    pub change_from: Option<MeterHours>,
    /// Chance that the edge that begins it is still cutting at its end: not called, not struck.
    #[serde(rename = "chance_lasts")]
    pub lasts: Estimate<Probability>,
    /// Changes expected on it.
    pub changes: Estimate<f64>,
    /// Chance of at least one strike.
    #[serde(rename = "chance_strike")]
    pub strike: Estimate<Probability>,
    /// Knife cost to put into its bid.
    pub cost: Estimate<Money>,
}

/// Change before leaving, or not.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "advice", rename_all = "kebab-case")]
pub enum Leaving {
    /// A fresh edge is on: there is nothing to change.
    Fresh,
    /// The edge at work must not be run, or was struck and not ground since: it comes off, whatever the cost.
    MustChange,
    /// No edge is known to be on: a set is fitted first.
    FitFirst,
    /// Leave with the edge that is on.
    Keep {
        /// What that saves against changing first.
        saves: Estimate<Money>,
        /// Chance that it is cheaper.
        chance_cheaper: Probability,
    },
    /// Change at the yard first.
    Change {
        /// What that saves against leaving as it is.
        saves: Estimate<Money>,
        /// Chance that it is cheaper.
        chance_cheaper: Probability,
    },
}

impl Leaving {
    /// Whether the knives are changed before leaving.
    pub fn changes(&self) -> bool {
        matches!(
            self,
            Self::MustChange | Self::FitFirst | Self::Change { .. }
        )
    }
}

/// Fresh edges to take along, beyond what is on the machine when it leaves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Sets {
    /// Matched sets.
    pub take: u32,
    /// Sets that are fitted at the yard before leaving, beside those to take: one where the knives are changed
    /// first and the set on the machine has no fresh edge to turn to.
    pub fit_first: u32,
    /// The chance of running out that was accepted.
    pub risk: Probability,
    /// The chance of running out with that many.
    pub chance_short: Probability,
    /// The chance of running out with one set less; absent where none is to be taken.
    pub chance_short_with_one_less: Option<Probability>,
}

/// The order in which the jobs are done.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OrderFound {
    /// Every order was considered; beyond nine jobs a good one is found by trying.
    pub exact: bool,
    /// It is another order than the one written.
    pub changed: bool,
    /// What it saves against the order written.
    pub saves: Estimate<Money>,
    /// Chance that it is cheaper.
    pub chance_cheaper: Probability,
}
