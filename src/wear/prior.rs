//! What is held true before the crew's own log is read.

use super::WearError;
use crate::numerics::normal;

/// A normal prior on one parameter (a log, for everything that must stay above zero).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalPrior {
    mean: f64,
    spread: f64,
}

/// Half the width of a central 90 % range of the standard normal law, in standard deviations.
const NINETY_PERCENT_HALF_WIDTH: f64 = 1.644_853_626_951_472_2;

impl NormalPrior {
    /// Centred on `mean` with standard deviation `spread`.
    ///
    /// # Errors
    ///
    /// [`WearError::Setting`] unless both are finite and the spread is above zero.
    pub fn new(mean: f64, spread: f64) -> Result<Self, WearError> {
        if !mean.is_finite() {
            return Err(WearError::Setting {
                setting: "a prior's mean",
                wanted: "finite",
                found: mean,
            });
        }
        if !(spread.is_finite() && spread > 0.0) {
            return Err(WearError::Setting {
                setting: "a prior's spread",
                wanted: "above zero",
                found: spread,
            });
        }
        Ok(Self { mean, spread })
    }

    /// On the log of a quantity that lies between `low` and `high` with 90 % chance and is most
    /// likely near `likely`: the centre is `ln likely`, the spread the range
    /// `ln(high/low)` over twice 1.645.
    ///
    /// # Errors
    ///
    /// [`WearError::Setting`] unless `0 < low < high` and `likely` lies between them.
    pub fn on_log(likely: f64, low: f64, high: f64) -> Result<Self, WearError> {
        if !(low > 0.0 && low < high && (low..=high).contains(&likely) && high.is_finite()) {
            return Err(WearError::Setting {
                setting: "likely",
                wanted: "between low and high, all above zero",
                found: likely,
            });
        }
        Self::new(
            likely.ln(),
            (high / low).ln() / (2.0 * NINETY_PERCENT_HALF_WIDTH),
        )
    }

    /// On a quantity itself, that lies between `low` and `high` with 90 % chance.
    ///
    /// # Errors
    ///
    /// [`WearError::Setting`] unless `low < likely < high`, all finite.
    pub fn between(likely: f64, low: f64, high: f64) -> Result<Self, WearError> {
        if !(low < likely && likely < high) {
            return Err(WearError::Setting {
                setting: "likely",
                wanted: "between low and high",
                found: likely,
            });
        }
        Self::new(likely, (high - low) / (2.0 * NINETY_PERCENT_HALF_WIDTH))
    }

    /// The centre.
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// The standard deviation.
    pub fn spread(&self) -> f64 {
        self.spread
    }

    /// Log density at `x` with its first two derivatives.
    pub fn log_density(&self, x: f64) -> (f64, f64, f64) {
        let z = (x - self.mean) / self.spread;
        let precision = 1.0 / (self.spread * self.spread);
        (
            normal::log_density(z) - self.spread.ln(),
            -z / self.spread,
            -precision,
        )
    }
}
