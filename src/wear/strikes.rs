//! Metal and stone: strikes compete with wear.
//!
//! Strikes come as a Poisson process by the chipping hour, at a rate of their own in each contamination
//! class. A gamma prior stays gamma: shape plus strikes, rate plus hours (Gelman et al., Bayesian Data
//! Analysis, 3rd edition, section 2.6).

use super::PriorPack;
use crate::lives::StrikeCounts;
use crate::wood::{Blend, Contamination};
use rand::Rng;
use rand_distr::{Distribution, Gamma};

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
    /// Gamma shape and hours for each class.
    classes: [(f64, f64); 4],
}

impl StrikePosterior {
    /// The pack's priors with the crew's record added.
    pub fn new(pack: &PriorPack, record: &StrikeRecord) -> Self {
        let mut classes = pack.strikes().map(|prior| (prior.shape, prior.hours));
        for (i, (shape, hours)) in classes.iter_mut().enumerate() {
            *shape += record.strikes[i];
            *hours += record.hours[i];
        }
        Self { classes }
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

    /// One draw of the four rates, in the order of [`Contamination::ALL`].
    pub fn draw(&self, random: &mut impl Rng) -> [f64; 4] {
        self.classes.map(|(shape, hours)| {
            // Shape and scale are above zero by construction; the mean stands in if they ever were not.
            Gamma::new(shape, 1.0 / hours).map_or(shape / hours, |gamma| gamma.sample(random))
        })
    }
}

/// Strikes per hour in a blend of conditions, given the rate of each class.
pub fn strikes_per_hour(rates: &[f64; 4], blend: &Blend) -> f64 {
    blend
        .parts()
        .iter()
        .map(|part| part.share * rates[part.covariates.contamination() as usize])
        .sum()
}
