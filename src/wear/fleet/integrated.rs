//! Group effects integrated out, each by its own integral of one dimension.
//!
//! The top of the joint density of parameters and effects is not the top of the parameters' own: where effects are as
//! many as the thousands, the log of the shape alone would come out several standard deviations too high. Given
//! the parameters each effect is independent of the others, and its integral is done by the trapezoidal rule on
//! points that its own curvature sets: on a law near to normal its error falls as exp(-2 pi^2 / step^2) (Trefethen and
//! Weideman, SIAM Review 56, 2014), 3e-6 for this step.

use super::columns::{GroupSums, Place};
use super::density::FleetDensity;
use nalgebra::DVector;

/// Points on either side of the middle, and the step between them in standard deviations.
const POINTS: i32 = 3;
const STEP: f64 = 1.25;

/// What integration leaves.
pub(super) struct Integrated {
    /// The log of the integral of likelihood and law of the effects, but for a constant that all points share.
    pub value: f64,
    /// Its slopes by the shared parameters.
    pub slopes: DVector<f64>,
    /// Slopes of the joint density by the effects, at the middle.
    pub effect_slopes: Vec<f64>,
    /// Mean and variance of each effect given the parameters.
    pub effects: Vec<(f64, f64)>,
}

impl FleetDensity<'_> {
    /// At `point`, round its effects as far as `widths` (standard deviations) reach. The priors of the shared
    /// parameters are counted.
    pub(super) fn integrated(&self, point: &[f64], widths: &[f64], spread: f64) -> Integrated {
        let place = self.place(point);
        let offsets: Vec<f64> = (-POINTS..=POINTS).map(|i| f64::from(i) * STEP).collect();
        let passes: Vec<GroupSums> = if self.groups() == 0 {
            vec![self.columns.pass(place, false)]
        } else {
            let moved = |offset: &f64| {
                let ends = place.effects.iter().zip(widths);
                let effects: Vec<f64> = ends.map(|(b, width)| b + offset * width).collect();
                let effects = effects.as_slice();
                (self.told)();
                self.columns.pass(Place { effects, ..place }, false)
            };
            offsets.iter().map(moved).collect()
        };
        let mut whole = self.priors_at(place.shared);
        let mut sums: Vec<_> = passes.iter().map(GroupSums::groups).collect();
        let middle = passes.len() / 2;
        for group in 0..self.groups().max(1) {
            let here: Vec<&[f64]> = sums.iter_mut().filter_map(Iterator::next).collect();
            let Some(effect) = place.effects.get(group) else {
                here.iter().for_each(|sums| whole.add(1.0, sums));
                whole.value += here.iter().map(|sums| sums[0]).sum::<f64>();
                break;
            };
            let width = widths.get(group).copied().unwrap_or(spread);
            let at = |offset: &f64| effect + offset * width;
            let log =
                |(sums, offset): (&&[f64], &f64)| sums[0] - 0.5 * (at(offset) / spread).powi(2);
            let logs: Vec<f64> = here.iter().zip(&offsets).map(log).collect();
            let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let total: f64 = logs.iter().map(|log| (log - most).exp()).sum();
            let weights: Vec<f64> = logs.iter().map(|log| (log - most).exp() / total).collect();
            whole.value += most + (total * width * STEP / spread).ln();
            let weighed = || weights.iter().zip(&offsets);
            let mean: f64 = weighed().map(|(w, offset)| w * at(offset)).sum();
            let variance = weighed()
                .map(|(w, offset)| w * (at(offset) - mean).powi(2))
                .sum();
            whole.effects.push((mean, variance));
            weights
                .iter()
                .zip(&here)
                .for_each(|(w, sums)| whole.add(*w, sums));
            let slope = here
                .get(middle)
                .map_or(0.0, |sums| sums[self.columns.shape.slope(0)]);
            whole.effect_slopes.push(slope - effect / (spread * spread));
        }
        whole
    }

    fn priors_at(&self, shared: &[f64]) -> Integrated {
        let laws = self
            .priors
            .iter()
            .zip(shared)
            .map(|(prior, x)| prior.log_density(*x));
        let laws: Vec<(f64, f64, f64)> = laws.collect();
        Integrated {
            value: laws.iter().map(|(value, _, _)| value).sum(),
            slopes: DVector::from_iterator(laws.len(), laws.iter().map(|(_, slope, _)| *slope)),
            effect_slopes: Vec::new(),
            effects: Vec::new(),
        }
    }
}

impl Integrated {
    fn add(&mut self, weight: f64, sums: &[f64]) {
        let slopes = self.slopes.iter_mut().zip(sums.iter().skip(1));
        slopes.for_each(|(to, slope)| *to += weight * slope);
    }
}
