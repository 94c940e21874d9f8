//! The wear model as an estimator: settings in, a fitted model out.

use super::density::{Anchor, DensitySettings, WearDensity};
use super::fingerprint::fingerprint;
use super::nested::Nested;
use super::nuts::ChainLengths;
use super::posterior::WearPosterior;
use super::prior::Priors;
use super::prior_pack::{LEAST_EYE_ERROR, PriorPack};
use super::sample::{Method, Sample, SampleSettings};
use super::{EdgeRecords, Family, WearError, life_nodes};
use crate::lives::Observation;
use crate::numerics::quick_normal::QuickNormal;
use crate::quantities::WearFraction;
use linfa::ParamGuard;
use linfa::dataset::DatasetBase;
use linfa::traits::{Fit, PredictInplace};
use ndarray::{Array1, Array2};

/// Settings of the wear model, not yet checked.
///
/// | setting | default | purpose | range |
/// | --- | --- | --- | --- |
/// | `family` | Weibull | law of life | any [`Family`] |
/// | `eye_error` | learned, with the prior pack's prior | holds the grader's error on log wear fraction | 0.02 or more |
/// | `method` | [`Method::Auto`] | how the posterior is drawn | any [`Method`] |
/// | `draws` | 4000 | weighted draws | 100 or more |
/// | `chains` | four of 1,000 draws, 500 to tune | chains of the sampler, where they are run | one chain of 4 draws or more |
/// | `seed` | 1 | start of the random numbers | any |
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
    pack: PriorPack,
    eye_error: Option<f64>,
    called_at: f64,
    sample: SampleSettings,
}

impl WearModel {
    /// Settings from a prior pack, and the wear fraction at which the crew calls an edge.
    pub fn params(pack: &PriorPack, called_at: WearFraction) -> WearModelParams {
        WearModelParams(Self {
            family: Family::Weibull,
            pack: pack.clone(),
            eye_error: None,
            called_at: called_at.get(),
            sample: SampleSettings::default(),
        })
    }

    /// Lays out the tables in which a fit looks up most. It would do so itself; who has a thread to spare beforehand does
    /// not let it wait.
    pub fn lay_out_tables(family: Family) {
        life_nodes::lay_out(family);
        QuickNormal::table();
    }

    /// How many weighted draws are made.
    pub(super) fn draws(&self) -> usize {
        self.sample.draws
    }

    /// The same with another law of life, another way to draw and another number of weighted draws.
    pub(super) fn with(mut self, family: Family, method: Method, draws: usize) -> Self {
        self.family = family;
        self.sample.method = method;
        self.sample.draws = draws;
        self
    }

    /// The log posterior on these edges.
    ///
    /// # Errors
    ///
    /// The record errors of [`WearDensity::new`]; [`WearError::Setting`] for priors that no normal law
    /// fits.
    pub fn density(
        &self,
        records: &EdgeRecords,
        observations: &[Observation],
    ) -> Result<WearDensity, WearError> {
        let (settings, priors) = (self.settings(), self.priors(records)?);
        WearDensity::new(records, observations, settings, priors)
    }

    /// What tells this fit from any other: a SHA-256 over edges, what was seen of them, priors and
    /// settings, in hexadecimal. The order of the edges does not count, nor how draws are made.
    ///
    /// # Errors
    ///
    /// [`WearError::UnknownGrouping`], [`WearError::Setting`] where the model has no priors for these
    /// records.
    pub fn fingerprint(
        &self,
        records: &EdgeRecords,
        observations: &[Observation],
    ) -> Result<String, WearError> {
        let priors = self.priors(records)?;
        Ok(fingerprint(
            records,
            observations,
            &self.settings(),
            &priors,
        ))
    }

    fn settings(&self) -> DensitySettings {
        DensitySettings {
            family: self.family,
            anchor: Anchor::Median,
            called_at: self.called_at,
            flat_error: self.pack.flat_error(),
            flat_exponent: self.pack.flat_exponent(),
        }
    }

    fn priors(&self, records: &EdgeRecords) -> Result<Priors, WearError> {
        let priors = self.pack.priors_for(records)?;
        Ok(match self.eye_error {
            Some(error) => priors.hold_eye(error),
            None => priors,
        })
    }

    /// Fits, telling `done` of the sampler's draws as they are made, if it comes to that.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`], [`WearError::Sampler`] where the posterior could not be drawn; those of
    /// [`WearModel::density`].
    pub fn fit_telling(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<WearPosterior, WearError> {
        let density = self.density(dataset.records(), dataset.targets())?;
        let (nested, sample) = Sample::of(&density, self.sample, done)?;
        Ok(posterior(dataset.records(), density, nested, sample))
    }

    /// Fits, the search for the top begun where an earlier fit has it: that of a log to which an entry has been added
    /// since, say. Where the posterior has one top the answer is that of [`Fit::fit`] but for rounding (one part in a
    /// million or less), found in fewer steps. Parameters are known by name, effects by the names of grouping and
    /// level; what the earlier fit does not know begins as without it. An earlier fit that is of no use, such as one of
    /// another law of life, is passed over, and chains, where they are run, are those of a fit from nothing.
    ///
    /// ```
    /// use keenspan::quantities::WearFraction;
    /// use keenspan::simulation::{CrewPlan, crew};
    /// use keenspan::wear::{EdgeRecords, PriorPack, WearModel};
    /// use linfa::traits::Fit;
    /// use linfa::{DatasetBase, ParamGuard};
    ///
    /// let lives = crew(1, &CrewPlan { edges: 12, ..CrewPlan::default() });
    /// let edges = |count: usize| {
    ///     let (records, seen) = EdgeRecords::from_edges(&lives[..count], &[]);
    ///     DatasetBase::new(records, seen)
    /// };
    /// let pack = PriorPack::common_practice()?;
    /// let model = WearModel::params(&pack, WearFraction::new(1.3)?).draws(500).check()?;
    /// let earlier = model.fit(&edges(11))?;
    ///
    /// let refitted = model.fit_from(&edges(12), &earlier)?;
    /// let fresh = model.fit(&edges(12))?;
    /// assert!(refitted.steps() < fresh.steps());
    /// for (one, other) in refitted.shared_at_mode().iter().zip(fresh.shared_at_mode()) {
    ///     assert!((one - other).abs() < 1e-6);
    /// }
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    ///
    /// Those of [`WearModel::fit_telling`].
    pub fn fit_from(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
        earlier: &WearPosterior,
    ) -> Result<WearPosterior, WearError> {
        self.fit_from_telling(dataset, earlier, &|_| {})
    }

    /// [`WearModel::fit_from`], telling `done` of the sampler's draws as they are made, if it comes to that.
    ///
    /// # Errors
    ///
    /// Those of [`WearModel::fit_telling`].
    pub fn fit_from_telling(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
        earlier: &WearPosterior,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<WearPosterior, WearError> {
        let records = dataset.records();
        let density = self.density(records, dataset.targets())?;
        let (nested, sample) = match earlier.first_top_of(&density, &records.groupings) {
            Some(start) => Sample::begun_at(start, &density, self.sample, done)?,
            None => Sample::of(&density, self.sample, done)?,
        };
        Ok(posterior(records, density, nested, sample))
    }
}

fn posterior(
    records: &EdgeRecords,
    density: WearDensity,
    nested: Nested,
    sample: Sample,
) -> WearPosterior {
    let groupings = records.groupings.clone();
    WearPosterior::new(density, groupings, records.edges.len(), nested, sample)
}

impl WearModelParams {
    /// Law of life.
    pub fn family(mut self, family: Family) -> Self {
        self.0.family = family;
        self
    }

    /// Holds the grader's error on log wear fraction.
    pub fn eye_error(mut self, eye_error: f64) -> Self {
        self.0.eye_error = Some(eye_error);
        self
    }

    /// How the posterior is drawn.
    pub fn method(mut self, method: Method) -> Self {
        self.0.sample.method = method;
        self
    }

    /// How many weighted draws are made.
    pub fn draws(mut self, draws: usize) -> Self {
        self.0.sample.draws = draws;
        self
    }

    /// How long the sampler runs, where it does.
    pub fn chains(mut self, chains: ChainLengths) -> Self {
        self.0.sample.chains = chains;
        self
    }

    /// Start of the random numbers.
    pub fn seed(mut self, seed: u64) -> Self {
        self.0.sample.seed = seed;
        self
    }
}

/// Fewer weighted draws than this tell nothing of the tail of their weights.
const LEAST_DRAWS: usize = 100;
/// Chains are judged by their halves, which need two draws each.
const LEAST_CHAIN: usize = 4;

impl ParamGuard for WearModelParams {
    type Checked = WearModel;
    type Error = WearError;

    fn check_ref(&self) -> Result<&WearModel, WearError> {
        let WearModel {
            eye_error,
            called_at,
            sample,
            ..
        } = &self.0;
        if *called_at <= 0.0 {
            return Err(WearError::Setting {
                setting: "called_at",
                wanted: "above zero",
                found: *called_at,
            });
        }
        if let Some(found) = eye_error.filter(|e| !(*e >= LEAST_EYE_ERROR && e.is_finite())) {
            return Err(WearError::Setting {
                setting: "eye_error",
                wanted: "at least 0.02",
                found,
            });
        }
        if sample.draws < LEAST_DRAWS {
            return Err(WearError::Setting {
                setting: "draws",
                wanted: "at least 100",
                found: sample.draws as f64,
            });
        }
        let ChainLengths { chains, draws, .. } = sample.chains;
        if chains == 0 || draws < LEAST_CHAIN {
            return Err(WearError::Setting {
                setting: "chains",
                wanted: "at least one, of at least 4 draws each; draws in all",
                found: (chains * draws) as f64,
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
    /// Those of [`WearModel::fit_telling`].
    fn fit(
        &self,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
    ) -> Result<WearPosterior, WearError> {
        self.fit_telling(dataset, &|_| {})
    }
}

/// Median hours to dull, at the most probable parameters, for rows of the wear covariates.
impl PredictInplace<Array2<f64>, Array1<f64>> for WearPosterior {
    fn predict_inplace<'a>(&'a self, rows: &'a Array2<f64>, hours: &mut Array1<f64>) {
        assert_eq!(
            rows.ncols(),
            self.layout().rates().len(),
            "one column for each wear covariate"
        );
        for (row, hours) in rows.rows().into_iter().zip(hours.iter_mut()) {
            *hours = self.median_hours_at_mode(&row.to_vec());
        }
    }

    fn default_target(&self, rows: &Array2<f64>) -> Array1<f64> {
        Array1::zeros(rows.nrows())
    }
}
