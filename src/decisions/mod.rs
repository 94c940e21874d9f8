//! What to do about it: costs, and the interval of least expected cost with what must be said beside
//! it. No randomness and no clock: the same posterior gives the same advice.

mod cautions;
mod caveats;
mod cost_parts;
mod costs;
mod cycle;
mod cycle_costs;
mod drift;
mod due;
mod dull_chance;
mod error;
mod interval;
mod interval_answer;
mod job_plan;
mod knife_action;
mod mean_curve;
mod replacement;
mod rotation;
mod spread;
mod standard_axis;
mod strike_factors;
mod tried;
mod year;

pub use cautions::handling_knives;
pub use caveats::{Caveat, Evidence};
pub use cost_parts::CostParts;
pub use costs::{CostFigure, KnifeLayout, ShopCosts};
pub use cycle::{AgeReplacement, Cheapest};
pub use cycle_costs::CycleCosts;
pub use drift::{
    BedKnifeWork, Carrier, ChartEdge, Cusum, DriftAnswer, DriftVerdict, Factor, FinishedEdge,
    Group, GroupChart, GroupEdge, LookAt, Run, Scheme, SchemeFigures, ScoreSpan, Shift, Side, Sums,
    drift,
};
pub use due::{AtWorkIn, DueAnswer, due};
pub use dull_chance::{DullChance, dull_chances};
pub use error::DecisionError;
pub use interval::recommend;
pub use interval_answer::{
    CurvePoint, FlatPart, IntervalAnswer, Question, RuleComparison, ServiceInterval,
};
pub use job_plan::{
    ChangeRule, EdgesAtHand, Job, JobPlan, JobQuestion, Leaving, OrderFound, PlannedJob,
    PresentEdge, Sets, UsualWork, plan_jobs,
};
pub use knife_action::{
    ActionCosts, EdgeAtHand, EdgeNow, KnifeAction, KnifeAnswer, KnifeCosts, KnifeDraws,
    KnifeProcess, KnifeQuestion, MachineKnives, MustNot, RankedAction, SetAtHand, SetNow,
    SolvedProcess, StockLeft, must_not_run,
};
pub use replacement::{Renewals, Replacement};
pub use rotation::{Rotation, RotationQuestion, SetsChance, sets_to_own};
pub use tried::{Tried, TriedQuestion, Way, WayCosts, compare_ways};
pub use year::{YearAhead, YearBudget, Years};
