//! The whole hierarchical model on edges whose runs stand in a table: a Weibull life, a group effect,
//! strikes by the hour.

use super::Family;
use super::WearError;
use super::density::{Anchor, DensitySettings, WearDensity};
use super::fleet::GroupLife;
use super::generator::seeded_stream;
use super::group_priors::WholePriors;
use super::prior::{HalfNormal, NormalPrior, Prior, Priors};
use super::records::EdgeRecords;
use super::sample::{Draw, Health, Sample, SampleSettings, Summary};
use super::strike_law::StrikeLaw;
use crate::lives::Observation;
use crate::quantities::{Estimate, Level, MeterHours};
use rand::RngExt;

/// The stream of random numbers that strike rates are drawn from, far from those of the other draws.
const STRIKE_STREAM: u64 = 1 << 40;

/// The posterior of the whole model.
///
/// # Examples
///
/// From two plain tables, of edges and of their runs, with priors of one's own.
///
/// ```
/// use keenspan::lives::run_lives;
/// use keenspan::logbook::read_edge_runs;
/// use keenspan::wear::{EdgeRecords, SampleSettings, StrikesMet, WholeFit, WholePriors};
///
/// let folder = "tests/reference/changing_exposure";
/// let (edges, runs) = (format!("{folder}/edges.csv"), format!("{folder}/runs.csv"));
/// let table = read_edge_runs(edges.as_ref(), runs.as_ref(), Some("machine"))?;
/// let lives = run_lives(&table);
/// let (records, observations) = EdgeRecords::from_run_lives(&lives);
/// let priors = WholePriors::parse(
///     r#"
///     log_eta    = { mean = 2.7, sd = 0.6 }
///     log_kappa  = { mean = 0.7, sd = 0.3 }
///     beta       = [ { name = "hard", mean = 0.3, sd = 0.2 }, { name = "dirt", mean = 0.7, sd = 0.4 },
///                    { name = "frozen", mean = 0.3, sd = 0.3 } ]
///     sigma_b    = { half_normal = 0.3 }
///     log_lambda = { mean = -4.6, sd = 1.0 }
///     "#,
/// )?;
/// let priors = priors.in_order_of(&table.covariate_names)?;
/// let met = StrikesMet { strikes: lives.strikes, hours: lives.hours };
/// let settings = SampleSettings { draws: 500, ..SampleSettings::default() };
/// let fit = WholeFit::new(&records, &observations, met, &priors, settings, &|_| {})?;
/// let rows = fit.rows();
/// let (_, dirt) = rows.iter().find(|(name, _)| name == "beta_dirt").ok_or("no dirt")?;
/// assert!(dirt.quantiles[0] > 0.0, "dirt wears faster, 95 % sure");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct WholeFit {
    sample: Sample,
    covariates: Vec<String>,
    levels: usize,
    /// Place of the log spread among the shared parameters.
    log_sigma: usize,
    /// Log of the strikes per hour, one for each draw.
    log_strike_rates: Vec<f64>,
    mode: Vec<f64>,
}

/// Strikes met in so many hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrikesMet {
    /// How many.
    pub strikes: usize,
    /// In how many hours.
    pub hours: MeterHours,
}

impl WholeFit {
    /// Draws from the posterior; `done` is told of a chain's draws as they are made.
    ///
    /// # Errors
    ///
    /// The record errors of [`WearDensity::new`]; those of [`Sample::of`].
    pub fn new(
        records: &EdgeRecords,
        observations: &[Observation],
        strikes: StrikesMet,
        priors: &WholePriors,
        settings: SampleSettings,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<Self, WearError> {
        let density_settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Intercept);
        let whole = priors.whole(records)?;
        let density = WearDensity::new(records, observations, density_settings, whole)?;
        let (nested, sample) = Sample::of(&density, settings, done)?;
        let law = StrikeLaw::new(strikes, priors.log_lambda);
        let mut random = seeded_stream(settings.seed, STRIKE_STREAM);
        let log_strike_rates = (0..sample.len()).map(|_| law.quantile(random.random()));
        Ok(Self {
            log_strike_rates: log_strike_rates.collect(),
            covariates: records.rate_names.clone(),
            levels: density.effects().count(),
            log_sigma: density.layout().log_sigma(),
            mode: density.parameters(nested.mode()).shared,
            sample,
        })
    }

    /// How the draws were made, and how far they can be trusted.
    pub fn health(&self) -> &Health {
        self.sample.health()
    }

    /// The draws.
    pub fn sample(&self) -> &Sample {
        &self.sample
    }

    /// Log of the strikes per hour, one for each draw.
    pub fn log_strike_rates(&self) -> &[f64] {
        &self.log_strike_rates
    }

    /// The most probable shared parameters given typical spreads, in the order of [`super::Layout`]: where the
    /// search ended, and no answer by itself.
    pub fn mode_of_shared(&self) -> &[f64] {
        &self.mode
    }

    /// What is known of each level of the group, of which `groups` has name and number of edges.
    pub fn groups(&self, groups: &[(String, usize)]) -> Vec<GroupLife> {
        let estimate = |quantity: &dyn Fn(&Draw) -> f64| {
            let summary = self.sample.summary(quantity);
            Estimate {
                point: summary.mean,
                lower: summary.quantiles[0],
                upper: summary.quantiles[2],
                level: Level::NINETY,
            }
        };
        // The log of the median is location + effect + sigma ln(ln 2).
        let below = |draw: &Draw| std::f64::consts::LN_2.ln() * draw.shared[self.log_sigma].exp();
        let named = groups.iter().take(self.levels).enumerate();
        named
            .map(|(level, (name, edges))| GroupLife {
                name: name.clone(),
                edges: *edges,
                effect: estimate(&|draw| draw.effects[level]),
                median: estimate(&|draw| draw.shared[0] + draw.effects[level] + below(draw))
                    .map(f64::exp),
            })
            .collect()
    }

    /// Every parameter by name: `log_eta`, `log_kappa`, `beta_` with each covariate, `b_` with the number of
    /// each level of the group, `sigma_b` where there is a group, `log_lambda`.
    pub fn rows(&self) -> Vec<(String, Summary)> {
        let of = |quantity: &dyn Fn(&Draw) -> f64| self.sample.summary(quantity);
        let mut rows = vec![
            ("log_eta".to_string(), of(&|draw| draw.shared[0])),
            (
                "log_kappa".to_string(),
                of(&|draw| -draw.shared[self.log_sigma]),
            ),
        ];
        for (i, name) in self.covariates.iter().enumerate() {
            rows.push((format!("beta_{name}"), of(&|draw| draw.shared[1 + i])));
        }
        for level in 0..self.levels {
            rows.push((format!("b_{}", level + 1), of(&|draw| draw.effects[level])));
        }
        if self.levels > 0 {
            rows.push(("sigma_b".to_string(), of(&|draw| draw.spreads[0])));
        }
        let strikes = self.sample.summary_of(&self.log_strike_rates);
        rows.push(("log_lambda".to_string(), strikes));
        rows
    }
}

impl WholePriors {
    /// In the form that the fit takes. Shape is one over the spread of log life, so that its log only
    /// changes sign.
    fn whole(&self, records: &EdgeRecords) -> Result<Priors, WearError> {
        let shape = NormalPrior::new(-self.log_kappa.mean(), self.log_kappa.spread())?;
        let coefficients = self.beta.iter().map(|(_, prior)| Prior::Normal(*prior));
        let shared = std::iter::once(Prior::Normal(self.log_eta))
            .chain(coefficients)
            .chain([Prior::Flat, Prior::Normal(shape), Prior::Flat]);
        let spreads = vec![HalfNormal::new(self.sigma_b)?; records.groupings.len()];
        let priors = Priors {
            shared: shared.collect(),
            spreads,
        };
        Ok(priors.of_bare_lives())
    }
}
