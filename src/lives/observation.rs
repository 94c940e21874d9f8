//! What is known of when an edge went dull.

use super::SAME_PLACE;
use crate::quantities::{Grade, MeterHours, WearFraction};

/// One look at an edge by somebody whose eye may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sight {
    /// A grade.
    Graded(Grade),
    /// Nobody called it dull when it was taken out or while it runs on: not overrun, as far as the
    /// crew could tell. The weakest thing a log can say of an edge.
    NotCalled,
    /// The bright flat measured, as a fraction of the width at which this crew calls an edge dull.
    Measured(WearFraction),
}

/// A look, with its place in the edge's life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Meter hours of this edge's life at the time.
    pub at: MeterHours,
    /// What was seen.
    pub sight: Sight,
}

/// An edge noticed dull in the cut: the moment itself tells of its life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noticed {
    /// Meter hours of this edge's life at the time.
    pub at: MeterHours,
    /// It was overrun by then: noticed only when the crew could not but call it.
    pub late: bool,
}

/// What is known of the moment at which one edge went dull. Times are meter hours of the edge's
/// life; intervals are half-open, `(after, by]`.
#[derive(Debug, Clone, PartialEq)]
pub enum Observation {
    /// Went dull at exactly this moment, known without error.
    Exact(MeterHours),
    /// Certainly not dull by then.
    RightCensored(MeterHours),
    /// Certainly dull by then.
    LeftCensored(MeterHours),
    /// Certainly dull within `(after, by]`.
    IntervalCensored {
        /// Not yet dull.
        after: MeterHours,
        /// Dull.
        by: MeterHours,
    },
    /// Looked at by somebody whose eye may be off: one or more looks, and perhaps the moment at
    /// which an operator noticed in the cut that the edge had gone dull.
    Graded {
        /// In order of time. May be empty only where `noticed` is given.
        looks: Vec<Look>,
        /// Noticed dull in the cut.
        noticed: Option<Noticed>,
    },
}

impl Observation {
    /// The last grade that somebody gave it.
    pub fn last_grade(&self) -> Option<Grade> {
        let Observation::Graded { looks, .. } = self else {
            return None;
        };
        looks.iter().rev().find_map(|look| match look.sight {
            Sight::Graded(grade) => Some(grade),
            _ => None,
        })
    }

    /// The same with one more look, at this last hour of the life; it takes the place of what was seen, or
    /// not said, by then. What was noticed in the cut stays beside it. Lives known without error stay as
    /// they are.
    #[must_use]
    pub fn with_last_look(&self, at: MeterHours, sight: Sight) -> Self {
        let Observation::Graded { looks, noticed } = self else {
            return self.clone();
        };
        let earlier = |look: &&Look| look.at.get() < at.get() - SAME_PLACE;
        let mut looks: Vec<Look> = looks.iter().filter(earlier).copied().collect();
        looks.push(Look { at, sight });
        Observation::Graded {
            looks,
            noticed: *noticed,
        }
    }
}
