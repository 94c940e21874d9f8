//! How much steel is left, and how much the next grind takes.

use super::set_at_hand::SetAtHand;
use crate::decisions::DecisionError;
use crate::quantities::Width;
use serde::{Deserialize, Serialize};

/// What a routine grind takes where no log says, millimetres. Basis: from memory: 0.3 to 0.8.
const ROUTINE: f64 = 0.5;
/// A grind goes this far below the bottom of a nick, millimetres. Basis: from memory: the least that a
/// routine grind takes.
const CLEARANCE: f64 = 0.3;
/// Widths closer than this are one width: far below what a rule reads, far above rounding. Millimetres.
const SAME: f64 = 1e-9;

/// How much steel is left, and how much the next grind takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StockLeft {
    /// Width of the knives now.
    pub width: Option<Width>,
    /// Below this width they are discarded.
    pub discard_width: Option<Width>,
    /// Steel between the two; absent where either is not known.
    pub above_discard: Option<Width>,
    /// What the next grind takes.
    pub this_grind: Width,
    /// Nobody has logged what a grind takes: it is common practice.
    pub grind_is_default: bool,
    /// Width after it; absent where the width is not known.
    pub width_after: Option<Width>,
    /// Grinds left, the next one included.
    pub regrinds_left: u32,
    /// The widths are not known: it is what knives last by the table of costs, less the grinds done.
    pub regrinds_are_default: bool,
}

impl StockLeft {
    /// Of a set, where new knives last so many grinds.
    pub(super) fn of(set: &SetAtHand, regrinds_of_new: u32) -> Result<Self, DecisionError> {
        let routine = set.stock_per_grind.map_or(ROUTINE, Width::millimetres);
        let cleared = set
            .nick
            .filter(|nick| *nick > Width::ZERO)
            .map_or(0.0, |nick| nick.millimetres() + CLEARANCE);
        let takes = routine.max(cleared);
        let above = set
            .width
            .zip(set.discard_width)
            .map(|(width, discard)| width.millimetres() - discard.millimetres());
        // A grind of nothing would never use a knife up.
        let grinds = |stock: f64| match stock + SAME - takes {
            left if left < 0.0 => 0,
            left => 1 + (left / routine.max(0.01)).floor().min(1000.0) as u32,
        };
        let by_default = regrinds_of_new.saturating_sub(set.regrinds);
        let at_most = set
            .width_at_most
            .zip(set.discard_width)
            .map(|(width, discard)| grinds(width.millimetres() - discard.millimetres()));
        let regrinds_left = match above {
            Some(stock) => grinds(stock),
            None => by_default.min(at_most.unwrap_or(u32::MAX)),
        };
        let after = set
            .width
            .map(|width| (width.millimetres() - takes).max(0.0));
        Ok(Self {
            width: set.width,
            discard_width: set.discard_width,
            above_discard: above.map(|stock| Width::new(stock.max(0.0))).transpose()?,
            this_grind: Width::new(takes)?,
            grind_is_default: set.stock_per_grind.is_none(),
            width_after: after.map(Width::new).transpose()?,
            regrinds_left,
            regrinds_are_default: above.is_none(),
        })
    }
}
