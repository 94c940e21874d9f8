//! The log posterior density: likelihood plus priors.

use super::WearError;
use super::life_distribution::{Family, LifeDistribution};
use super::likelihood::{EdgeTerms, Habits, LikelihoodSettings, compile, log_likelihood};
use super::parameters::Layout;
use super::prior::NormalPrior;
use super::records::EdgeRecords;
use super::wear_sum::CovariateRows;
use crate::lives::Observation;
pub use crate::numerics::newton::Quadratic;

/// A log density with its gradient and Hessian.
pub trait LogPosterior {
    /// Number of parameters.
    fn dimension(&self) -> usize;
    /// Value, gradient and Hessian at `theta`; the value is minus infinity or not a number where the
    /// density cannot be computed, and whoever searches must turn back there.
    fn evaluate(&self, theta: &[f64]) -> Quadratic;
}

/// What the location parameter stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The log of median life: the prior on life is then free of the shape.
    Median,
    /// The intercept of `ln T = intercept + sigma W`, as survival software has it: for the Weibull the
    /// log of characteristic life (63.2 % dull).
    Intercept,
}

impl Anchor {
    /// The standardised log life at which life equals the location.
    pub fn standardised(self, family: Family) -> f64 {
        match self {
            Anchor::Median => family.median(),
            Anchor::Intercept => 0.0,
        }
    }
}

/// How the likelihood is read, apart from parameters and priors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DensitySettings {
    /// Family of life distributions.
    pub family: Family,
    /// What the location stands for.
    pub anchor: Anchor,
    /// The grader's error on log wear fraction, above zero.
    pub eye_error: f64,
    /// Share of wear that a touch-up takes back, from 0 to below 1.
    pub touch_up_share: f64,
    /// Wear fraction, above zero, at which a crew calls an edge that nobody had noticed going dull.
    pub called_at: f64,
}

/// The wear model's log posterior on one set of edges.
#[derive(Debug, Clone)]
pub struct WearDensity {
    edges: Vec<EdgeTerms>,
    rows: CovariateRows,
    layout: Layout,
    settings: LikelihoodSettings,
    priors: Vec<Option<NormalPrior>>,
    names: Vec<String>,
}

impl WearDensity {
    /// Puts together edges, what was seen of them, and a prior (or none) for each parameter in the
    /// order location, covariates of life, wear-rate coefficients, log spread.
    ///
    /// # Errors
    ///
    /// [`WearError::Unpaired`], [`WearError::Shape`], [`WearError::NoWear`] and
    /// [`WearError::TouchUpInStretch`] for records that cannot be used.
    pub fn new(
        records: &EdgeRecords,
        observations: &[Observation],
        settings: DensitySettings,
        priors: Vec<Option<NormalPrior>>,
    ) -> Result<Self, WearError> {
        if records.edges.len() != observations.len() {
            return Err(WearError::Unpaired {
                records: records.edges.len(),
                observations: observations.len(),
            });
        }
        records.check()?;
        let habits = Habits {
            touch_up_share: settings.touch_up_share,
            called_at: settings.called_at,
        };
        let mut rows = CovariateRows::new(records.rate_names.len());
        let edges = records
            .edges
            .iter()
            .zip(observations)
            .enumerate()
            .map(|(number, (record, seen))| compile(number, record, seen, &mut rows, habits))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Self {
            edges,
            rows,
            layout: Layout::new(records.feature_names.len(), records.rate_names.len()),
            settings: LikelihoodSettings {
                family: settings.family,
                anchor: settings.anchor.standardised(settings.family),
                eye_error: settings.eye_error,
            },
            priors,
            names: names(records),
        })
    }

    /// Names of the parameters, in order.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Which parameter stands where.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The log-likelihood alone.
    pub fn log_likelihood(&self, theta: &[f64]) -> Quadratic {
        log_likelihood(&self.edges, &self.rows, &self.layout, self.settings, theta)
    }
}

fn names(records: &EdgeRecords) -> Vec<String> {
    std::iter::once("location".to_string())
        .chain(records.feature_names.iter().cloned())
        .chain(records.rate_names.iter().cloned())
        .chain(std::iter::once("log_sigma".to_string()))
        .collect()
}

impl LogPosterior for WearDensity {
    fn dimension(&self) -> usize {
        self.layout.dimension()
    }

    fn evaluate(&self, theta: &[f64]) -> Quadratic {
        let mut at = self.log_likelihood(theta);
        for (i, prior) in self.priors.iter().enumerate() {
            if let Some(prior) = prior {
                let (value, first, second) = prior.log_density(theta[i]);
                at.value += value;
                at.gradient[i] += first;
                at.hessian[(i, i)] += second;
            }
        }
        at
    }
}
