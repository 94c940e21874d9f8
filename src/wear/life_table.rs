//! Censored life tables, as survival software keeps them.

use super::WearError;
use super::life_distribution::Family;
use super::records::{EdgeRecord, EdgeRecords, Stretch};
use crate::lives::Observation;
use crate::quantities::MeterHours;

/// Which distribution to fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distribution {
    /// Family of log life.
    pub family: Family,
    /// `sigma` held at this value: 1 turns the Weibull into the exponential.
    pub fixed_sigma: Option<f64>,
}

/// One row: life ended within `(lower, upper]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifetime {
    /// Known not to have ended by then; 0 where nothing is known (left-censored).
    pub lower: f64,
    /// Known to have ended by then; infinite where it has not been seen to end (right-censored).
    /// Equal to `lower` for an exact life.
    pub upper: f64,
    /// How many such lives were seen.
    pub weight: f64,
    /// Left truncation: it came into view at this age; 0 where it was seen from new.
    pub entry: f64,
}

/// A censored life table with covariates in the log-time convention: positive lasts longer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeTable {
    /// Names of the covariates.
    pub covariate_names: Vec<String>,
    /// One row of covariates for each life.
    pub covariates: Vec<Vec<f64>>,
    /// The lives.
    pub lives: Vec<Lifetime>,
}

/// How a life is censored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Censoring {
    /// Known exactly.
    Exact,
    /// Not ended by `lower`.
    Right,
    /// Ended by `upper`.
    Left,
    /// Ended within `(lower, upper]`.
    Interval,
}

impl Censoring {
    /// Of a life that ended within `(lower, upper]`.
    #[inline(always)]
    pub(super) fn between(lower: f64, upper: f64) -> Self {
        if upper == f64::INFINITY {
            Censoring::Right
        } else if lower == upper {
            Censoring::Exact
        } else if lower <= 0.0 {
            Censoring::Left
        } else {
            Censoring::Interval
        }
    }
}

impl Lifetime {
    /// How it is censored.
    pub fn censoring(&self) -> Censoring {
        Censoring::between(self.lower, self.upper)
    }

    fn observation(&self) -> Result<Observation, crate::quantities::QuantityError> {
        let hours = MeterHours::new;
        Ok(match self.censoring() {
            Censoring::Exact => Observation::Exact(hours(self.lower)?),
            Censoring::Right => Observation::RightCensored(hours(self.lower)?),
            Censoring::Left => Observation::LeftCensored(hours(self.upper)?),
            Censoring::Interval => Observation::IntervalCensored {
                after: hours(self.lower)?,
                by: hours(self.upper)?,
            },
        })
    }

    /// Whether this row tells anything: a life in view from `entry` that was last seen no later does not.
    pub(super) fn says_something(&self) -> bool {
        self.censoring() != Censoring::Right || self.lower > self.entry
    }

    /// The last age that this row speaks of.
    fn horizon(&self) -> f64 {
        if self.upper.is_finite() {
            self.upper
        } else {
            self.lower
        }
    }
}

impl LifeTable {
    /// As records and observations of edges that wear at rate one.
    ///
    /// # Errors
    ///
    /// [`WearError::Shape`] for a row whose numbers cannot be ages.
    pub fn records(&self) -> Result<(EdgeRecords, Vec<Observation>), WearError> {
        let mut records = EdgeRecords {
            feature_names: self.covariate_names.clone(),
            ..EdgeRecords::default()
        };
        let mut observations = Vec::with_capacity(self.lives.len());
        for (edge, (life, row)) in self.lives.iter().zip(&self.covariates).enumerate() {
            observations.push(life.observation().map_err(|_| WearError::Shape { edge })?);
            records.edges.push(EdgeRecord {
                features: row.clone(),
                stretches: vec![Stretch {
                    start: 0.0,
                    stop: life.horizon(),
                    parts: vec![(1.0, Vec::new())],
                }],
                entry: (life.entry > 0.0).then_some(life.entry),
                weight: life.weight,
                ..EdgeRecord::default()
            });
        }
        Ok((records, observations))
    }
}
