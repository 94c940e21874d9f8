//! Metal and stone: strikes compete with wear.
//!
//! Strikes come as a Poisson process by the chipping hour, at a rate of their own in each contamination
//! class. A gamma prior stays gamma: shape plus strikes, rate plus hours (Gelman et al., Bayesian Data
//! Analysis, 3rd edition, section 2.6).

use super::PriorPack;
use crate::lives::StrikeCounts;
use crate::quantities::{Estimate, Level, Probability};
use crate::wood::{Blend, Contamination};
use rand::Rng;
use rand_distr::{Distribution, Gamma};
use statrs::distribution::{ContinuousCDF, Gamma as GammaLaw};

/// A gamma prior on strikes per meter hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrikePrior {
    shape: f64,
    hours: f64,
}

impl StrikePrior {
    /// With mean `likely`, standing as firmly as a log with `shape` strikes.
    pub fn new(likely: f64, shape: f64) -> Self {
        Self {
            shape,
            hours: shape / likely,
        }
    }

    pub(super) fn shape_and_hours(&self) -> (f64, f64) {
        (self.shape, self.hours)
    }
}

/// Hours chipped and strikes met in each contamination class, in the order of [`Contamination::ALL`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StrikeRecord {
    /// Meter hours.
    pub hours: [f64; 4],
    /// Strikes.
    pub strikes: [f64; 4],
}

impl StrikeRecord {
    /// From what the log tells. Hours of which no run says how dirty they were, and strikes in them, are
    /// shared out as `usual`, the crew's usual mix.
    pub fn new(counts: &StrikeCounts, usual: &Blend) -> Self {
        let mut record = Self {
            hours: counts.classes.map(|class| class.hours.get()),
            strikes: counts.classes.map(|class| f64::from(class.strikes)),
        };
        for (i, share) in usual.contamination_shares().into_iter().enumerate() {
            record.hours[i] += share * counts.hours_unknown.get();
            record.strikes[i] += share * f64::from(counts.strikes_unknown);
        }
        record
    }
}

/// What is known of strike rates.
#[derive(Debug, Clone, PartialEq)]
pub struct StrikePosterior {
    priors: [StrikePrior; 4],
    /// Gamma shape and hours for each class.
    classes: [(f64, f64); 4],
}

/// What is known of strikes in one class of dirt, before and after the log was read: strikes expected in
/// 100 meter hours with 90 % bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrikeRate {
    /// The class, in the crew's word.
    pub dirt: &'static str,
    /// Under the prior alone.
    pub before: Estimate<f64>,
    /// With the log.
    pub after: Estimate<f64>,
    /// The share of the prior's hours in all that the expected rate stands on.
    pub share_from_defaults: Probability,
}

impl StrikePosterior {
    /// The pack's priors with the crew's record added.
    pub fn new(pack: &PriorPack, record: &StrikeRecord) -> Self {
        let priors = pack.strikes();
        let mut classes = priors.map(|prior| (prior.shape, prior.hours));
        for (i, (shape, hours)) in classes.iter_mut().enumerate() {
            *shape += record.strikes[i];
            *hours += record.hours[i];
        }
        Self { priors, classes }
    }

    /// Expected strikes per meter hour in a class.
    pub fn mean(&self, class: Contamination) -> f64 {
        let (shape, hours) = self.classes[class as usize];
        shape / hours
    }

    /// Shape and hours of the gamma law in a class.
    pub(super) fn shape_and_hours(&self, class: Contamination) -> (f64, f64) {
        self.classes[class as usize]
    }

    /// Each class before and after, in the order of [`Contamination::ALL`]. A class whose bounds cannot be
    /// computed (a prior firmer than any log) is left out.
    pub fn rates(&self) -> Vec<StrikeRate> {
        let rates = Contamination::ALL
            .into_iter()
            .zip(self.priors)
            .zip(self.classes);
        rates
            .filter_map(|((class, prior), (shape, hours))| {
                Some(StrikeRate {
                    dirt: class.word(),
                    before: per_100_hours(prior.shape, prior.hours)?,
                    after: per_100_hours(shape, hours)?,
                    share_from_defaults: Probability::new(prior.hours / hours).ok()?,
                })
            })
            .collect()
    }

    /// One draw of the four rates, in the order of [`Contamination::ALL`].
    pub fn draw(&self, random: &mut impl Rng) -> [f64; 4] {
        self.classes.map(|(shape, hours)| {
            // Shape and scale are above zero by construction; the mean stands in if they ever were not.
            Gamma::new(shape, 1.0 / hours).map_or(shape / hours, |gamma| gamma.sample(random))
        })
    }
}

/// Mean and 90 % bounds of a gamma law of strikes an hour, for 100 hours; a mean that lies outside
/// (a loose prior) widens them.
fn per_100_hours(shape: f64, hours: f64) -> Option<Estimate<f64>> {
    let law = GammaLaw::new(shape, hours).ok()?;
    let tail = Level::NINETY.tail();
    let point = 100.0 * shape / hours;
    let (lower, upper) = (law.inverse_cdf(tail), law.inverse_cdf(1.0 - tail));
    (lower.is_finite() && upper.is_finite()).then(|| Estimate {
        point,
        lower: (100.0 * lower).min(point),
        upper: (100.0 * upper).max(point),
        level: Level::NINETY,
    })
}

/// Strikes per hour in a blend of conditions, given the rate of each class.
pub fn strikes_per_hour(rates: &[f64; 4], blend: &Blend) -> f64 {
    blend
        .parts()
        .iter()
        .map(|part| part.share * rates[part.covariates.contamination() as usize])
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The gamma law of one strike is the exponential law, whose quantiles are `-ln(1 - p) / hours`; with no
    /// prior hours to speak of the mean is strikes over hours.
    #[test]
    fn bounds_of_one_strike_are_those_of_the_exponential_law() {
        let rate = per_100_hours(1.0, 50.0).expect("a rate");
        assert_relative_eq!(rate.point, 2.0);
        assert_relative_eq!(rate.lower, -2.0 * 0.95_f64.ln(), max_relative = 1e-6);
        assert_relative_eq!(rate.upper, -2.0 * 0.05_f64.ln(), max_relative = 1e-6);
    }

    /// Half the chi-square law with `2 k` degrees of freedom is the gamma law of shape `k`: its 95 % point for
    /// 10 degrees is 18.307, its 5 % point 3.940 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4).
    #[test]
    fn bounds_of_five_strikes_are_those_of_the_printed_chi_square_table() {
        let rate = per_100_hours(5.0, 100.0).expect("a rate");
        assert_relative_eq!(rate.upper, 18.307 / 2.0, max_relative = 1e-4);
        assert_relative_eq!(rate.lower, 3.940 / 2.0, max_relative = 2e-4);
    }

    #[test]
    fn a_class_without_hours_stays_the_default_and_hours_without_strikes_bring_it_down() {
        let pack = PriorPack::common_practice().expect("the pack");
        let record = StrikeRecord {
            hours: [2000.0, 0.0, 0.0, 0.0],
            strikes: [0.0; 4],
        };
        let rates = StrikePosterior::new(&pack, &record).rates();
        assert_eq!(rates.len(), 4);
        assert!(rates[0].after.point < 0.5 * rates[0].before.point);
        assert!(rates[0].share_from_defaults.get() < 0.5);
        assert_eq!(rates[1].after, rates[1].before);
        assert_eq!(rates[1].share_from_defaults, Probability::ONE);
        assert_eq!(rates[3].dirt, "gritty");
    }
}
