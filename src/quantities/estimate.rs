//! A number with its doubt.

use super::Level;
use serde::{Deserialize, Serialize};

/// A point estimate with its bounds and the level at which they hold: the three never part.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate<T> {
    /// The single best figure.
    #[serde(rename = "estimate")]
    pub point: T,
    /// Lower bound.
    pub lower: T,
    /// Upper bound.
    pub upper: T,
    /// The share of cases that the bounds are meant to hold.
    pub level: Level,
}

impl<T> Estimate<T> {
    /// The same estimate with each of its three numbers changed by `change`, which must keep order.
    pub fn map<U>(self, change: impl Fn(T) -> U) -> Estimate<U> {
        Estimate {
            point: change(self.point),
            lower: change(self.lower),
            upper: change(self.upper),
            level: self.level,
        }
    }
}
