//! The critical value of simultaneous bands of equal precision.

use super::AdequacyError;
use crate::numerics::{brent_root, normal};
use crate::quantities::Level;

/// How many standard errors a band must lie off on either side so that it holds the whole of a survival
/// curve at `level`, while Greenwood's sum grows by the factor `growth` from the first to the last age
/// shown.
///
/// Bands of equal precision: Nair, Technometrics 26, 1984. Their value solves
/// `4 phi(c)/c + phi(c) (c - 1/c) ln(growth) = 1 - level`, the approximation of Miller and Siegmund
/// (Biometrics 38, 1982) to the tail of the largest standardised Brownian bridge. It is a little
/// cautious where `growth` is near 1.
///
/// # Errors
///
/// [`AdequacyError::Setting`] unless `growth` is a number of 1 or more.
pub fn equal_precision_value(level: Level, growth: f64) -> Result<f64, AdequacyError> {
    let wrong = AdequacyError::Setting {
        setting: "growth of Greenwood's sum",
        wanted: "a number, 1 or more",
        found: growth,
    };
    if !(1.0..f64::INFINITY).contains(&growth) {
        return Err(wrong);
    }
    let excess = |c: f64| {
        let density = normal::log_density(c).exp();
        density * (4.0 / c + (c - 1.0 / c) * growth.ln()) - (1.0 - level.get())
    };
    brent_root((1.0, excess(1.0)), (40.0, excess(40.0)), 1e-12, excess).ok_or(wrong)
}
