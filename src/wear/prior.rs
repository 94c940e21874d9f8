//! What is held true before the crew's own log is read.

use super::WearError;
use super::parameters::Layout;
use super::records::EdgeRecords;
use crate::numerics::normal;

/// A normal prior on one parameter (a log, for everything that must stay above zero).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NormalPrior {
    mean: f64,
    spread: f64,
}

/// Half the width of a central 90 % range of the standard normal law, in standard deviations.
pub(super) const NINETY_PERCENT_HALF_WIDTH: f64 = 1.644_853_626_951_472_2;

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

/// What is held of one parameter before the data are seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Prior {
    /// Nothing: the fit is by likelihood alone.
    Flat,
    /// A normal law.
    Normal(NormalPrior),
    /// It is this value, and not learned.
    Held(f64),
}

impl Prior {
    /// The value held, if it is.
    pub fn held(self) -> Option<f64> {
        match self {
            Prior::Held(value) => Some(value),
            _ => None,
        }
    }

    /// Log density at `x`, with its first two derivatives.
    pub fn log_density(self, x: f64) -> (f64, f64, f64) {
        match self {
            Prior::Normal(prior) => prior.log_density(x),
            _ => (0.0, 0.0, 0.0),
        }
    }

    /// Where a search begins.
    pub fn centre(self) -> f64 {
        match self {
            Prior::Flat => 0.0,
            Prior::Normal(prior) => prior.mean(),
            Prior::Held(value) => value,
        }
    }

    /// One over the variance; zero where nothing is held.
    pub fn precision(self) -> f64 {
        match self {
            Prior::Normal(prior) => prior.spread().powi(-2),
            _ => 0.0,
        }
    }
}

/// The priors of a whole wear model.
#[derive(Debug, Clone, PartialEq)]
pub struct Priors {
    /// Of the parameters that every edge shares, in the order of [`Layout`].
    pub shared: Vec<Prior>,
    /// For each grouping, the scale of the half-normal prior on the spread of its effects.
    pub spreads: Vec<HalfNormal>,
}

impl Priors {
    /// Likelihood alone, group effects aside: flat on every parameter.
    pub fn flat(records: &EdgeRecords) -> Self {
        Self {
            shared: vec![Prior::Flat; Layout::of(records).dimension()],
            spreads: Vec::new(),
        }
    }

    /// Holds the grader's error at `error`.
    pub fn hold_eye(mut self, error: f64) -> Self {
        if let Some(last) = self.shared.last_mut() {
            *last = Prior::Held(error.ln());
        }
        self
    }

    /// Holds the share that a touch-up takes back at `share`, from 0 to below 1.
    pub fn hold_touch_up(mut self, share: f64) -> Self {
        let place = self.shared.len().checked_sub(3);
        if let Some(prior) = place.and_then(|place| self.shared.get_mut(place)) {
            *prior = Prior::Held((share / (1.0 - share)).ln());
        }
        self
    }

    /// Holds both the grader's error, at one, and touch-ups, at nothing taken back: for edges that
    /// nobody looked at or touched up.
    pub fn of_bare_lives(self) -> Self {
        self.hold_eye(1.0).hold_touch_up(0.0)
    }
}

/// A half-normal law on the spread of group effects: the upper half of a normal law about zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfNormal {
    scale: f64,
}

impl HalfNormal {
    /// With this scale, the standard deviation of the whole normal law.
    ///
    /// # Errors
    ///
    /// [`WearError::Setting`] unless it is finite and above zero.
    pub fn new(scale: f64) -> Result<Self, WearError> {
        if scale.is_finite() && scale > 0.0 {
            return Ok(Self { scale });
        }
        Err(WearError::Setting {
            setting: "the scale of a half-normal prior",
            wanted: "above zero",
            found: scale,
        })
    }

    /// The scale.
    pub fn scale(self) -> f64 {
        self.scale
    }

    /// The spread below which lies as much of this law as of the standard normal law below `score`,
    /// and its slope by `score`.
    pub fn at_score(self, score: f64) -> (f64, f64) {
        let height = -normal::quantile(0.5 * normal::log_upper_tail(score).exp());
        let log_slope = normal::log_density(score) - normal::log_density(height);
        (self.scale * height, 0.5 * self.scale * log_slope.exp())
    }

    /// The spread that `share` of the law lies below.
    pub fn quantile(self, share: f64) -> f64 {
        // By the upper tail, whose quantile keeps its digits.
        -self.scale * normal::quantile(0.5 * (1.0 - share))
    }
}
