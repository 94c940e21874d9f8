//! What to do about it: costs, and the interval of least expected cost with what must be said beside
//! it. No randomness and no clock: the same posterior gives the same advice.

mod cautions;
mod caveats;
mod costs;
mod cycle;
mod cycle_costs;
mod drift;
mod error;
mod interval;
mod interval_answer;
mod mean_curve;
mod spread;
mod standard_axis;
mod strike_factors;

pub use cautions::handling_knives;
pub use caveats::{Caveat, Evidence};
pub use costs::{CostFigure, KnifeLayout, ShopCosts};
pub use cycle::{AgeReplacement, Cheapest};
pub use cycle_costs::CycleCosts;
pub use drift::{
    BedKnifeWork, Carrier, ChartEdge, Cusum, DriftAnswer, DriftVerdict, Factor, FinishedEdge,
    Group, LookAt, Run, Scheme, SchemeFigures, ScoreSpan, Shift, Side, Sums, drift,
};
pub use error::DecisionError;
pub use interval::recommend;
pub use interval_answer::{
    CurvePoint, FlatPart, IntervalAnswer, Question, RuleComparison, ServiceInterval,
};
