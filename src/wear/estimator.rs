//! The wear model as an estimator: settings in, a fitted model out.

use super::density::{Anchor, DensitySettings, WearDensity};
use super::posterior::WearPosterior;
use super::prior_pack::LEAST_EYE_ERROR;
use super::{EdgeRecords, Family, Laplace, NormalPrior, PriorPack, WearError};
use crate::lives::Observation;
use crate::quantities::WearFraction;
use crate::wood::Covariates;
use linfa::ParamGuard;
use linfa::dataset::DatasetBase;
use linfa::traits::{Fit, PredictInplace};
use ndarray::{Array1, Array2};

/// Settings of the wear model, not yet checked.
///
/// | setting | default | purpose | range |
/// | --- | --- | --- | --- |
/// | `family` | Weibull | law of life | any [`Family`] |
/// | `eye_error` | the prior pack's | a grader's error on log wear fraction | 0.02 or more |
/// | `touch_up_share` | the prior pack's | share of wear that a touch-up takes back | 0 to below 1 |
/// | `called_at` | given | wear fraction at which a crew calls an edge that nobody had noticed going dull | above 0 |
///
/// # Errors
///
/// Checking gives [`WearError::Setting`] for a setting out of range.
#[derive(Debug, Clone)]
pub struct WearModelParams(WearModel);

/// Settings of the wear model, checked.
#[derive(Debug, Clone)]
pub struct WearModel {
    family: Family,
    priors: Vec<NormalPrior>,
    eye_error: f64,
    touch_up_share: f64,
    called_at: f64,
}

impl WearModel {
    /// Settings from a prior pack, and the wear fraction at which the crew calls an edge.
    ///
    /// # Errors
    ///
    /// [`WearError::Setting`] for priors that no normal law fits.
    pub fn params(pack: &PriorPack, called_at: WearFraction) -> Result<WearModelParams, WearError> {
        Ok(WearModelParams(Self {
            family: Family::Weibull,
            priors: pack.priors()?,
            eye_error: pack.eye_error(),
            touch_up_share: pack.touch_up_share(),
            called_at: called_at.get(),
        }))
    }
}

impl WearModelParams {
    /// Law of life.
    pub fn family(mut self, family: Family) -> Self {
        self.0.family = family;
        self
    }

    /// A grader's error on log wear fraction.
    pub fn eye_error(mut self, eye_error: f64) -> Self {
        self.0.eye_error = eye_error;
        self
    }

    /// Share of wear that a touch-up takes back.
    pub fn touch_up_share(mut self, share: f64) -> Self {
        self.0.touch_up_share = share;
        self
    }
}

impl ParamGuard for WearModelParams {
    type Checked = WearModel;
    type Error = WearError;

    fn check_ref(&self) -> Result<&WearModel, WearError> {
        let WearModel {
            eye_error,
            touch_up_share,
            called_at,
            ..
        } = self.0;
        if called_at <= 0.0 {
            return Err(WearError::Setting {
                setting: "called_at",
                wanted: "above zero",
                found: called_at,
            });
        }
        if !(eye_error >= LEAST_EYE_ERROR && eye_error.is_finite()) {
            return Err(WearError::Setting {
                setting: "eye_error",
                wanted: "at least 0.02",
                found: eye_error,
            });
        }
        if !(0.0..1.0).contains(&touch_up_share) {
            return Err(WearError::Setting {
                setting: "touch_up_share",
                wanted: "zero or more and below one",
                found: touch_up_share,
            });
        }
        Ok(&self.0)
    }

    fn check(self) -> Result<WearModel, WearError> {
        self.check_ref()?;
        Ok(self.0)
    }
}

impl Fit<EdgeRecords, Vec<Observation>, WearError> for WearModel {
    type Object = WearPosterior;

    /// # Errors
    ///
    /// [`WearError::NotSettled`] where the search finds no mode; the record errors of
    /// [`WearDensity::new`].
    fn fit(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
    ) -> Result<WearPosterior, WearError> {
        let settings = DensitySettings {
            family: self.family,
            anchor: Anchor::Median,
            eye_error: self.eye_error,
            touch_up_share: self.touch_up_share,
            called_at: self.called_at,
        };
        let priors = self.priors.iter().copied().map(Some).collect();
        let density = WearDensity::new(dataset.records(), dataset.targets(), settings, priors)?;
        let start: Vec<f64> = self.priors.iter().map(NormalPrior::mean).collect();
        let laplace = Laplace::fit(&density, &start)?;
        Ok(WearPosterior::new(
            self.family,
            self.priors.clone(),
            laplace,
            dataset.records().edges.len(),
        ))
    }
}

/// Median hours to dull, at the most probable parameters, for rows of the seven wear covariates.
impl PredictInplace<Array2<f64>, Array1<f64>> for WearPosterior {
    fn predict_inplace<'a>(&'a self, rows: &'a Array2<f64>, hours: &mut Array1<f64>) {
        assert_eq!(
            rows.ncols(),
            Covariates::COUNT,
            "one column for each wear covariate"
        );
        for (row, hours) in rows.rows().into_iter().zip(hours.iter_mut()) {
            *hours = self.median_hours_at_mode(row.iter().copied());
        }
    }

    fn default_target(&self, rows: &Array2<f64>) -> Array1<f64> {
        Array1::zeros(rows.nrows())
    }
}
