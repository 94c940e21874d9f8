//! Life in meter hours under asked conditions.

use super::{Family, LifeDistribution};

/// Life in meter hours under asked conditions, for fixed parameters: `ln T = log_median + sigma (W - w_median)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LifeLaw {
    /// Family of life distributions.
    pub family: Family,
    /// Log of the hours by which half of all edges are dull.
    pub log_median: f64,
    /// Spread of log life.
    pub sigma: f64,
}

impl LifeLaw {
    /// The location of log life: the `ln t` at which `W` is zero.
    pub fn location(&self) -> f64 {
        self.log_median - self.sigma * self.family.median()
    }

    /// Standardised log life at `hours`.
    pub fn standardised(&self, hours: f64) -> f64 {
        (hours.ln() - self.log_median) / self.sigma + self.family.median()
    }

    /// Chance that an edge is dull by `hours`.
    pub fn chance_dull_by(&self, hours: f64) -> f64 {
        if hours > 0.0 {
            self.family.log_failure(self.standardised(hours)).exp()
        } else {
            0.0
        }
    }
}

/// One posterior draw under asked conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawUnderConditions {
    /// How long edges last.
    pub law: LifeLaw,
    /// How often metal or stone comes.
    pub strikes_per_hour: f64,
}
