//! Why the adequacy of a law could not be examined.

/// What stops a look at how well a law of life fits.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AdequacyError {
    /// A life whose numbers cannot be ages or a weight.
    #[error("life {row}: {what}; found {found}")]
    Life {
        /// Place among the lives, from zero.
        row: usize,
        /// What would be right.
        what: &'static str,
        /// What was given.
        found: f64,
    },
    /// No life says anything: none is left with a weight above zero and seen beyond its entry.
    #[error("no life says anything: each has no weight or was last seen before it came into view")]
    NothingCounts,
    /// The search for the most likely distribution did not meet its conditions.
    #[error(
        "the search for the most likely distribution did not settle: the conditions of a maximum are missed by {off:e} after {iterations} steps"
    )]
    NotSettled {
        /// By how much, in shares of all lives.
        off: f64,
        /// Steps taken.
        iterations: usize,
    },
    /// A line or level that cannot be drawn.
    #[error("{setting} must be {wanted}; found {found}")]
    Setting {
        /// Which.
        setting: &'static str,
        /// What would be right.
        wanted: &'static str,
        /// What was given.
        found: f64,
    },
    /// Survival probabilities out of order.
    #[error(
        "life {row}: survival must satisfy 0 <= low <= high <= entry <= 1 with entry above zero; found low {low}, high {high}, entry {entry}"
    )]
    Span {
        /// Place among the lives, from zero.
        row: usize,
        /// Survival at the end of the span.
        low: f64,
        /// Survival at its start.
        high: f64,
        /// Survival at the entry.
        entry: f64,
    },
    /// A test was asked of no scores, or of one that is not a number.
    #[error("a test of scores needs at least one score, and every score finite")]
    Scores,
}
