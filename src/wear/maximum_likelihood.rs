//! Maximum likelihood on censored life tables, for anybody who wants to check the numerics.

use super::WearError;
use super::existence::{self, Flat, FlatDirection};
use super::life_columns::{ColumnDensity, Design, LifeColumns, best, search, search_within};
use super::life_distribution::LifeDistribution;
use super::life_table::{Distribution, LifeTable};
use super::section::Section;
use crate::numerics::newton::{self, Maximum};
use crate::quantities::{Estimate, Level};
use nalgebra::{DMatrix, DVector};
use std::sync::Arc;

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
    /// On standardised covariates, as are `theta` and `inner_covariance`.
    density: ColumnDensity,
    theta: DVector<f64>,
    inner_covariance: DMatrix<f64>,
    names: Vec<String>,
    estimates: DVector<f64>,
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
        Self::of_columns(&Arc::new(LifeColumns::of(table)?), distribution)
    }

    /// Fits a table that stands in columns.
    ///
    /// # Errors
    ///
    /// As [`LifeTableFit::new`].
    pub fn of_columns(
        columns: &Arc<LifeColumns>,
        distribution: Distribution,
    ) -> Result<Self, LifeTableError> {
        let design = Design::for_fit(columns);
        existence::check(columns, &design, distribution)?;
        let density = ColumnDensity {
            columns: Arc::clone(columns),
            standardisation: design.standardisation,
            family: distribution.family,
        };
        let found = best(&density, distribution);
        let unsettled = LifeTableError::NotSettled {
            iterations: found.iterations,
        };
        let covariance = newton::covariance(&found.at.hessian).filter(|_| found.converged);
        let Some(inner_covariance) = covariance else {
            existence::doubt(&density, distribution)?;
            endless_spread(&density, distribution, &found)?;
            return Err(unsettled);
        };
        let names = parameter_names(columns.names(), distribution);
        let flat = flat_parameters(
            &names,
            &inner_covariance,
            found.point[found.point.len() - 1],
            distribution,
        );
        if !flat.is_empty() {
            existence::doubt(&density, distribution)?;
            return Err(FlatDirection {
                flat: Flat::TooFlat(flat),
            }
            .into());
        }
        let (estimates, covariance) = density
            .standardisation
            .own_units(&found.point, &inner_covariance);
        Ok(Self {
            distribution,
            names,
            theta: whole(&found.point, distribution),
            inner_covariance,
            estimates,
            covariance,
            log_likelihood: found.at.value,
            iterations: found.iterations,
            density,
        })
    }

    /// Names of the free parameters: `intercept`, the covariates, `log_sigma` unless fixed.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// The free parameters.
    pub fn estimates(&self) -> &[f64] {
        self.estimates.as_slice()
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
            &vec![0.0; self.density.columns.names().len()],
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
        let x = &self.density.standardisation.row(x);
        let log_point = self.theta[0]
            + self
                .theta
                .iter()
                .skip(1)
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
        let half = half_width(level) * slope.dot(&(&self.inner_covariance * &slope)).sqrt();
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
            if found.converged {
                found.at.value - (self.log_likelihood - fall)
            } else {
                f64::NAN
            }
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

/// All parameters from the free ones.
fn whole(free: &DVector<f64>, distribution: Distribution) -> DVector<f64> {
    let section = Section {
        fixed_log_sigma: distribution.fixed_sigma.map(f64::ln),
        quantile: None,
    };
    section.extend(free)
}

fn parameter_names(covariates: &[String], distribution: Distribution) -> Vec<String> {
    let mut names = vec!["intercept".to_string()];
    names.extend(covariates.iter().cloned());
    names.extend(
        distribution
            .fixed_sigma
            .is_none()
            .then(|| "log_sigma".to_string()),
    );
    names
}

/// Parameters whose standard error is out of all proportion: a thousand spreads of log life for a
/// location or a standardised coefficient, a thousandfold for the spread itself. A rise that decays
/// exponentially looks like a top to any search; its curvature does not.
fn flat_parameters(
    names: &[String],
    covariance: &DMatrix<f64>,
    last: f64,
    distribution: Distribution,
) -> Vec<String> {
    const OUT_OF_PROPORTION: f64 = 1e3;
    let sigma = distribution.fixed_sigma.unwrap_or(last.exp());
    let too_flat = |(i, name): (usize, &String)| {
        let unit = if name == "log_sigma" { 1.0 } else { sigma };
        (covariance[(i, i)].sqrt() > OUT_OF_PROPORTION * unit).then(|| name.clone())
    };
    names.iter().enumerate().filter_map(too_flat).collect()
}

/// Whether the profile likelihood still rises where the spread is a thousandfold: the likelihood is
/// concave in `1/sigma`, so that its top then lies at an endless spread.
fn endless_spread(
    density: &ColumnDensity,
    distribution: Distribution,
    found: &Maximum,
) -> Result<(), FlatDirection> {
    const FAR: f64 = 7.0;
    if distribution.fixed_sigma.is_some() {
        return Ok(());
    }
    let section = Section {
        fixed_log_sigma: Some(FAR),
        quantile: None,
    };
    let mut start = found.point.clone();
    let last = start.len() - 1;
    // Location and coefficients grow in step with the spread.
    let growth = (FAR - start[last]).exp();
    start.rows_mut(0, last).scale_mut(growth);
    let profile = search_within(density, &section, section.restrict(&start), 1e6);
    let slope = density
        .evaluate(section.extend(&profile.point).as_slice())
        .gradient[last];
    if profile.converged && slope > 0.0 {
        return Err(FlatDirection {
            flat: Flat::SpreadEndless,
        });
    }
    Ok(())
}

fn half_width(level: Level) -> f64 {
    -crate::numerics::normal::quantile(level.tail())
}
