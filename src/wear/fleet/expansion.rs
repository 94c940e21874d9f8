//! The normal law of parameters and effects round their place, given any spread of effects.
//!
//! The log-likelihood is expanded once, at the top of the joint density. Two linear terms are added so that the
//! law agrees with what integrating the effects out says there: one tilts it by the shared parameters, one by the log of
//! the spread.

use super::density::FleetDensity;
use super::integrated::Integrated;
use crate::numerics::newton::{self, Factor, NewtonSettings};
use crate::numerics::{Arrow, ArrowFactor};
use crate::wear::WearError;
use nalgebra::DVector;

/// How closely the top is found, as the square of a distance in standard errors: for all parameters, and for each effect.
const DECREMENT: f64 = 1e-6;
const DECREMENT_AN_EFFECT: f64 = 1e-9;
/// Steps from the joint top to that of the integrated density; each is nearer by as many times as a group has edges, so
/// that groups of one or two take some dozens.
const MOST_STEPS: usize = 80;
/// Curvature is taken anew after so many.
const ANEW: usize = 8;

/// The expansion.
pub(super) struct Expansion {
    /// Minus the Hessian of the log-likelihood.
    information: Arrow,
    /// The linear part of the exponent, priors counted.
    pull: DVector<f64>,
    /// Where it was expanded: parameters, then effects.
    pub point: DVector<f64>,
    /// The spread taken for given there.
    pub spread: f64,
    /// What the law of the spread's log is tilted by.
    tilt: f64,
    /// What mean and variance of each effect given the parameters exceed those of the normal law by.
    pub beyond: Vec<(f64, f64)>,
    /// Log of the integrated density there.
    pub value: f64,
    /// Standard deviations of the effects given the parameters.
    pub widths: Vec<f64>,
}

/// The law given a spread.
pub(super) struct Conditional {
    pub mean: DVector<f64>,
    pub factor: ArrowFactor,
    /// The log of its integral, the spread's law aside, but for a constant that all spreads share.
    pub log_integral: f64,
}

impl Expansion {
    /// Expanded at the joint top, effects not integrated out: to find a typical spread with.
    pub(super) fn rough(
        density: &FleetDensity,
        spread: f64,
        start: DVector<f64>,
    ) -> Result<Self, WearError> {
        let settings = NewtonSettings {
            decrement: 1e-4,
            ..NewtonSettings::default()
        };
        let found = newton::maximise(|point| density.given(point, spread), start, settings);
        if !found.converged {
            return Err(WearError::NotSettled {
                iterations: found.iterations,
            });
        }
        let (point, at) = (found.point, found.at);
        // The Hessian and slopes of the likelihood are those of the posterior without the priors.
        let precisions = density.precisions(spread);
        let mut information = at.hessian;
        information.negate();
        information.raise(&-&precisions);
        let slopes = at.gradient + precisions.component_mul(&(&point - density.centres()));
        Ok(Self {
            pull: information.times(&point) + slopes + precisions.component_mul(&density.centres()),
            information,
            beyond: vec![(0.0, 0.0); density.groups()],
            widths: Vec::new(),
            tilt: 0.0,
            value: at.value,
            point,
            spread,
        })
    }

    /// Expanded at the top of the density of the parameters with the effects integrated out, from a start near it.
    pub(super) fn settled(
        density: &FleetDensity,
        spread: f64,
        start: DVector<f64>,
    ) -> Result<Self, WearError> {
        let mut point = start;
        let (mut factor, mut widths) = Self::curvature(density, &point, spread)?;
        let near = DECREMENT + DECREMENT_AN_EFFECT * density.groups() as f64;
        let mut steps = 0;
        loop {
            let integrated = density.integrated(point.as_slice(), &widths, spread);
            let slopes = integrated.slopes.iter().chain(&integrated.effect_slopes);
            let right = DVector::from_iterator(point.len(), slopes.copied());
            let step = factor.solve(&right);
            if right.dot(&step) <= near {
                return Self::at(density, point, spread, integrated);
            }
            steps += 1;
            if steps > MOST_STEPS || step.iter().any(|x| !x.is_finite()) {
                return Err(WearError::NotSettled { iterations: steps });
            }
            point += step;
            if steps.is_multiple_of(ANEW) {
                (factor, widths) = Self::curvature(density, &point, spread)?;
            }
        }
    }

    /// The factor of the posterior's precision, and the effects' own standard deviations.
    fn curvature(
        density: &FleetDensity,
        point: &DVector<f64>,
        spread: f64,
    ) -> Result<(ArrowFactor, Vec<f64>), WearError> {
        let mut precision = density.likelihood(point.as_slice()).hessian;
        precision.negate();
        precision.raise(&density.precisions(spread));
        let widths = widths(&precision, density.corner());
        let factor = precision.factor();
        let factor = factor.ok_or(WearError::NotSettled { iterations: 1 })?;
        Ok((factor, widths))
    }

    fn at(
        density: &FleetDensity,
        point: DVector<f64>,
        spread: f64,
        integrated: Integrated,
    ) -> Result<Self, WearError> {
        let at = density.likelihood(point.as_slice());
        let precisions = density.precisions(spread);
        let mut information = at.hessian;
        information.negate();
        let mut precision = information.clone();
        precision.raise(&precisions);
        let widths = widths(&precision, density.corner());
        // What integration says of the slopes by the parameters, where the joint density says something else.
        let pulled = &precisions.component_mul(&(density.centres() - &point));
        let mut slopes = at.gradient;
        for (place, slope) in integrated.slopes.iter().enumerate() {
            slopes[place] = slope - pulled[place];
        }
        let effects = point.iter().skip(density.corner()).zip(&widths);
        let beyond = integrated.effects.iter().zip(effects);
        let beyond: Vec<(f64, f64)> = beyond
            .map(|((mean, variance), (top, width))| (mean - top, variance - width * width))
            .collect();
        let squares = |(mean, variance): (f64, f64)| mean * mean + variance;
        let tilt = integrated
            .effects
            .iter()
            .zip(point.iter().skip(density.corner()));
        let tilt: f64 = tilt
            .zip(&widths)
            .map(|((own, top), width)| squares(*own) - squares((*top, width * width)))
            .sum();
        Ok(Self {
            pull: information.times(&point) + slopes + precisions.component_mul(&density.centres()),
            information,
            tilt: tilt / (spread * spread),
            value: integrated.value,
            beyond,
            widths,
            point,
            spread,
        })
    }

    /// The normal law given a spread; `None` where there is none.
    pub(super) fn conditional(&self, density: &FleetDensity, spread: f64) -> Option<Conditional> {
        let mut precision = self.information.clone();
        precision.raise(&density.precisions(spread));
        let factor = precision.factor()?;
        let mean = factor.solve(&self.pull);
        let log_integral = 0.5 * self.pull.dot(&mean)
            - 0.5 * factor.log_determinant()
            - density.groups() as f64 * spread.ln()
            + self.tilt * (spread / self.spread).ln();
        Some(Conditional {
            mean,
            factor,
            log_integral,
        })
    }
}

fn widths(precision: &Arrow, corner: usize) -> Vec<f64> {
    use crate::numerics::newton::Curvature;
    let diagonal = precision.diagonal();
    diagonal
        .iter()
        .skip(corner)
        .map(|own| own.max(1e-300).sqrt().recip())
        .collect()
}
