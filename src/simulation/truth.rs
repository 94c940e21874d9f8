//! The parameters that the invented world runs on.

use super::dice::Dice;
use super::groups::GroupSpreads;
use crate::logbook::Rotor;
use crate::quantities::WearHours;
use crate::wear::{Family, LifeDistribution};
use crate::wood::{Blend, Contamination};

/// What is true of the invented crew's edges. [`Truth::stated`] gives the values of the demo; all of
/// them are chosen for the demo, within what the trade reports, and measured nowhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// Median life of a new edge on a drum in clean, green hardwood of reference hardness.
    pub median_life: WearHours,
    /// Median life on a disc as a share of that on a drum.
    pub disc_share: f64,
    /// The law of life.
    pub family: Family,
    /// Spread of log life; a Weibull law has shape `1/sigma`.
    pub sigma: f64,
    /// Spreads of log life among machines, knife sets and grinders.
    pub spreads: GroupSpreads,
    /// How much faster wear goes, by condition.
    pub effects: Effects,
    /// Median life of a reground edge as a share of that of a new one.
    pub reground_share: f64,
    /// Share of the wear so far that a touch-up takes back.
    pub touch_up_share: f64,
    /// Log error of whoever grades an edge, or feels it in the cut.
    pub grader_error: f64,
    /// What that eye makes of wear on the whole: 1.15 sees every wear fraction as 1.15 times what it
    /// is. A fit takes eyes to be right on the whole, so that 1 is the only value it is made for.
    pub eye_bias: f64,
    /// Log error of a measured flat, on the wear fraction.
    pub flat_error: f64,
    /// The bright flat grows as the wear fraction to this power.
    pub flat_exponent: f64,
    /// Chance that an operator feels in the cut that an edge has gone dull, if it gets that far.
    pub noticing: f64,
    /// Wear fraction at which anybody would call the edge.
    pub called_at: f64,
    /// Strikes per meter hour.
    pub strikes: StrikeRates,
}

/// Wear of each condition over that of the reference; above 1 wears faster.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effects {
    /// Exponent of green hardness over reference hardness.
    pub hardness_exponent: f64,
    /// Bark, mud splash.
    pub dusty: f64,
    /// Soil on it.
    pub dirty: f64,
    /// Root balls, flood debris, sand.
    pub gritty: f64,
    /// Dead or seasoned.
    pub dry: f64,
    /// Frozen through.
    pub frozen: f64,
    /// Palm or bamboo.
    pub palm: f64,
}

/// Strikes per meter hour by contamination class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrikeRates {
    /// In clean wood.
    pub clean: f64,
    /// In dusty wood.
    pub dusty: f64,
    /// In dirty wood.
    pub dirty: f64,
    /// In gritty wood.
    pub gritty: f64,
}

impl Truth {
    /// The truth of the demo.
    pub fn stated() -> Self {
        Self {
            median_life: WearHours::new(44.0).unwrap_or(WearHours::ZERO),
            disc_share: 0.55,
            family: Family::Weibull,
            sigma: 0.30,
            spreads: GroupSpreads::NONE,
            effects: Effects {
                hardness_exponent: 0.55,
                dusty: 1.5,
                dirty: 2.8,
                gritty: 6.0,
                dry: 1.4,
                frozen: 1.5,
                palm: 2.5,
            },
            reground_share: 0.95,
            touch_up_share: 0.30,
            grader_error: 0.18,
            eye_bias: 1.0,
            flat_error: 0.10,
            flat_exponent: 1.0,
            noticing: 0.6,
            called_at: 1.3,
            strikes: StrikeRates {
                clean: 0.001,
                dusty: 0.002,
                dirty: 0.006,
                gritty: 0.02,
            },
        }
    }

    /// Coefficients of the wear rate, in the order of
    /// [`Covariates::NAMES`](crate::wood::Covariates::NAMES).
    pub fn coefficients(&self) -> [f64; 7] {
        let Effects {
            hardness_exponent,
            dusty,
            dirty,
            gritty,
            dry,
            frozen,
            palm,
        } = self.effects;
        let logs = [dusty, dirty, gritty, dry, frozen, palm].map(f64::ln);
        [
            hardness_exponent,
            logs[0],
            logs[1],
            logs[2],
            logs[3],
            logs[4],
            logs[5],
        ]
    }

    /// Wear hours per meter hour: `sum of share x exp(covariates . coefficients)`.
    pub fn rate(&self, blend: &Blend) -> f64 {
        let coefficients = self.coefficients();
        let part_rate = |row: &[f64]| -> f64 {
            let terms = row.iter().zip(&coefficients);
            terms.map(|(x, beta)| x * beta).sum::<f64>().exp()
        };
        let parts = blend.parts().iter();
        parts
            .map(|part| part.share * part_rate(part.covariates.row()))
            .sum()
    }

    /// Median life of one kind of edge.
    pub fn median_of(&self, rotor: Rotor, regrinds: u32) -> WearHours {
        let by_rotor = match rotor {
            Rotor::Drum => 1.0,
            Rotor::Disc => self.disc_share,
        };
        let by_steel = if regrinds > 0 {
            self.reground_share
        } else {
            1.0
        };
        let median = self.median_life.get() * by_rotor * by_steel;
        WearHours::new(median).unwrap_or(WearHours::ZERO)
    }

    /// Strikes per meter hour in one contamination class.
    pub fn strike_rate(&self, contamination: Contamination) -> f64 {
        match contamination {
            Contamination::Clean => self.strikes.clean,
            Contamination::Dusty => self.strikes.dusty,
            Contamination::Dirty => self.strikes.dirty,
            Contamination::Gritty => self.strikes.gritty,
        }
    }

    /// A life in wear hours, by the quantile of its law:
    ///
    /// ```text
    /// ln T = ln M + sigma (W(p) - W(1/2))
    /// ```
    ///
    /// `M` is the median life, `W` the quantile of standardised log life, `p` uniform between 0 and 1.
    pub(super) fn draw_life(&self, rotor: Rotor, regrinds: u32, dice: &mut Dice) -> f64 {
        let standard = self.family.quantile(dice.uniform()) - self.family.median();
        self.median_of(rotor, regrinds).get() * (self.sigma * standard).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wood::{WoodMix, WoodState};

    #[test]
    fn reference_wood_wears_one_hour_an_hour() {
        assert_eq!(Truth::stated().rate(&Blend::reference()), 1.0);
    }

    #[test]
    fn dirt_and_frost_multiply() {
        let truth = Truth::stated();
        let oak = WoodMix::parse("oak").expect("oak");
        let rate = |dirt, state| truth.rate(&Blend::of(&oak, dirt, state));
        let plain = rate(Contamination::Clean, WoodState::Green);
        let both = rate(Contamination::Dirty, WoodState::Frozen);
        approx::assert_relative_eq!(both / plain, 2.8 * 1.5, max_relative = 1e-12);
    }

    #[test]
    fn half_of_the_lives_drawn_are_longer_than_the_median() {
        let truth = Truth::stated();
        let mut dice = Dice::new(1);
        let lives: Vec<f64> = (0..20_000)
            .map(|_| truth.draw_life(Rotor::Disc, 0, &mut dice))
            .collect();
        let above =
            |limit: f64| lives.iter().filter(|life| **life > limit).count() as f64 / 20_000.0;
        // Binomial standard error 0.0035; four of them.
        approx::assert_abs_diff_eq!(above(44.0 * 0.55), 0.5, epsilon = 0.014);
        // A Weibull of shape k outlives its characteristic life M / (ln 2)^(1/k) with chance 1/e.
        let characteristic = 44.0 * 0.55 / std::f64::consts::LN_2.powf(0.30);
        approx::assert_abs_diff_eq!(above(characteristic), (-1.0_f64).exp(), epsilon = 0.014);
    }

    /// Logs of 20,000 lives, with the log of the median taken off.
    fn log_lives(family: Family) -> Vec<f64> {
        let truth = Truth {
            family,
            ..Truth::stated()
        };
        let mut dice = Dice::new(2);
        (0..20_000)
            .map(|_| (truth.draw_life(Rotor::Drum, 0, &mut dice) / 44.0).ln())
            .collect()
    }

    fn mean_and_variance(values: &[f64]) -> (f64, f64) {
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares = values.iter().map(|value| (value - mean).powi(2));
        (mean, squares.sum::<f64>() / (count - 1.0))
    }

    /// Variance of log life is `sigma^2` times 1 (normal), `pi^2 / 3` (logistic), `pi^2 / 6` (smallest
    /// extreme value); the mean is the median but for the extreme value, which lies lower by
    /// `sigma (gamma + ln ln 2)` with Euler's `gamma` (Johnson, Kotz and Balakrishnan, Continuous
    /// Univariate Distributions, 1994 and 1995: chapters 13, 22, 23).
    #[test]
    fn log_lives_spread_as_each_law_says() {
        const EULER: f64 = 0.577_215_664_901_532_9;
        let pi_squared = std::f64::consts::PI.powi(2);
        // The variance of a sample variance grows with the kurtosis: 3, 4.2, 5.4.
        let laws = [
            (Family::Lognormal, 1.0, 3.0, 0.0),
            (Family::Loglogistic, pi_squared / 3.0, 4.2, 0.0),
            (
                Family::Weibull,
                pi_squared / 6.0,
                5.4,
                -(EULER + std::f64::consts::LN_2.ln()),
            ),
        ];
        for (family, unit_variance, kurtosis, shift) in laws {
            let (mean, variance) = mean_and_variance(&log_lives(family));
            let expected = 0.09 * unit_variance;
            // Four standard errors each.
            let of_mean = 4.0 * (expected / 20_000.0_f64).sqrt();
            let of_variance = 4.0 * expected * ((kurtosis - 1.0) / 20_000.0_f64).sqrt();
            approx::assert_abs_diff_eq!(mean, 0.30 * shift, epsilon = of_mean);
            approx::assert_abs_diff_eq!(variance, expected, epsilon = of_variance);
        }
    }
}
