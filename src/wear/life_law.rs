//! Life in meter hours under asked conditions.

use super::{Family, LifeDistribution};
use crate::numerics::lanes::{exp_each, exp_m1_each};

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

/// Each law's chance that an edge is dull by `hours`.
pub fn chances_dull_by<'l>(laws: impl Iterator<Item = &'l LifeLaw>, hours: f64) -> Vec<f64> {
    // An edge with so much hazard behind it is dull.
    const CERTAIN: f64 = 700.0;
    let log_hazard = |law: &LifeLaw| {
        let standardised = law.standardised(hours);
        law.family.log_cumulative_hazard(standardised).value
    };
    if hours <= 0.0 {
        return vec![0.0; laws.count()];
    }
    // What is no number stays none.
    let mut column: Vec<f64> = laws.map(log_hazard).collect();
    for log in column.iter_mut().filter(|log| **log > CERTAIN.ln()) {
        *log = CERTAIN.ln();
    }
    exp_each(&mut column);
    column.iter_mut().for_each(|hazard| *hazard = -*hazard);
    exp_m1_each(&mut column);
    column.iter_mut().for_each(|chance| *chance = 0.0 - *chance);
    column
}

/// One posterior draw under asked conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawUnderConditions {
    /// How long edges last.
    pub law: LifeLaw,
    /// How often metal or stone comes.
    pub strikes_per_hour: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_column_of_laws_says_what_each_of_them_does() {
        let laws: Vec<LifeLaw> = Family::ALL
            .into_iter()
            .flat_map(|family| {
                [0.1, 0.3, 1.2].map(|sigma| LifeLaw {
                    family,
                    log_median: 45.0_f64.ln(),
                    sigma,
                })
            })
            .collect();
        for hours in [0.0, 1e-3, 2.0, 30.0, 45.0, 60.0, 4000.0] {
            let chances = chances_dull_by(laws.iter(), hours);
            for (law, chance) in laws.iter().zip(chances) {
                let alone = law.chance_dull_by(hours);
                assert_relative_eq!(chance, alone, max_relative = 1e-9, epsilon = 1e-300);
                assert!(chance.is_sign_positive());
            }
        }
        let none = LifeLaw {
            sigma: f64::NAN,
            ..laws[0]
        };
        assert!(chances_dull_by([none].iter(), 30.0)[0].is_nan());
    }
}
