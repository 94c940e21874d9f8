//! A life law with its parameters fixed: one draw's view of one edge under asked conditions.

use super::{Family, LifeDistribution};

/// Life in meter hours under asked conditions, for fixed parameters:
/// `ln T = log_median + sigma (W - w_median)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LifeLaw {
    /// The law of `W`.
    pub family: Family,
    /// Natural log of the median life, life in meter hours.
    pub log_median: f64,
    /// Spread of log life; a Weibull or log-logistic shape is `1/sigma`.
    pub sigma: f64,
}

impl LifeLaw {
    /// The location of log life: the `ln t` at which `W` is zero.
    pub fn location(&self) -> f64 {
        self.log_median - self.sigma * self.family.quantile(0.5)
    }
}

/// One posterior draw under asked conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawUnderConditions {
    /// When an edge goes dull.
    pub law: LifeLaw,
    /// Strikes on metal or stone per meter hour.
    pub strikes_per_hour: f64,
}
