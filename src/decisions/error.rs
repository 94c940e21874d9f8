//! Why there is no answer.

use crate::quantities::{QuantityError, as_found};

/// Why a question has no trustworthy answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DecisionError {
    /// The posterior is empty.
    #[error("there are no posterior draws to decide from")]
    NoDraws,
    /// A plan of no jobs.
    #[error("there are no jobs to plan")]
    NoJobs,
    /// A draw that no life law can have, or that these sums cannot reach.
    #[error("{parameter} must lie between {low} and {high}; found {}", as_found(*found))]
    ParameterOutOfRange {
        /// Which parameter, in words.
        parameter: &'static str,
        /// Smallest value.
        low: f64,
        /// Largest value.
        high: f64,
        /// The value of this draw.
        found: f64,
    },
    /// A cost that makes no sense.
    #[error("{item} must be {expected}; found {}", as_found(*found))]
    CostOutOfRange {
        /// Which cost, in words.
        item: String,
        /// What it should be, in words.
        expected: &'static str,
        /// The value given.
        found: f64,
    },
    /// An item that the table of costs does not hold.
    #[error("no cost item is called \"{name}\"")]
    UnknownCostItem {
        /// The name given.
        name: String,
    },
    /// The table of default costs cannot be read.
    #[error("the table of costs cannot be read: {reason}")]
    CostTable {
        /// What the reader of the table says.
        reason: String,
    },
    /// Running cost per hour has no mean where edges may go dull at once and nobody ever calls them.
    #[error(
        "running cost has no mean: lives this scattered need a wear fraction at which crews call for a change"
    )]
    UnboundedRunningCost,
    /// No planned interval is cheaper than changing when the cut calls for it.
    #[error(
        "no planned interval beats changing when the cut calls for it, at {cost_per_hour:.2} per meter hour"
    )]
    RunUntilCalled {
        /// Expected cost per meter hour when edges run until the crew calls for a change.
        cost_per_hour: f64,
    },
    /// A turnaround too long for the sets of one machine.
    #[error(
        "a turnaround of {days} days is {changes:.0} changes long at this pace, more than any number of sets makes good; at most {most} can be reckoned with"
    )]
    LongTurnaround {
        /// The turnaround.
        days: f64,
        /// Changes in that time.
        changes: f64,
        /// The most that is reckoned with.
        most: f64,
    },
    /// A figure that came out as no number at all.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}
