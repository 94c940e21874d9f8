//! What to do about it: costs, and the interval of least expected cost with what must be said beside
//! it. No randomness and no clock: the same posterior gives the same advice.
//!
//! | question | asked of |
//! | --- | --- |
//! | after how many hours to change, and what does today's rule cost? | [`recommend`]; what if: [`compare_ways`] |
//! | when is the edge at work due? | [`due()`] |
//! | how likely is an edge dull by some hour? | [`dull_chances`] |
//! | run on, touch up, flip, regrind or replace? | [`MachineKnives`]; what must not run: [`must_not_run`] |
//! | what will jobs do to the edges, and in which order? | [`plan_jobs`] |
//! | how many sets to own? | [`sets_to_own`] |
//! | what does a year cost? | [`YearAhead`] |
//! | do lives run shorter than they should? | [`drift()`] |
//! | the textbook problem of age replacement | [`Renewals`]; with everything a cycle costs, [`AgeReplacement`] |
//!
//! Each takes draws of the posterior (`wear::Draws`) and costs ([`ShopCosts`], [`CycleCosts`]), and says beside its
//! answer what weakens it ([`Caveat`]). Wherever an answer sends somebody to the knives, [`handling_knives`] goes
//! with it.

mod cautions;
mod caveats;
mod cost_parts;
mod costs;
mod cycle;
mod cycle_costs;
mod cycles;
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
mod worn;
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
pub use due::{AtWorkIn, DueAnswer, WornNow, due, due_as_worn};
pub use dull_chance::{DullChance, dull_chances};
pub use error::DecisionError;
pub use interval::{recommend, recommend_alone};
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
    SolvedProcess, StockLeft, must_not_do, must_not_run,
};
pub use replacement::{Renewals, Replacement};
pub use rotation::{Rotation, RotationQuestion, SetsChance, sets_to_own};
pub use tried::{Tried, TriedQuestion, Way, WayCosts, compare_ways};
pub use year::{YearAhead, YearBudget, Years};
