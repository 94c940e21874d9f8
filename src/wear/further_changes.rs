//! How many more logged changes would bring the bounds in.

use super::density::LogPosterior;
use super::density::{Anchor, DensitySettings, WearDensity};
use super::eye::Glance;
use super::likelihood::Order;
use super::posterior::{Asked, WearPosterior};
use super::records::{EdgeRecord, EdgeRecords, Stretch, features_of};
use super::{LifeDistribution, WearError};
use crate::lives::{Look, Noticed, Observation, Sight};
use crate::numerics::normal;
use crate::quantities::{Grade, MeterHours};
use crate::wood::BlendPart;
use nalgebra::{Cholesky, DMatrix, DVector};

/// Lives at even steps of their law, over which what one change teaches is averaged.
const LIVES: usize = 24;
/// Outcomes rarer than this teach nothing on the average.
const NEGLIGIBLE: f64 = 1e-4;
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
    /// One change teaches its expected information at the most probable parameters; `n` changes add `n` times that to the posterior's own.
    ///
    /// # Errors
    ///
    /// [`WearError`] where the future change cannot be run at all: an interval of zero hours, say.
    pub fn further_changes(
        &self,
        future: &FutureChange,
        width: f64,
    ) -> Result<Option<usize>, WearError> {
        let lesson = self.lesson_of_one(future)?;
        let direction = DVector::from_vec(self.direction_at_points(&future.asked));
        let Some(known) = self.nested().precision(self.density()) else {
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

    /// Information of one change: the mean square of its score over lives at even steps of their law, over
    /// grades by their chance, and over eyes for those called before the interval is up.
    fn lesson_of_one(&self, future: &FutureChange) -> Result<DMatrix<f64>, WearError> {
        let law = self.law_at_mode(&future.asked);
        let size = self.density().dimension();
        let mut lesson = DMatrix::zeros(size, size);
        for step in 0..LIVES {
            let w = law.family.quantile((step as f64 + 0.5) / LIVES as f64) - law.family.median();
            let life = (law.log_median + law.sigma * w).exp();
            for (share, hours, observation) in outcomes(life, future)? {
                let score = self.score(future, hours, observation)?;
                lesson.ger(share / LIVES as f64, &score, &score, 1.0);
            }
        }
        Ok(lesson)
    }

    /// Gradient of the log-likelihood of one change at the most probable parameters.
    fn score(
        &self,
        future: &FutureChange,
        hours: f64,
        seen: Observation,
    ) -> Result<DVector<f64>, WearError> {
        let records = EdgeRecords {
            groupings: self.groupings().to_vec(),
            edges: vec![self.record(&future.asked, hours)],
            ..self.no_records()
        };
        let settings = DensitySettings {
            called_at: future.called_at,
            ..DensitySettings::of_bare_lives(self.family(), Anchor::Median)
        };
        let priors = self.density().priors().clone();
        let density = WearDensity::new(&records, &[seen], settings, priors)?;
        Ok(density.likelihood_at(self.nested().mode()).gradient)
    }

    /// No edges, with as many covariates as the model was fitted with.
    fn no_records(&self) -> EdgeRecords {
        let rates = self.layout().rates().len();
        let mut records = EdgeRecords::of_crew();
        records.rate_names.resize(rates, String::new());
        records
    }

    fn record(&self, asked: &Asked, hours: f64) -> EdgeRecord {
        let columns = self.layout().rates().len();
        let part = |part: &BlendPart| (part.share, part.covariates.padded(columns).collect());
        EdgeRecord {
            features: features_of(asked.rotor, asked.reground).to_vec(),
            stretches: vec![Stretch {
                start: 0.0,
                stop: hours,
                parts: asked.blend.parts().iter().map(part).collect(),
            }],
            groups: self.most_likely_levels(asked),
            weight: 1.0,
            ..EdgeRecord::default()
        }
    }
}

/// What one edge of this life may come to: share, hours run, what is seen.
fn outcomes(life: f64, future: &FutureChange) -> Result<Vec<(f64, f64, Observation)>, WearError> {
    let at = |hours: f64| MeterHours::new(hours).map_err(|_| WearError::NoWear { edge: 0 });
    let interval = future.interval.get();
    if future.called_at * life < interval {
        // Called, by an eye at one of five even steps of its error.
        return [0.1, 0.3, 0.5, 0.7, 0.9]
            .into_iter()
            .map(|p| {
                let hours =
                    future.called_at * life * (future.eye_error * normal::quantile(p)).exp();
                let noticed = Some(Noticed {
                    at: at(hours)?,
                    late: true,
                });
                Ok((
                    0.2,
                    hours,
                    Observation::Graded {
                        looks: Vec::new(),
                        noticed,
                    },
                ))
            })
            .collect();
    }
    let log_fraction = (interval / life).ln();
    Grade::ALL
        .into_iter()
        .map(|grade| {
            let sight = Sight::Graded(grade);
            let chance = Glance::of_grade(grade)
                .seen(log_fraction, future.eye_error, Order::Value)
                .value
                .exp();
            let looks = vec![Look {
                at: at(interval)?,
                sight,
            }];
            Ok((
                chance,
                interval,
                Observation::Graded {
                    looks,
                    noticed: None,
                },
            ))
        })
        .filter(|outcome| !matches!(outcome, Ok((chance, ..)) if *chance < NEGLIGIBLE))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lives::Rotor;
    use crate::quantities::WearFraction;
    use crate::wear::{PriorPack, WearModel};
    use crate::wood::Blend;
    use linfa::traits::Fit;
    use linfa::{DatasetBase, ParamGuard};

    fn further(width: f64) -> Option<usize> {
        let pack = PriorPack::common_practice().expect("the pack");
        let model = WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction"));
        let posterior = model
            .check()
            .expect("a model")
            .fit(&DatasetBase::new(EdgeRecords::of_crew(), Vec::new()))
            .expect("a fit");
        let future = FutureChange {
            asked: Asked {
                blend: Blend::reference(),
                rotor: Rotor::Drum,
                reground: false,
                among: Vec::new(),
            },
            interval: MeterHours::new(50.0).expect("hours"),
            called_at: 1.3,
            eye_error: 0.2,
        };
        posterior
            .further_changes(&future, width)
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
