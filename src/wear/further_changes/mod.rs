//! How many more logged changes would bring the bounds in, and which habit of looking teaches most.

mod lesson;
#[cfg(test)]
mod tests;

use super::WearError;
use super::posterior::{Asked, WearPosterior};
use crate::quantities::MeterHours;
use lesson::lesson_of_one;
use nalgebra::{Cholesky, DMatrix, DVector};
use serde::{Deserialize, Serialize};

/// Beyond this many the answer is "more than".
const MOST: usize = 2000;
/// A 90 % range is so many standard deviations of the log wide.
const NINETY_PERCENT_WIDTH: f64 = 2.0 * 1.644_853_626_951_472_2;

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
        let Some(known) = self.nested().precision(self.density()) else {
            return Ok(None);
        };
        let gain = Gain::new(self, known, &future.asked);
        let lesson = lesson_of_one(self, future)?;
        let enough = |count: usize| gain.range_after(&lesson, count).is_some_and(|r| r <= width);
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
        let Some(known) = self.nested().precision(self.density()) else {
            return Ok(None);
        };
        let nothing = DMatrix::zeros(known.nrows(), known.ncols());
        let gain = Gain::new(self, known, asked);
        let Some(now) = gain.range_after(&nothing, 0) else {
            return Ok(None);
        };
        let mut after = Vec::with_capacity(Habit::ALL.len());
        for habit in Habit::ALL {
            let future = FutureChange {
                asked: asked.clone(),
                interval,
                habit,
            };
            let lesson = lesson_of_one(self, &future)?;
            let Some(range) = gain.range_after(&lesson, changes) else {
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

/// What is known, and in which direction more is wanted.
struct Gain {
    known: DMatrix<f64>,
    direction: DVector<f64>,
}

impl Gain {
    fn new(posterior: &WearPosterior, known: DMatrix<f64>, asked: &Asked) -> Self {
        Self {
            known,
            direction: DVector::from_vec(posterior.direction_at_points(asked)),
        }
    }

    /// Top over bottom of the 90 % range after `count` changes that teach `lesson` each.
    fn range_after(&self, lesson: &DMatrix<f64>, count: usize) -> Option<f64> {
        let factor = Cholesky::new(&self.known + count as f64 * lesson)?;
        let variance = self.direction.dot(&factor.solve(&self.direction));
        Some((NINETY_PERCENT_WIDTH * variance.sqrt()).exp())
    }
}
