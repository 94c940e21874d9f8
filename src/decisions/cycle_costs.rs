//! What one cycle of an edge can cost.

use super::DecisionError;
use super::cycle::Cycle;
use crate::quantities::{Money, WearFraction};

/// The costs of one cycle of an edge, from fresh to changed. Money in the shop's currency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CycleCosts {
    /// `K`: a planned change. Above zero: free changes would be made all day.
    pub planned: Money,
    /// `P`: what a change forced in the field costs beyond a planned one.
    pub forced_extra: Money,
    /// `S`: what a change after a strike costs beyond a planned one.
    pub strike_extra: Money,
    /// `c_d`: what an hour on an edge that is just dull costs beyond an hour on a fresh one. In
    /// between, the cost of an hour rises in a straight line with the wear fraction.
    pub running_at_dull: Money,
    /// `w_call`: the wear fraction at which the crew calls for a change. `None`: never.
    pub call_at: Option<WearFraction>,
}

/// The same as plain numbers, once checked. A crew that never calls has `call_at` infinite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CheckedCosts {
    pub planned: f64,
    pub forced_extra: f64,
    pub strike_extra: f64,
    pub running_at_dull: f64,
    pub call_at: f64,
}

impl CheckedCosts {
    /// Cost per hour of such cycles.
    pub fn rate_of(&self, cycle: &Cycle) -> f64 {
        (self.planned + cycle.cost) / cycle.length
    }

    /// How that rises with the age at which edges are pulled.
    pub fn rate_slope_of(&self, cycle: &Cycle) -> f64 {
        (cycle.cost_slope - self.rate_of(cycle) * cycle.length_slope) / cycle.length
    }
}

impl CycleCosts {
    pub(super) fn check(&self) -> Result<CheckedCosts, DecisionError> {
        let call_at = self.call_at.map_or(f64::INFINITY, WearFraction::get);
        Ok(CheckedCosts {
            planned: above_zero("the cost of a planned change", self.planned.get())?,
            forced_extra: zero_or_more("the extra cost of a forced change", self.forced_extra)?,
            strike_extra: zero_or_more("the extra cost of a strike", self.strike_extra)?,
            running_at_dull: zero_or_more("the running cost at dull", self.running_at_dull)?,
            call_at: above_zero("the wear fraction at which crews call", call_at)?,
        })
    }
}

fn above_zero(item: &str, found: f64) -> Result<f64, DecisionError> {
    let out_of_range = || DecisionError::CostOutOfRange {
        item: item.to_owned(),
        expected: "above zero",
        found,
    };
    (found > 0.0).then_some(found).ok_or_else(out_of_range)
}

fn zero_or_more(item: &str, money: Money) -> Result<f64, DecisionError> {
    let out_of_range = || DecisionError::CostOutOfRange {
        item: item.to_owned(),
        expected: "zero or more",
        found: money.get(),
    };
    (money.get() >= 0.0)
        .then_some(money.get())
        .ok_or_else(out_of_range)
}
