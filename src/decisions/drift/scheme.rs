//! How long scores are summed before they count as a sign.

use crate::decisions::DecisionError;
use crate::numerics::run_length;

/// A two-sided cumulative sum of normal scores.
///
/// ```text
/// longer  = max(0, longer  + score - reference)
/// shorter = max(0, shorter - score - reference)
/// ```
///
/// and a sign once either exceeds `decision`; all in standard deviations of what single edges scatter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scheme {
    reference: f64,
    decision: f64,
}

impl Scheme {
    /// Halfway to a shift of one standard deviation, and five of them gathered: a false sign once in 465 edges,
    /// a shift of one standard deviation found after 10 (Montgomery, Introduction to Statistical Quality
    /// Control). Basis: common practice.
    pub const USUAL: Self = Self {
        reference: 0.5,
        decision: 5.0,
    };

    /// A scheme of one's own.
    ///
    /// # Errors
    ///
    /// [`DecisionError::ParameterOutOfRange`] for a reference value outside 0.1 to 2, or a decision interval
    /// outside 0.5 to 12.
    pub fn new(reference: f64, decision: f64) -> Result<Self, DecisionError> {
        let ranges = [
            ("the reference value", 0.1, 2.0, reference),
            ("the decision interval", 0.5, run_length::LARGEST, decision),
        ];
        for (parameter, low, high, found) in ranges {
            if !(low..=high).contains(&found) {
                return Err(DecisionError::ParameterOutOfRange {
                    parameter,
                    low,
                    high,
                    found,
                });
            }
        }
        Ok(Self {
            reference,
            decision,
        })
    }

    /// The reference value.
    pub fn reference(self) -> f64 {
        self.reference
    }

    /// The decision interval.
    pub fn decision(self) -> f64 {
        self.decision
    }

    /// After how many edges it gives a sign on average if their scores are normal around `shift`: the time to a
    /// false sign at 0. Edges of which less was seen count as less than one.
    pub fn run_length(self, shift: f64) -> f64 {
        run_length::two_sided(self.reference, self.decision, shift)
    }
}
