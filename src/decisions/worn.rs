//! How far an edge is worn, over draws and the lives that each leaves it.

use super::DecisionError;
use super::spread::weighted_quantiles;
use crate::quantities::{Estimate, Level, WearFraction};
use crate::wear::AgedDraw;

/// Wear over life: its median, and bounds that hold what the draws disagree on and what each draw leaves open.
pub(super) fn worn(
    edge: &[AgedDraw],
    level: Level,
) -> Result<Estimate<WearFraction>, DecisionError> {
    let fractions = || {
        edge.iter().flat_map(|draw| {
            let lives = draw.lives.iter();
            lives.map(|(life, chance)| (draw.wear / life, *chance))
        })
    };
    let shares = [level.tail(), 0.5, 1.0 - level.tail()];
    let [lower, point, upper] =
        weighted_quantiles(fractions, shares).ok_or(DecisionError::NoDraws)?;
    Ok(Estimate {
        point: WearFraction::new(point)?,
        lower: WearFraction::new(lower)?,
        upper: WearFraction::new(upper)?,
        level,
    })
}
