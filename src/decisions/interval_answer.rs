//! The question of when to change, and the shape of its answer.

use super::{Caveat, Evidence};
use crate::quantities::{Estimate, Level, MeterHours, Money, Probability};
use serde::{Deserialize, Serialize};

/// What is asked, beside the draws and the costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Question {
    /// Today's rule: change after this many meter hours.
    pub rule: Option<MeterHours>,
    /// The machine stops for service every so many meter hours anyway.
    pub service_every: Option<MeterHours>,
    /// Meter hours in a year, to put a yearly price on today's rule.
    pub hours_per_year: Option<MeterHours>,
    /// The level of every bound in the answer.
    pub level: Level,
    /// What the draws stand on.
    pub evidence: Evidence,
}

/// When to change, in the conditions that the draws were made for. Bounds are spreads over the
/// posterior draws at the level asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct IntervalAnswer {
    /// The interval of least expected cost per hour; its bounds are the spread of each draw's own
    /// best. A draw in which no planned change pays counts at the hours by which 99 % of edges would
    /// have been called.
    pub interval: Estimate<MeterHours>,
    /// Expected cost per meter hour at that interval.
    pub cost_per_hour: Estimate<Money>,
    /// Chance that an edge goes dull before that interval is up.
    #[serde(rename = "chance_dull")]
    pub past_dull: Estimate<Probability>,
    /// Chance that a strike ends its work before then.
    #[serde(rename = "chance_strike")]
    pub struck: Estimate<Probability>,
    /// The intervals that are nearly as good.
    pub flat: FlatPart,
    /// Expected cost per hour against the interval.
    pub curve: Vec<CurvePoint>,
    /// Today's rule against the best; absent where no rule was given.
    pub rule: Option<RuleComparison>,
    /// The best interval among service stops; absent where service stops are not known.
    pub service: Option<ServiceInterval>,
    /// How much of the answer is still the defaults.
    pub share_from_defaults: Probability,
    /// Share of draws in which no planned change pays.
    #[serde(rename = "chance_until_called_best")]
    pub best_until_called: Probability,
    /// What must be said beside the answer.
    pub caveats: Vec<Caveat>,
}

/// Intervals whose expected cost is within 2 % of the least.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FlatPart {
    /// The shortest.
    pub from: MeterHours,
    /// The longest; absent where running until called is within 2 % too.
    pub to: Option<MeterHours>,
}

impl FlatPart {
    /// Whether `interval` lies in it.
    pub fn holds(&self, interval: MeterHours) -> bool {
        self.from <= interval && self.to.is_none_or(|to| interval <= to)
    }
}

/// One point of the cost curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurvePoint {
    /// The interval.
    pub interval: MeterHours,
    /// Expected cost per meter hour of edges changed at it.
    pub cost_per_hour: Estimate<Money>,
}

/// What keeping today's rule costs, compared draw by draw.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RuleComparison {
    /// Today's rule.
    pub rule: MeterHours,
    /// What it costs beyond the best interval, per 100 meter hours; below zero it saves.
    pub extra_per_100_hours: Estimate<Money>,
    /// The same per year; absent where hours per year are not known.
    pub extra_per_year: Option<Estimate<Money>>,
    /// Chance that the rule is dearer than the best interval.
    pub chance_dearer: Probability,
}

/// Above this chance the rule is called dearer without an if. Basis: the level of the bounds.
const SURE: f64 = 0.9;

impl RuleComparison {
    /// Whether the rule is dearer than the best interval with nine chances in ten.
    pub fn is_surely_dearer(&self) -> bool {
        self.chance_dearer.get() >= SURE
    }
}

/// The cheapest multiple of the service stops next to the best interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ServiceInterval {
    /// The interval.
    pub interval: MeterHours,
    /// Change at every so many-th stop.
    pub every_stops: u32,
    /// What it costs beyond the best interval, per 100 meter hours.
    pub extra_per_100_hours: Estimate<Money>,
}
