//! Means and standard deviations of everything, the spread of effects summed over.

use super::density::FleetDensity;
use super::expansion::{Conditional, Expansion};
use super::spread::SpreadLaw;
use crate::wear::WearError;
use nalgebra::DVector;

/// Mean and standard deviation of each.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Summed {
    pub shared: Vec<(f64, f64)>,
    pub effects: Vec<(f64, f64)>,
    /// Of the log of the median life of each group in reference conditions.
    pub log_medians: Vec<(f64, f64)>,
}

/// Points of the spread that hold less than this count for nothing.
const NOTHING: f64 = 1e-6;

/// Mean and square about it, of a mixture that is being added up.
#[derive(Clone, Copy, Default)]
struct Mixed {
    weight: f64,
    mean: f64,
    square: f64,
}

impl Mixed {
    /// Adds a law of this weight (West, Communications of the ACM 22, 1979).
    fn add(&mut self, weight: f64, mean: f64, variance: f64) {
        self.weight += weight;
        let away = mean - self.mean;
        self.mean += away * weight / self.weight;
        self.square += weight * (variance + away * (mean - self.mean));
    }

    fn told(self) -> (f64, f64) {
        (self.mean, (self.square / self.weight).max(0.0).sqrt())
    }
}

impl Summed {
    pub(super) fn over(
        density: &FleetDensity,
        expansion: &Expansion,
        spreads: &SpreadLaw,
    ) -> Result<Self, WearError> {
        let mut shared = vec![Mixed::default(); density.corner()];
        let mut effects = vec![(Mixed::default(), Mixed::default()); density.groups()];
        for (log, weight) in spreads.logs.iter().zip(&spreads.weights) {
            if *weight < NOTHING {
                continue;
            }
            let law = expansion.conditional(density, log.exp());
            let law = law.ok_or(WearError::NotSettled { iterations: 0 })?;
            let covariance = law.factor.corner_of_inverse();
            for (i, mixed) in shared.iter_mut().enumerate() {
                mixed.add(*weight, law.mean[i], covariance[(i, i)]);
            }
            add_effects(density, expansion, &law, *weight, &mut effects);
        }
        let (effects, log_medians) = effects
            .into_iter()
            .map(|(b, m)| (b.told(), m.told()))
            .unzip();
        Ok(Self {
            shared: shared.into_iter().map(Mixed::told).collect(),
            effects,
            log_medians,
        })
    }
}

fn add_effects(
    density: &FleetDensity,
    expansion: &Expansion,
    law: &Conditional,
    weight: f64,
    effects: &mut [(Mixed, Mixed)],
) {
    let (corner, last) = (density.corner(), density.columns.shape.log_shape());
    let nothing = DVector::zeros(corner);
    // The log of the median is location + effect + ln(ln 2) / shape.
    let below = std::f64::consts::LN_2.ln() * (-law.mean[last]).exp();
    let mut median = nothing.clone();
    (median[0], median[last]) = (1.0, -below);
    let beyond = expansion.beyond.iter();
    for (group, ((effect, log_median), (mean, variance))) in
        effects.iter_mut().zip(beyond).enumerate()
    {
        let place = law.mean[corner + group] + mean;
        let own = law.factor.variance_of(&nothing, group) + variance;
        effect.add(weight, place, own);
        let own = law.factor.variance_of(&median, group) + variance;
        log_median.add(weight, law.mean[0] + place + below, own);
    }
}
