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
const INVENTED: usize = 200;
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
    /// One change teaches the average of minus the Hessian of its log-likelihood over changes invented
    /// from the most probable parameters (its expected information); `n` changes add `n` times that to
    /// the posterior's own.
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

    /// Average information of one invented change.
    fn lesson_of_one(
        &self,
        future: &FutureChange,
        random: &mut impl Rng,
    ) -> Result<DMatrix<f64>, WearError> {
        let law = self.law_at_mode(&future.asked);
        let mut records = EdgeRecords::of_crew();
        let mut seen = Vec::with_capacity(INVENTED);
        for _ in 0..INVENTED {
            let (hours, grade) = invent(&law, future, random);
            let at = MeterHours::new(hours).map_err(|_| WearError::NoWear { edge: 0 })?;
            records.edges.push(record(&future.asked, hours));
            seen.push(Observation::Graded {
                looks: vec![Look {
                    at,
                    sight: Sight::Graded(grade),
                }],
                noticed: None,
            });
        }
        let settings = DensitySettings {
            family: self.family(),
            anchor: Anchor::Median,
            eye_error: future.eye_error,
            touch_up_share: 0.0,
            called_at: 1.0,
        };
        let density = WearDensity::new(
            &records,
            &seen,
            settings,
            vec![None; self.laplace().mode().len()],
        )?;
        Ok(-density.log_likelihood(self.laplace().mode()).hessian / INVENTED as f64)
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
