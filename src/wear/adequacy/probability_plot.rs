//! Data of a probability plot: the nonparametric estimate on the scale on which a fitted law is a line.

use super::{AdequacyError, NonParametric, equal_precision_value};
use crate::numerics::normal;
use crate::quantities::Level;
use crate::wear::{Family, LifeDistribution};

/// What bands are meant to hold at their level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coverage {
    /// Each age by itself.
    Pointwise,
    /// All ages at once (bands of equal precision, Nair 1984).
    Simultaneous,
}

/// One step of the estimate. A law of the family is the line `(ln t - location) / sigma` here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlottedPoint {
    /// Natural log of the age: of an exact step, or of the end of an interval.
    pub log_age: f64,
    /// Where the step began, as a log; equal to `log_age` for an exact step, minus infinity where it
    /// began at age zero.
    pub log_from: f64,
    /// Standardised quantile of the share that had ended: half way up the jump of an exact step, all of
    /// it at the end of an interval.
    pub quantile: f64,
    /// Bands on the quantile of the share that had ended just after `log_age`, where standard errors are
    /// settled and some survival is left.
    pub band: Option<(f64, f64)>,
}

/// A fitted law on the plot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlottedLine {
    location: f64,
    sigma: f64,
}

impl PlottedLine {
    /// The law `ln T = location + sigma W`.
    ///
    /// # Errors
    ///
    /// [`AdequacyError::Setting`] unless `location` is finite and `sigma` is a number above zero.
    pub fn new(location: f64, sigma: f64) -> Result<Self, AdequacyError> {
        let fault = |setting, wanted, found| AdequacyError::Setting {
            setting,
            wanted,
            found,
        };
        if !location.is_finite() {
            return Err(fault("location", "a finite number", location));
        }
        if !(sigma > 0.0 && sigma.is_finite()) {
            return Err(fault("sigma", "a finite number above zero", sigma));
        }
        Ok(Self { location, sigma })
    }

    /// Standardised quantile at a log age.
    pub fn quantile(&self, log_age: f64) -> f64 {
        (log_age - self.location) / self.sigma
    }

    /// Log age at a standardised quantile.
    pub fn log_age(&self, quantile: f64) -> f64 {
        self.location + self.sigma * quantile
    }
}

/// Points to draw, for one family.
#[derive(Debug, Clone, PartialEq)]
pub struct ProbabilityPlot {
    /// The family whose laws are lines on this plot.
    pub family: Family,
    /// What the bands hold.
    pub coverage: Coverage,
    /// How often they are meant to.
    pub level: Level,
    /// Points in rising order of age.
    pub points: Vec<PlottedPoint>,
}

impl ProbabilityPlot {
    /// The plot of an estimate. Steps without an end, and an interval after which nobody is left, have
    /// no place on it.
    ///
    /// Plotting positions and bands on the logit of the share that had ended are those of Meeker and
    /// Escobar, Statistical Methods for Reliability Data, 1998, sections 6.4 and 3.6 to 3.8 (section
    /// numbers from memory).
    ///
    /// # Errors
    ///
    /// [`AdequacyError::Setting`] where no critical value of the bands can be found.
    pub fn new(
        estimate: &NonParametric,
        family: Family,
        coverage: Coverage,
        level: Level,
    ) -> Result<Self, AdequacyError> {
        let off = standard_errors_off(estimate, coverage, level)?;
        let points = (0..estimate.steps().len()).filter_map(|i| point(estimate, i, family, off));
        Ok(Self {
            family,
            coverage,
            level,
            points: points.collect(),
        })
    }
}

/// How many standard errors the bands lie off, if there are any.
fn standard_errors_off(
    estimate: &NonParametric,
    coverage: Coverage,
    level: Level,
) -> Result<Option<f64>, AdequacyError> {
    let Some([first, .., last] | [first @ last]) = estimate.greenwood() else {
        return Ok(None);
    };
    let value = match coverage {
        Coverage::Pointwise => normal::quantile(0.5 + 0.5 * level.get()),
        Coverage::Simultaneous => equal_precision_value(level, last / first)?,
    };
    Ok(Some(value))
}

fn point(
    estimate: &NonParametric,
    i: usize,
    family: Family,
    off: Option<f64>,
) -> Option<PlottedPoint> {
    let step = estimate.steps()[i];
    let (before, after) = estimate.around(i);
    let survival = if step.from == step.to {
        0.5 * (before + after)
    } else {
        after
    };
    let drawn = step.to.is_finite() && survival > 0.0 && survival < 1.0;
    let quantile = |survival: f64| family.at_log_cumulative_hazard((-survival.ln()).ln());
    drawn.then(|| PlottedPoint {
        log_age: step.to.ln(),
        log_from: step.from.ln(),
        quantile: quantile(survival),
        band: off
            .and_then(|off| band(after, estimate.standard_error(step.to)?, off))
            .map(|(low, high)| (quantile(high), quantile(low))),
    })
}

/// Bounds on survival, symmetric on its logit.
fn band(survival: f64, standard_error: f64, off: f64) -> Option<(f64, f64)> {
    let ended = 1.0 - survival;
    let factor = (off * standard_error / (survival * ended)).exp();
    let odds = survival / ended;
    let bound = |odds: f64| odds / (1.0 + odds);
    let (low, high) = (bound(odds / factor), bound(odds * factor));
    (low > 0.0 && high < 1.0).then_some((low, high))
}
