//! Maximum likelihood on censored life tables, for anybody who wants to check the numerics.

use super::WearError;
use super::density::{Anchor, DensitySettings, LogPosterior, WearDensity};
use super::existence::{self, FlatDirection};
use super::life_distribution::LifeDistribution;
use super::life_table::{Distribution, LifeTable};
use super::section::Section;
use crate::numerics::newton::{self, Maximum, NewtonSettings};
use crate::quantities::{Estimate, Level};
use nalgebra::{DMatrix, DVector};

/// How bounds are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bounds {
    /// Estimate and standard error on the log of the quantity.
    Wald,
    /// Where twice the log-likelihood, maximised over all else, has fallen by the chi-squared quantile.
    LikelihoodRatio,
}

/// Why there is no maximum-likelihood answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LifeTableError {
    /// The likelihood keeps rising in some direction.
    #[error(transparent)]
    NoMaximum(#[from] FlatDirection),
    /// The search did not settle although nothing says why.
    #[error(
        "the search for the maximum did not settle after {iterations} steps; nothing in the table says why"
    )]
    NotSettled {
        /// Steps taken.
        iterations: usize,
    },
    /// The rows cannot be used.
    #[error(transparent)]
    Table(#[from] WearError),
}

/// A fitted life table. Parameters in the log-time convention `ln T = intercept + x.b + sigma W`.
#[derive(Debug, Clone)]
pub struct LifeTableFit {
    distribution: Distribution,
    density: WearDensity,
    theta: DVector<f64>,
    covariance: DMatrix<f64>,
    log_likelihood: f64,
    iterations: usize,
}

impl LifeTableFit {
    /// Fits `table` by maximum likelihood.
    ///
    /// # Errors
    ///
    /// [`LifeTableError::NoMaximum`] names the direction in which the likelihood rises without end.
    pub fn new(table: &LifeTable, distribution: Distribution) -> Result<Self, LifeTableError> {
        existence::check(table, distribution)?;
        let (records, observations) = table.records()?;
        let settings = DensitySettings {
            family: distribution.family,
            anchor: Anchor::Intercept,
            eye_error: 1.0,
            touch_up_share: 0.0,
            called_at: 1.0,
        };
        let dimension = table.covariate_names.len() + 2;
        let density = WearDensity::new(&records, &observations, settings, vec![None; dimension])?;
        let section = Section {
            fixed_log_sigma: distribution.fixed_sigma.map(f64::ln),
            quantile: None,
        };
        let start = starting_point(table, distribution);
        let found = search(&density, &section, section.restrict(&start));
        if !found.converged {
            let theta = section.extend(&found.point);
            existence::diverged(table, distribution, theta[theta.len() - 1])?;
            return Err(LifeTableError::NotSettled {
                iterations: found.iterations,
            });
        }
        let free = newton::covariance(&found.at.hessian).ok_or(LifeTableError::NotSettled {
            iterations: found.iterations,
        })?;
        Ok(Self {
            distribution,
            theta: section.extend(&found.point),
            covariance: free,
            log_likelihood: found.at.value,
            iterations: found.iterations,
            density,
        })
    }

    /// Names of the free parameters: `intercept`, the covariates, `log_sigma` unless fixed.
    pub fn names(&self) -> Vec<String> {
        let mut names = self.density.names().to_vec();
        names[0] = "intercept".to_string();
        names.truncate(self.free());
        names
    }

    /// The free parameters.
    pub fn estimates(&self) -> &[f64] {
        &self.theta.as_slice()[..self.free()]
    }

    /// Covariance of the free parameters.
    pub fn covariance(&self) -> &DMatrix<f64> {
        &self.covariance
    }

    /// Standard error of free parameter `i`.
    pub fn standard_error(&self, i: usize) -> f64 {
        self.covariance[(i, i)].sqrt()
    }

    /// The maximised log-likelihood.
    pub fn log_likelihood(&self) -> f64 {
        self.log_likelihood
    }

    /// Newton steps taken.
    pub fn iterations(&self) -> usize {
        self.iterations
    }

    /// Whether the spread was held still.
    pub fn shape_is_fixed(&self) -> bool {
        self.distribution.fixed_sigma.is_some()
    }

    fn free(&self) -> usize {
        self.theta.len() - usize::from(self.distribution.fixed_sigma.is_some())
    }

    fn sigma(&self) -> f64 {
        self.theta[self.theta.len() - 1].exp()
    }

    /// The shape `1/sigma` with bounds on its log; all three are equal where it was fixed.
    pub fn shape(&self, level: Level, bounds: Bounds) -> Estimate<Option<f64>> {
        let point = 1.0 / self.sigma();
        if self.distribution.fixed_sigma.is_some() {
            return Estimate {
                point: Some(point),
                lower: Some(point),
                upper: Some(point),
                level,
            };
        }
        let last = self.theta.len() - 1;
        let half = half_width(level) * self.standard_error(last);
        let (lower, upper) = match bounds {
            Bounds::Wald => (Some(self.theta[last] - half), Some(self.theta[last] + half)),
            Bounds::LikelihoodRatio => {
                self.profile_bounds(self.theta[last], half, level, |log_sigma| Section {
                    fixed_log_sigma: Some(log_sigma),
                    quantile: None,
                })
            }
        };
        let shape = |log_sigma: Option<f64>| log_sigma.map(|value| (-value).exp());
        Estimate {
            point: Some(point),
            lower: shape(upper),
            upper: shape(lower),
            level,
        }
    }

    /// `exp(intercept)`: characteristic life for the Weibull, median life for the others, where all
    /// covariates are zero.
    pub fn scale(&self, level: Level, bounds: Bounds) -> Estimate<Option<f64>> {
        self.at_standardised(
            0.0,
            &vec![0.0; self.density.layout().features().len()],
            level,
            bounds,
        )
    }

    /// The age by which a share `p` has ended, at covariates `x`.
    pub fn quantile(
        &self,
        p: f64,
        x: &[f64],
        level: Level,
        bounds: Bounds,
    ) -> Estimate<Option<f64>> {
        self.at_standardised(self.distribution.family.quantile(p), x, level, bounds)
    }

    /// `exp(intercept + x.b + sigma w)` with bounds on its log; a bound that the likelihood does not
    /// close off is `None`.
    fn at_standardised(
        &self,
        w: f64,
        x: &[f64],
        level: Level,
        bounds: Bounds,
    ) -> Estimate<Option<f64>> {
        let features = self.density.layout().features();
        let log_point = self.theta[0]
            + self.theta.as_slice()[features]
                .iter()
                .zip(x)
                .map(|(b, x)| b * x)
                .sum::<f64>()
            + self.sigma() * w;
        let mut slope = DVector::zeros(self.free());
        slope[0] = 1.0;
        slope.rows_mut(1, x.len()).copy_from_slice(x);
        if self.distribution.fixed_sigma.is_none() {
            slope[self.free() - 1] = self.sigma() * w;
        }
        let half = half_width(level) * slope.dot(&(&self.covariance * &slope)).sqrt();
        let (lower, upper) = match bounds {
            Bounds::Wald => (Some(log_point - half), Some(log_point + half)),
            Bounds::LikelihoodRatio => self.profile_bounds(log_point, half, level, |y| Section {
                fixed_log_sigma: self.distribution.fixed_sigma.map(f64::ln),
                quantile: Some((y, w, x.to_vec())),
            }),
        };
        let age = |log_age: Option<f64>| log_age.map(f64::exp);
        Estimate {
            point: Some(log_point.exp()),
            lower: age(lower),
            upper: age(upper),
            level,
        }
    }

    /// Where the likelihood, maximised over all but the pinned figure, has fallen by half the
    /// chi-squared quantile, on either side of `point`.
    fn profile_bounds(
        &self,
        point: f64,
        half: f64,
        level: Level,
        pin: impl Fn(f64) -> Section,
    ) -> (Option<f64>, Option<f64>) {
        let fall = 0.5 * half_width(level).powi(2);
        let excess = |value: f64| {
            let section = pin(value);
            let found = search(&self.density, &section, section.restrict(&self.theta));
            found.at.value - (self.log_likelihood - fall)
        };
        let side = |direction: f64| crossing(&excess, point, direction * half);
        (side(-1.0), side(1.0))
    }
}

/// The root of `excess` beyond `point` in the direction of `step`, if it comes within forty steps.
fn crossing(excess: &impl Fn(f64) -> f64, point: f64, step: f64) -> Option<f64> {
    let mut near = (point, excess(point));
    let mut widen = step;
    for _ in 0..40 {
        let far = near.0 + widen;
        let at_far = (far, excess(far));
        if at_far.1 < 0.0 {
            return crate::numerics::brent_root(near, at_far, 1e-13, excess);
        }
        near = at_far;
        widen *= 1.5;
    }
    None
}

fn half_width(level: Level) -> f64 {
    -crate::numerics::normal::quantile(level.tail())
}

fn search(density: &WearDensity, section: &Section, start: DVector<f64>) -> Maximum {
    let function = |free: &DVector<f64>| {
        section.restricted(density.evaluate(section.extend(free).as_slice()), free)
    };
    if start.is_empty() {
        // Everything is pinned: an exponential's quantile, say.
        return Maximum {
            at: function(&start),
            point: start,
            iterations: 0,
            converged: true,
        };
    }
    newton::maximise(function, start, NewtonSettings::default())
}

/// A start that any table can be climbed from: mean and spread of the logs of what was seen.
fn starting_point(table: &LifeTable, distribution: Distribution) -> DVector<f64> {
    let seen: Vec<(f64, f64)> = table
        .lives
        .iter()
        .filter(|life| life.weight > 0.0)
        .map(|life| (life.typical().ln(), life.weight))
        .collect();
    let total: f64 = seen.iter().map(|(_, weight)| weight).sum();
    let mean = seen.iter().map(|(log, weight)| log * weight).sum::<f64>() / total;
    let variance = seen
        .iter()
        .map(|(log, weight)| (log - mean).powi(2) * weight)
        .sum::<f64>()
        / total;
    let mut start = DVector::zeros(table.covariate_names.len() + 2);
    start[0] = mean;
    let last = start.len() - 1;
    start[last] = distribution
        .fixed_sigma
        .unwrap_or(variance.sqrt().clamp(0.05, 5.0))
        .ln();
    start
}
