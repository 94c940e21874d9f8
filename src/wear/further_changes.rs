//! How many more logged changes would bring the bounds in.

use super::density::{Anchor, DensitySettings, WearDensity};
use super::posterior::{Asked, WearPosterior};
use super::records::{EdgeRecord, EdgeRecords, Stretch, features_of};
use super::{LifeDistribution, LifeLaw, WearError};
use crate::lives::{Look, Observation, Sight};
use crate::quantities::{Grade, MeterHours};
use nalgebra::{Cholesky, DMatrix, DVector};
use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};

/// Future changes invented to learn what one of them teaches on average.
const INVENTED: usize = 100;
/// Beyond this many the answer is "more than".
const MOST: usize = 2000;

/// How a future change would be made and looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct FutureChange {
    /// In what conditions.
    pub asked: Asked,
    /// Changed at this many meter hours, unless called before.
    pub interval: MeterHours,
    /// The wear fraction at which the crew calls an edge.
    pub called_at: f64,
    /// The grader's error on log wear fraction.
    pub eye_error: f64,
}

impl WearPosterior {
    /// The number of further changes, each graded when pulled, expected to bring the 90 % range of
    /// median life in these conditions to within a factor of `width` from bottom to top. `None` where
    /// two thousand would not do.
    ///
    /// One change teaches its expected information, taken over changes invented from the most probable
    /// parameters; `n` changes add `n` times that to the posterior's own.
    ///
    /// # Errors
    ///
    /// [`WearError`] where the future change cannot be run at all: an interval of zero hours, say.
    pub fn further_changes(
        &self,
        future: &FutureChange,
        width: f64,
        random: &mut impl Rng,
    ) -> Result<Option<usize>, WearError> {
        let lesson = self.lesson_of_one(future, random)?;
        let row = self.mean_row(&future.asked);
        let direction = DVector::from_vec(
            self.direction(features_of(future.asked.rotor, future.asked.reground), &row),
        );
        let Some(known) =
            Cholesky::new(self.laplace().covariance().clone()).map(|factor| factor.inverse())
        else {
            return Ok(None);
        };
        // A 90 % range is 3.29 standard deviations of the log.
        let wanted = (width.ln() / 3.29).powi(2);
        let enough = |count: usize| {
            Cholesky::new(&known + count as f64 * &lesson)
                .is_some_and(|factor| direction.dot(&factor.solve(&direction)) <= wanted)
        };
        if !enough(MOST) {
            return Ok(None);
        }
        let counts: Vec<usize> = (0..=MOST).collect();
        Ok(Some(counts.partition_point(|&count| !enough(count))))
    }

    /// Information of one change: the mean square of its score over invented changes. (Minus the mean
    /// Hessian estimates the same, but from a few hundred it may point downwards somewhere.)
    fn lesson_of_one(
        &self,
        future: &FutureChange,
        random: &mut impl Rng,
    ) -> Result<DMatrix<f64>, WearError> {
        let law = self.law_at_mode(&future.asked);
        let size = self.laplace().mode().len();
        let mut lesson = DMatrix::zeros(size, size);
        for _ in 0..INVENTED {
            let (hours, grade) = invent(&law, future, random);
            let score = self.score(future, hours, grade)?;
            lesson.ger(1.0 / INVENTED as f64, &score, &score, 1.0);
        }
        Ok(lesson)
    }

    /// Gradient of the log-likelihood of one change at the most probable parameters.
    fn score(
        &self,
        future: &FutureChange,
        hours: f64,
        grade: Grade,
    ) -> Result<DVector<f64>, WearError> {
        let at = MeterHours::new(hours).map_err(|_| WearError::NoWear { edge: 0 })?;
        let looks = vec![Look {
            at,
            sight: Sight::Graded(grade),
        }];
        let records = EdgeRecords {
            edges: vec![record(&future.asked, hours)],
            ..EdgeRecords::of_crew()
        };
        let settings = DensitySettings {
            family: self.family(),
            anchor: Anchor::Median,
            eye_error: future.eye_error,
            touch_up_share: 0.0,
            called_at: future.called_at,
        };
        let seen = [Observation::Graded {
            looks,
            noticed: None,
        }];
        let density = WearDensity::new(
            &records,
            &seen,
            settings,
            vec![None; self.laplace().mode().len()],
        )?;
        Ok(density.log_likelihood(self.laplace().mode()).gradient)
    }
}

fn record(asked: &Asked, hours: f64) -> EdgeRecord {
    let parts = asked
        .blend
        .parts()
        .iter()
        .map(|part| (part.share, part.covariates.row().to_vec()))
        .collect();
    EdgeRecord {
        features: features_of(asked.rotor, asked.reground).to_vec(),
        stretches: vec![Stretch {
            start: 0.0,
            stop: hours,
            parts,
        }],
        weight: 1.0,
        ..EdgeRecord::default()
    }
}

/// Hours run and the grade given at the end of one invented life.
fn invent(law: &LifeLaw, future: &FutureChange, random: &mut impl Rng) -> (f64, Grade) {
    let chance: f64 = random.random_range(1e-12..1.0);
    let w = law.family.quantile(chance) - law.family.median();
    let life = (law.log_median + law.sigma * w).exp();
    let hours = future.interval.get().min(future.called_at * life);
    let score: f64 = StandardNormal.sample(random);
    let fraction = hours / life * (future.eye_error * score).exp();
    let grade = Grade::ALL[Grade::CUTS.iter().filter(|cut| fraction > **cut).count()];
    (hours, grade)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lives::Rotor;
    use crate::quantities::WearFraction;
    use crate::wear::{PriorPack, WearModel, seeded};
    use crate::wood::Blend;
    use linfa::DatasetBase;
    use linfa::traits::Fit;

    fn further(width: f64) -> Option<usize> {
        let pack = PriorPack::common_practice().expect("the pack");
        let model =
            WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction")).expect("a model");
        let posterior = model
            .fit(&DatasetBase::new(EdgeRecords::of_crew(), Vec::new()))
            .expect("a fit");
        let future = FutureChange {
            asked: Asked {
                blend: Blend::reference(),
                rotor: Rotor::Drum,
                reground: false,
            },
            interval: MeterHours::new(50.0).expect("hours"),
            called_at: 1.3,
            eye_error: 0.2,
        };
        posterior
            .further_changes(&future, width, &mut seeded(1))
            .expect("an answer")
    }

    /// Own simulation behind the model: twelve graded changes narrow the 90 % range of median life to
    /// 1.57-fold, forty-eight to 1.25-fold.
    #[test]
    fn about_as_many_changes_are_asked_for_as_simulated_crews_needed() {
        let few = further(1.57).expect("a number");
        let many = further(1.25).expect("a number");
        assert!((7..=18).contains(&few), "{few}");
        assert!((30..=75).contains(&many), "{many}");
    }

    #[test]
    fn a_range_that_is_narrow_already_needs_none() {
        assert_eq!(further(50.0), Some(0));
    }
}
