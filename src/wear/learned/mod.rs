//! What a crew's log has taught: every quantity of the model in a unit that people use, before and after.

mod group_laws;
mod quantity;
#[cfg(test)]
mod tests;

pub use quantity::{Quantity, QuantityUnit};

use super::posterior::WearPosterior;
use super::prior::Prior;
use super::sample::Draw;
use crate::lives::Rotor;
use crate::quantities::{Estimate, Level, Probability};
use group_laws::GroupEffectLaw;

/// Above this share a quantity counts as not learned: the log says next to nothing of it.
const STILL_THE_DEFAULT: f64 = 0.9;

/// One quantity before and after the log was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// Which.
    pub quantity: Quantity,
    /// Median and 90 % bounds under the prior alone.
    pub before: Estimate<f64>,
    /// The same with the log.
    pub after: Estimate<f64>,
    /// How much of it is still the default: variance after over variance before, on the scale of the model
    /// (logs, for nearly everything); at most one.
    pub share_from_defaults: Probability,
}

impl Learned {
    /// Whether the log says next to nothing of it: more than nine tenths of its variance is left.
    pub fn is_still_the_default(&self) -> bool {
        self.share_from_defaults.get() > STILL_THE_DEFAULT
    }
}

/// A quantity on the scale of the model, on which its prior is known in closed form.
struct Scaled<'a> {
    quantity: Quantity,
    of: Box<dyn Fn(&Draw) -> f64 + 'a>,
    prior: ScaledPrior,
}

/// A prior on the scale of the model.
struct ScaledPrior {
    /// The 5 %, 50 % and 95 % quantiles.
    quantiles: [f64; 3],
    variance: f64,
}

/// Half the width of a central 90 % range of the standard normal law.
const HALF_WIDTH: f64 = 1.644_853_626_951_472_2;

impl ScaledPrior {
    fn normal(mean: f64, variance: f64) -> Self {
        let half = HALF_WIDTH * variance.sqrt();
        Self {
            quantiles: [mean - half, mean, mean + half],
            variance,
        }
    }
}

impl WearPosterior {
    /// Everything that the model learns, in the order in which people ask: life on each of `rotors`,
    /// regrinding, dirt, state and kind of wood, the crew's own conditions, touch-ups, how edges differ, the
    /// eye, groupings. Quantities that are held are left out.
    pub fn learned(&self, rotors: &[Rotor]) -> Vec<Learned> {
        let mut asked: Vec<Scaled> = rotors.iter().filter_map(|&r| self.median_life(r)).collect();
        asked.extend(self.reground_life());
        asked.extend(self.rates());
        let layout = self.layout();
        let rest = [
            (Quantity::TouchUp, layout.touch_up()),
            (Quantity::EdgesDiffer, layout.log_sigma()),
            (Quantity::EyeError, layout.log_eye()),
        ];
        asked.extend(
            rest.into_iter()
                .filter_map(|(quantity, place)| self.shared(quantity, &[place])),
        );
        asked.extend(self.groups());
        asked.iter().map(|scaled| self.read(scaled)).collect()
    }

    fn read(&self, scaled: &Scaled) -> Learned {
        let summary = self.sample().summary(&scaled.of);
        let estimate = |[lower, point, upper]: [f64; 3]| {
            let on_scale = Estimate {
                point,
                lower,
                upper,
                level: Level::NINETY,
            };
            on_scale.map(|x| scaled.quantity.in_its_unit(x, self.family()))
        };
        let share = (summary.spread.powi(2) / scaled.prior.variance).clamp(0.0, 1.0);
        Learned {
            before: estimate(scaled.prior.quantiles),
            after: estimate(summary.quantiles),
            // A variance that is no number teaches nothing.
            share_from_defaults: Probability::new(share).unwrap_or(Probability::ONE),
            quantity: scaled.quantity.clone(),
        }
    }

    fn median_life(&self, rotor: Rotor) -> Option<Scaled<'_>> {
        let layout = self.layout();
        let mut places = vec![layout.location()];
        // The first covariate of life is the disc.
        places.extend(layout.features().take(usize::from(rotor == Rotor::Disc)));
        self.shared(Quantity::MedianLife(rotor), &places)
    }

    fn reground_life(&self) -> Option<Scaled<'_>> {
        let place = self.layout().features().nth(1)?;
        self.shared(Quantity::RegroundLife, &[place])
    }

    fn rates(&self) -> impl Iterator<Item = Scaled<'_>> {
        self.layout().rates().enumerate().filter_map(|(k, place)| {
            let name = self.density().shared_names().get(place)?;
            self.shared(Quantity::of_rate(k, name), &[place])
        })
    }

    /// The sum of shared parameters whose priors are normal and independent.
    fn shared(&self, quantity: Quantity, places: &[usize]) -> Option<Scaled<'_>> {
        let (mut mean, mut variance) = (0.0, 0.0);
        for &place in places {
            let Prior::Normal(prior) = self.density().priors().shared.get(place)? else {
                return None;
            };
            mean += prior.mean();
            variance += prior.spread().powi(2);
        }
        let places = places.to_vec();
        Some(Scaled {
            quantity,
            of: Box::new(move |draw| places.iter().map(|&place| draw.shared[place]).sum()),
            prior: ScaledPrior::normal(mean, variance),
        })
    }

    /// For each grouping that the log knows, how much its levels differ, and then each level.
    fn groups(&self) -> Vec<Scaled<'_>> {
        let law = GroupEffectLaw::new();
        let mut asked = Vec::new();
        let mut start = 0;
        let priors = &self.density().priors().spreads;
        for (number, (grouping, prior)) in self.groupings().iter().zip(priors).enumerate() {
            if grouping.levels.is_empty() {
                continue;
            }
            asked.push(Scaled {
                quantity: Quantity::GroupsDiffer(grouping.name.clone()),
                of: Box::new(move |draw| draw.spreads[number]),
                prior: group_laws::spread(*prior),
            });
            for (level, name) in grouping.levels.iter().enumerate() {
                let effect = start + level;
                asked.push(Scaled {
                    quantity: Quantity::GroupEffect {
                        grouping: grouping.name.clone(),
                        level: name.clone(),
                    },
                    of: Box::new(move |draw| draw.effects[effect]),
                    prior: law.scaled_by(prior.scale()),
                });
            }
            start += grouping.levels.len();
        }
        asked
    }
}
