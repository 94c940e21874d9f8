//! When an edge is due.

use crate::decisions::mean_curve::MeanCurve;
use crate::decisions::{CycleCosts, DecisionError};
use crate::quantities::MeterHours;
use crate::wear::DrawUnderConditions;

/// The interval after which edges are changed on plan in the wood that the draws are for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChangeRule {
    /// The interval of least expected cost; where no planned change pays, the hours by which half of all
    /// edges have been called, by the median draw.
    pub interval: MeterHours,
    /// Whether a planned change pays.
    pub changed_on_plan: bool,
}

impl ChangeRule {
    /// The rule of least expected cost.
    ///
    /// # Errors
    ///
    /// Those of [`recommend`](crate::decisions::recommend) but that no planned interval pays.
    pub fn best(draws: &[DrawUnderConditions], costs: &CycleCosts) -> Result<Self, DecisionError> {
        match MeanCurve::best_alone(draws, costs) {
            Ok(curve) => Ok(Self {
                interval: MeterHours::new(curve.best().log_hours.exp())?,
                changed_on_plan: true,
            }),
            Err(DecisionError::RunUntilCalled { .. }) => Ok(Self {
                interval: MeterHours::new(called(draws, costs)?)?,
                changed_on_plan: false,
            }),
            Err(error) => Err(error),
        }
    }
}

fn called(draws: &[DrawUnderConditions], costs: &CycleCosts) -> Result<f64, DecisionError> {
    let mut logs: Vec<f64> = draws.iter().map(|draw| draw.law.log_median).collect();
    logs.sort_unstable_by(f64::total_cmp);
    let middle = logs.get(logs.len() / 2).ok_or(DecisionError::NoDraws)?;
    let call_at = costs.call_at.map_or(1.0, |fraction| fraction.get());
    Ok(call_at * middle.exp())
}
