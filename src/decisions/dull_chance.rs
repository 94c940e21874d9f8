//! How likely an edge is dull by some hour: the curve that a person looks at.

use super::DecisionError;
use super::spread::{estimate, mean};
use crate::quantities::{Estimate, Level, MeterHours, Probability};
use crate::wear::{DrawUnderConditions, chances_dull_by};
use serde::{Deserialize, Serialize};

/// One point of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DullChance {
    /// Meter hours since the edge was fresh.
    pub hours: MeterHours,
    /// Chance that it is dull by then.
    pub chance: Estimate<Probability>,
}

/// The chance that an edge is dull, at even steps up to `until`.
///
/// # Errors
///
/// [`DecisionError::NoDraws`] without draws.
///
/// # Examples
///
/// ```
/// use keenspan::decisions::dull_chances;
/// use keenspan::quantities::{Level, MeterHours};
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// let curve = dull_chances(&draws, MeterHours::new(100.0)?, 4, Level::NINETY)?;
/// let chances: Vec<f64> = curve.iter().map(|at| at.chance.point.get()).collect();
/// assert_eq!((curve[2].hours.get(), chances[0]), (50.0, 0.0));
/// assert!(chances.is_sorted() && chances[4] > 0.9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn dull_chances(
    draws: &[DrawUnderConditions],
    until: MeterHours,
    steps: u32,
    level: Level,
) -> Result<Vec<DullChance>, DecisionError> {
    let at = |step: u32| {
        let hours = until.get() * f64::from(step) / f64::from(steps.max(1));
        let chances = chances_dull_by(draws.iter().map(|draw| &draw.law), hours);
        Ok(DullChance {
            hours: MeterHours::new(hours)?,
            chance: estimate(mean(&chances), &chances, level, Probability::new)?,
        })
    };
    (0..=steps).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::{Family, LifeLaw};

    #[test]
    fn half_are_dull_at_median_life_and_the_chance_only_rises() {
        let draw = |median: f64| DrawUnderConditions {
            law: LifeLaw {
                family: Family::Weibull,
                log_median: median.ln(),
                sigma: 0.3,
            },
            strikes_per_hour: 0.0,
        };
        let until = MeterHours::new(80.0).unwrap();
        let one = dull_chances(&[draw(40.0)], until, 8, Level::NINETY).unwrap();
        assert!((one[4].chance.point.get() - 0.5).abs() < 1e-12);
        let two = dull_chances(&[draw(30.0), draw(50.0)], until, 8, Level::NINETY).unwrap();
        let rises = |pair: &[DullChance]| pair[0].chance.point <= pair[1].chance.point;
        assert!(two.windows(2).all(rises));
        assert!(two[4].chance.lower < two[4].chance.upper);
        assert!(dull_chances(&[], until, 8, Level::NINETY).is_err());
    }
}
