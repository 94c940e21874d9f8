//! The log posterior density: likelihood plus priors.

use super::WearError;
use super::covariate_rows::CovariateRows;
use super::effects::Effects;
use super::life_distribution::{Family, LifeDistribution};
use super::life_nodes::Precision;
use super::likelihood::{
    AgedEdge, AtShared, Compiler, Habits, LastLook, Likelihood, LikelihoodSettings, Predictive,
    PredictiveBuilder,
};
use super::parameters::Layout;
use super::prior::Priors;
use super::records::{EdgeRecord, EdgeRecords};
use crate::lives::Observation;
pub use crate::numerics::newton::Quadratic;
use crate::numerics::{Arrow, normal};
use nalgebra::DVector;
use std::sync::Arc;

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
    /// Wear fraction, above zero, at which a crew calls an edge that nobody had noticed going dull.
    pub called_at: f64,
    /// Error of a measured flat on the log of wear fraction, above zero.
    pub flat_error: f64,
    /// The bright flat grows as the wear fraction to this power, above zero.
    pub flat_exponent: f64,
}

impl DensitySettings {
    /// For lives that are known without anybody's eye: nothing but the law of life counts.
    pub fn of_bare_lives(family: Family, anchor: Anchor) -> Self {
        Self {
            family,
            anchor,
            called_at: 1.0,
            flat_error: 1.0,
            flat_exponent: 1.0,
        }
    }
}

/// The wear model's log posterior on one set of edges.
///
/// A point of it holds the free parameters that all edges share, in the order of [`Layout`] without
/// those held, and then the effects of all groups. What it says of the effects depends on their
/// spreads, one for each grouping, which are given apart.
#[derive(Debug, Clone)]
pub struct WearDensity {
    settings: DensitySettings,
    likelihood: Likelihood,
    /// Shared with densities of the first edges alone.
    predictive: Arc<Predictive>,
    priors: Priors,
    /// The parameters that are not held.
    free: Vec<usize>,
    names: Vec<String>,
    /// The spreads that [`LogPosterior::evaluate`] takes for given.
    spreads: Vec<f64>,
}

/// One set of parameters: those that all edges share, in the order of [`Layout`], and group effects.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    /// In the order of [`Layout`].
    pub shared: Vec<f64>,
    /// Grouping by grouping.
    pub effects: Vec<f64>,
}

impl WearDensity {
    /// Puts together edges, what was seen of them, and the priors.
    ///
    /// # Errors
    ///
    /// [`WearError::Unpaired`], [`WearError::Shape`], [`WearError::NoWear`] for records that cannot be
    /// used, [`WearError::Priors`] where there is not one prior for each parameter and grouping.
    pub fn new(
        records: &EdgeRecords,
        observations: &[Observation],
        settings: DensitySettings,
        priors: Priors,
    ) -> Result<Self, WearError> {
        let effects = Effects::of(&records.groupings, &records.edges);
        Self::arranged(records, observations, settings, priors, effects)
    }

    /// The same with group effects where `effects` has them: for edges beside which others are looked at.
    pub(super) fn arranged(
        records: &EdgeRecords,
        observations: &[Observation],
        settings: DensitySettings,
        priors: Priors,
        effects: Effects,
    ) -> Result<Self, WearError> {
        if records.edges.len() != observations.len() {
            return Err(WearError::Unpaired {
                records: records.edges.len(),
                observations: observations.len(),
            });
        }
        records.check()?;
        let layout = Layout::of(records);
        let wanted = (layout.dimension(), records.groupings.len());
        if (priors.shared.len(), priors.spreads.len()) != wanted {
            return Err(WearError::Priors {
                wanted: wanted.0 + wanted.1,
                found: priors.shared.len() + priors.spreads.len(),
            });
        }
        let free = (0..layout.dimension())
            .filter(|&i| priors.shared[i].held().is_none())
            .collect();
        let names = layout.names(records);
        let (likelihood, predictive) =
            likelihood(records, observations, settings, (layout, effects))?;
        Ok(Self {
            settings,
            likelihood,
            predictive: Arc::new(predictive),
            free,
            names,
            spreads: priors
                .spreads
                .iter()
                .map(|prior| prior.quantile(0.5))
                .collect(),
            priors,
        })
    }

    /// The same for the first so many edges, all parameters and effects in their places; what was last seen stays
    /// that of all edges.
    pub(super) fn of_first(&self, edges: usize) -> Self {
        Self {
            likelihood: self.likelihood.of_first(edges),
            predictive: Arc::clone(&self.predictive),
            settings: self.settings,
            priors: self.priors.clone(),
            free: self.free.clone(),
            names: self.names.clone(),
            spreads: self.spreads.clone(),
        }
    }

    /// Takes these spreads of the groupings' effects for given.
    pub fn with_spreads(mut self, spreads: Vec<f64>) -> Self {
        self.spreads = spreads;
        self
    }

    /// Names of the parameters that all edges share and that are not held, in order.
    pub fn names(&self) -> Vec<&str> {
        self.free.iter().map(|&i| self.names[i].as_str()).collect()
    }

    /// How the likelihood is read.
    pub fn settings(&self) -> &DensitySettings {
        &self.settings
    }

    /// Names of the covariates of life.
    pub fn feature_names(&self) -> &[String] {
        &self.names[self.layout().features()]
    }

    /// Names of the covariates of the wear rate.
    pub fn rate_names(&self) -> &[String] {
        &self.names[self.layout().rates()]
    }

    /// Which parameter stands where.
    pub fn layout(&self) -> &Layout {
        self.likelihood.layout()
    }

    /// Names of all parameters that all edges share, in the order of the [`Layout`].
    pub(super) fn shared_names(&self) -> &[String] {
        &self.names
    }

    /// Where group effects stand.
    pub(super) fn effects(&self) -> &Effects {
        self.likelihood.effects()
    }

    /// The priors.
    pub fn priors(&self) -> &Priors {
        &self.priors
    }

    /// Family of life distributions.
    pub fn family(&self) -> Family {
        self.likelihood.family()
    }

    /// The parameters that are not held, by their place in the [`Layout`].
    pub(super) fn free(&self) -> &[usize] {
        &self.free
    }

    /// The centre of the priors.
    pub fn centre(&self) -> Vec<f64> {
        let shared = self.free.iter().map(|&i| self.priors.shared[i].centre());
        shared
            .chain(std::iter::repeat_n(0.0, self.effects().count()))
            .collect()
    }

    /// All parameters at a point.
    pub fn parameters(&self, point: &[f64]) -> Parameters {
        let mut shared: Vec<f64> = self
            .priors
            .shared
            .iter()
            .map(|prior| prior.centre())
            .collect();
        for (&i, value) in self.free.iter().zip(point) {
            shared[i] = *value;
        }
        let effects = self.effects();
        let places = (0..effects.count()).map(|effect| effects.place(effect, self.free.len()));
        Parameters {
            shared,
            effects: places.map(|place| point[place]).collect(),
        }
    }

    /// The log-likelihood alone at parameters `theta`, all of [`Layout`], without group effects.
    pub fn log_likelihood(&self, theta: &[f64]) -> Quadratic {
        let at =
            self.likelihood
                .quadratic(theta, &vec![0.0; self.effects().count()], Precision::Full);
        let size = self.layout().dimension();
        Quadratic {
            value: at.value,
            gradient: at.gradient.rows(0, size).into_owned(),
            hessian: at.hessian.corner().view((0, 0), (size, size)).into_owned(),
        }
    }

    /// Each edge's log-likelihood.
    pub fn log_likelihood_by_edge(&self, at: &Parameters) -> Vec<f64> {
        let shared = self.likelihood.at_shared(&at.shared);
        shared.values(&at.effects)
    }

    /// An edge that has worked, to be looked at under draws of these parameters. Its groups are numbered
    /// as those of the edges that were fitted.
    pub(super) fn aged(
        &self,
        record: &EdgeRecord,
        seen: &Observation,
    ) -> Result<AgedEdge, WearError> {
        let law = (self.layout().clone(), self.effects().clone(), self.law());
        AgedEdge::new(
            record,
            seen,
            self.rate_names().len(),
            habits(self.settings),
            law,
        )
    }

    /// What was last seen of each edge; its bounds are numbered through all edges.
    pub(super) fn last_looks(&self) -> &[LastLook] {
        self.predictive.looks()
    }

    /// The log of the chance of these bounds of what was last seen.
    pub(super) fn log_chances(&self, at: &Parameters, bounds: &[usize]) -> Vec<f64> {
        self.predictive.log_chances(&at.shared, &at.effects, bounds)
    }

    /// The chance of these bounds of what was last seen, to some eight digits after the point.
    pub(super) fn chances(&self, at: &Parameters, bounds: &[usize]) -> Vec<f64> {
        self.predictive.chances(&at.shared, &at.effects, bounds)
    }

    /// The log-likelihood of these edges, to the precision of draws.
    pub(super) fn log_likelihood_of(&self, at: &Parameters, edges: &[usize]) -> Vec<f64> {
        self.likelihood.of_edges(&at.shared, &at.effects, edges)
    }

    /// For every bound the log of life over typical life that it stands for.
    pub(super) fn log_lives(&self, at: &Parameters) -> Vec<f64> {
        self.predictive.log_lives(&at.shared, &at.effects)
    }

    /// Family and anchor.
    pub(super) fn law(&self) -> LikelihoodSettings {
        self.likelihood.settings()
    }

    /// Likelihoods at one point of what all edges share, for [`WearDensity::log_given`].
    pub(super) fn at_shared<'a>(&'a self, shared: &'a [f64]) -> AtShared<'a> {
        self.likelihood.at_shared(shared)
    }

    /// The same at each of several points.
    pub(super) fn at_each_shared<'a>(&'a self, shared: &[&'a [f64]]) -> Vec<AtShared<'a>> {
        self.likelihood.at_each_shared(shared)
    }

    /// The log density to the precision of draws, effects having these spreads. `likelihoods` are those at the same
    /// shared parameters.
    pub(super) fn log_given(
        &self,
        at: &Parameters,
        spreads: &[f64],
        likelihoods: &AtShared,
    ) -> f64 {
        self.log_prior(at, spreads) + likelihoods.values(&at.effects).iter().sum::<f64>()
    }

    /// The block of effects that each edge belongs to.
    pub(super) fn blocks_of_edges(&self) -> &[Option<usize>] {
        self.likelihood.blocks()
    }

    /// Each edge's block of effects, and where in it the edge's own effects stand.
    pub(super) fn edges_in_blocks(&self) -> impl Iterator<Item = (Option<usize>, &[usize])> {
        self.likelihood.edges_in_blocks()
    }

    fn log_prior_of_shared(&self, at: &Parameters) -> f64 {
        let shared = self.priors.shared.iter().zip(&at.shared);
        shared.map(|(prior, x)| prior.log_density(*x).0).sum()
    }

    /// Log prior density of shared parameters and effects.
    fn log_prior(&self, at: &Parameters, spreads: &[f64]) -> f64 {
        let effects = self.effects();
        let of_grouping = |(grouping, spread): (usize, &f64)| -> f64 {
            let own = at.effects[effects.of_grouping(grouping)].iter();
            own.map(|b| normal::log_density(b / spread) - spread.ln())
                .sum()
        };
        let groups = spreads.iter().enumerate().map(of_grouping);
        self.log_prior_of_shared(at) + groups.sum::<f64>()
    }

    /// The gradient of log-likelihood and shared priors at a point, to the precision of draws: by the
    /// free parameters, then by the effects.
    pub fn gradient(&self, point: &[f64]) -> Vec<f64> {
        self.slope(&self.parameters(point)).1
    }

    /// Log-likelihood and shared priors with their gradient by the free parameters and by the effects
    /// (grouping by grouping), to the precision of draws. The effects' own prior is left out.
    pub(super) fn slope(&self, at: &Parameters) -> (f64, Vec<f64>) {
        let (mut value, gradient) = self.likelihood.slope(&at.shared, &at.effects);
        let mut slopes = Vec::with_capacity(self.dimension());
        for &i in &self.free {
            let (density, slope, _) = self.priors.shared[i].log_density(at.shared[i]);
            value += density;
            slopes.push(gradient[i] + slope);
        }
        let effects = self.effects();
        let places = (0..effects.count()).map(|e| effects.place(e, self.layout().dimension()));
        slopes.extend(places.map(|place| gradient[place]));
        (value, slopes)
    }

    /// The log-likelihood at a point with its derivatives by the point's coordinates.
    pub(super) fn likelihood_at(&self, point: &[f64], precision: Precision) -> Quadratic<Arrow> {
        let at = self.parameters(point);
        let full = self
            .likelihood
            .quadratic(&at.shared, &at.effects, precision);
        let corner = full.hessian.corner().nrows();
        let others = self.layout().dimension()..corner;
        let kept: Vec<usize> = self.free.iter().copied().chain(others).collect();
        let in_blocks = corner..full.gradient.len();
        let gradient = kept.iter().copied().chain(in_blocks.clone());
        Quadratic {
            value: full.value,
            gradient: DVector::from_iterator(
                kept.len() + in_blocks.len(),
                gradient.map(|i| full.gradient[i]),
            ),
            hessian: full.hessian.keeping(&kept),
        }
    }

    /// The log posterior at a point given the effects' spreads.
    pub(super) fn given(
        &self,
        point: &[f64],
        spreads: &[f64],
        precision: Precision,
    ) -> Quadratic<Arrow> {
        let mut at = self.likelihood_at(point, precision);
        at.value += self.log_prior(&self.parameters(point), spreads);
        let (centres, precisions) = (self.prior_centres(), self.prior_precisions(spreads));
        for (i, precision) in precisions.iter().enumerate() {
            at.gradient[i] -= precision * (point[i] - centres[i]);
        }
        at.hessian.raise(&-precisions);
        at
    }

    /// The priors' centres at the coordinates of a point.
    pub(super) fn prior_centres(&self) -> DVector<f64> {
        DVector::from_vec(self.centre())
    }

    /// One over the priors' variances at the coordinates of a point.
    pub(super) fn prior_precisions(&self, spreads: &[f64]) -> DVector<f64> {
        let mut precisions = DVector::zeros(self.dimension());
        for (to, &i) in self.free.iter().enumerate() {
            precisions[to] = self.priors.shared[i].precision();
        }
        let effects = self.effects();
        for (grouping, spread) in spreads.iter().enumerate() {
            for effect in effects.of_grouping(grouping) {
                precisions[effects.place(effect, self.free.len())] = spread.powi(-2);
            }
        }
        precisions
    }
}

fn habits(settings: DensitySettings) -> Habits {
    Habits {
        called_at: settings.called_at,
        flat_error: settings.flat_error,
        flat_exponent: settings.flat_exponent,
    }
}

fn likelihood(
    records: &EdgeRecords,
    observations: &[Observation],
    settings: DensitySettings,
    (layout, effects): (Layout, Effects),
) -> Result<(Likelihood, Predictive), WearError> {
    let habits = habits(settings);
    // One column more than the crew's: the touch-ups that came after.
    let mut rows = CovariateRows::new(records.rate_names.len() + 1);
    let mut edges = Vec::with_capacity(records.edges.len());
    let mut last = PredictiveBuilder::default();
    for (number, (record, seen)) in records.edges.iter().zip(observations).enumerate() {
        let mut compiler = Compiler::new(number, record, &mut rows, habits);
        edges.push(compiler.compile(seen, &effects)?);
        last.add(compiler, seen, &effects)?;
    }
    let settings = LikelihoodSettings {
        family: settings.family,
        anchor: settings.anchor.standardised(settings.family),
    };
    let rows = Arc::new(rows);
    let last = last.finish(Arc::clone(&rows), layout.clone(), effects.clone(), settings);
    Ok((
        Likelihood::new(edges, rows, layout, effects, settings),
        last,
    ))
}

impl LogPosterior for WearDensity {
    fn dimension(&self) -> usize {
        self.free.len() + self.effects().count()
    }

    fn evaluate(&self, theta: &[f64]) -> Quadratic {
        let at = self.given(theta, &self.spreads, Precision::Full);
        Quadratic {
            value: at.value,
            gradient: at.gradient,
            hessian: at.hessian.to_dense(),
        }
    }
}
