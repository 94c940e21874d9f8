//! What can be learned, and in what unit.

use crate::lives::Rotor;
use crate::wear::{Family, LifeDistribution};
use crate::wood::Covariates;
use serde::{Deserialize, Serialize};

/// Something that a log teaches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Quantity {
    /// Hours by which half of all new edges on an average machine of this kind are dull, in clean, green
    /// hardwood.
    MedianLife(Rotor),
    /// How many times as long a reground edge lasts as a new one.
    RegroundLife,
    /// How many times as fast wood twice as hard wears.
    TwiceAsHard,
    /// How many times as fast edges wear in this dirt, state or kind of wood as in clean, green hardwood.
    Condition(String),
    /// The same where this condition of the crew's own holds.
    OwnCondition(String),
    /// Share of the wear so far that a touch-up takes back.
    TouchUp,
    /// How many times as long the best tenth of edges lasts as the worst tenth, in like conditions: at
    /// least, a life that one edge in ten outlasts over one that one in ten does not reach.
    EdgesDiffer,
    /// How far off the grader's eye typically is.
    EyeError,
    /// How far apart the levels of this grouping typically are: machines, sets, grinders.
    GroupsDiffer(String),
    /// How many times as long edges of this level last as those of the average level.
    GroupEffect {
        /// The grouping, by name.
        grouping: String,
        /// The level, by name.
        level: String,
    },
}

/// The unit of a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum QuantityUnit {
    /// Hours on the machine's meter.
    MeterHours,
    /// A ratio.
    Times,
    /// A share in per cent.
    PerCent,
}

impl Quantity {
    /// What the coefficient of wear rate number `k`, called `name`, is about.
    pub(super) fn of_rate(k: usize, name: &str) -> Self {
        match k {
            0 => Self::TwiceAsHard,
            k if k < Covariates::COUNT => Self::Condition(name.to_string()),
            _ => Self::OwnCondition(name.to_string()),
        }
    }

    /// Its unit.
    pub fn unit(&self) -> QuantityUnit {
        match self {
            Self::MedianLife(_) => QuantityUnit::MeterHours,
            Self::TouchUp | Self::EyeError | Self::GroupsDiffer(_) => QuantityUnit::PerCent,
            _ => QuantityUnit::Times,
        }
    }

    /// From the scale of the model to its unit; rising.
    pub(super) fn in_its_unit(&self, x: f64, family: Family) -> f64 {
        match self {
            Self::TouchUp => 100.0 / (1.0 + (-x).exp()),
            Self::EyeError => 100.0 * x.exp(),
            Self::GroupsDiffer(_) => 100.0 * x,
            Self::TwiceAsHard => (std::f64::consts::LN_2 * x).exp(),
            Self::EdgesDiffer => {
                let tenths = family.quantile(0.9) - family.quantile(0.1);
                (x.exp() * tenths).exp()
            }
            _ => x.exp(),
        }
    }
}
