//! How many more logged changes would bring the bounds in, and which habit of looking teaches most.

mod lesson;
mod subject;
#[cfg(test)]
mod tests;

use super::WearError;
use super::posterior::{Asked, WearPosterior};
use crate::quantities::MeterHours;
use lesson::lesson_of_one;
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};
use subject::Subject;

/// Beyond this many the answer is "more than".
const MOST: usize = 2000;

/// What a crew writes down of an edge that it changes on schedule. An edge that the cut calls for before
/// then is noted at that moment under every habit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Habit {
    /// Only that it was pulled.
    NothingWritten,
    /// A grade when it comes out.
    Graded,
    /// A grade half-way to the change, and one when it comes out.
    GradedAndChecked,
    /// The bright flat measured when it comes out.
    FlatMeasured,
}

impl Habit {
    /// Every habit.
    pub const ALL: [Habit; 4] = [
        Habit::NothingWritten,
        Habit::Graded,
        Habit::GradedAndChecked,
        Habit::FlatMeasured,
    ];
}

/// How a future change would be made and looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct FutureChange {
    /// In what conditions.
    pub asked: Asked,
    /// Changed at this many meter hours, unless called before.
    pub interval: MeterHours,
    /// What is written down.
    pub habit: Habit,
}

/// The 90 % range of median life that a habit is expected to bring.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct HabitRange {
    /// Which habit.
    pub habit: Habit,
    /// Top of the range over its bottom.
    pub range: f64,
}

/// What every habit is expected to bring after so many further changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HabitRanges {
    /// So many.
    pub changes: usize,
    /// Top of the 90 % range of median life over its bottom as things stand.
    pub now: f64,
    /// After the changes, narrowest first.
    pub after: Vec<HabitRange>,
}

impl WearPosterior {
    /// The number of further changes expected to bring the 90 % range of median life in these conditions
    /// to within a factor of `width` from bottom to top. `None` where two thousand would not do.
    ///
    /// One change teaches its expected information at the most probable parameters; `n` changes add `n`
    /// times that to the posterior's own.
    ///
    /// # Errors
    ///
    /// [`WearError`] where the future change cannot be run at all: an interval of zero hours, say.
    pub fn further_changes(
        &self,
        future: &FutureChange,
        width: f64,
    ) -> Result<Option<usize>, WearError> {
        let Some(subject) = Subject::of(self, &future.asked) else {
            return Ok(None);
        };
        let lesson = lesson_of_one(self, &subject, future)?;
        let enough = |count: usize| {
            subject
                .range_after(&lesson, count)
                .is_some_and(|r| r <= width)
        };
        if !enough(MOST) {
            return Ok(None);
        }
        let counts: Vec<usize> = (0..=MOST).collect();
        Ok(Some(counts.partition_point(|&count| !enough(count))))
    }

    /// The 90 % range of median life in these conditions that each habit is expected to bring after
    /// `changes` further changes at `interval`, on the grounds of [`WearPosterior::further_changes`].
    /// `None` where the posterior has no top to start from.
    ///
    /// # Errors
    ///
    /// As there.
    pub fn habits(
        &self,
        asked: &Asked,
        interval: MeterHours,
        changes: usize,
    ) -> Result<Option<HabitRanges>, WearError> {
        let Some(subject) = Subject::of(self, asked) else {
            return Ok(None);
        };
        let nothing = DMatrix::zeros(subject.known.nrows(), subject.known.ncols());
        let Some(now) = subject.range_after(&nothing, 0) else {
            return Ok(None);
        };
        let mut after = Vec::with_capacity(Habit::ALL.len());
        for habit in Habit::ALL {
            let future = FutureChange {
                asked: asked.clone(),
                interval,
                habit,
            };
            let lesson = lesson_of_one(self, &subject, &future)?;
            let Some(range) = subject.range_after(&lesson, changes) else {
                return Ok(None);
            };
            after.push(HabitRange { habit, range });
        }
        after.sort_by(|a, b| a.range.total_cmp(&b.range));
        Ok(Some(HabitRanges {
            changes,
            now,
            after,
        }))
    }
}
