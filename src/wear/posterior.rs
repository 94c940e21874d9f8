//! What is known of a crew's edges once its log has been read.

use super::life_law::{DrawUnderConditions, LifeLaw};
use super::parameters::Layout;
use super::records::features_of;
use super::strikes::{StrikePosterior, strikes_per_hour};
use super::{FEATURES, Family, Laplace, NormalPrior};
use crate::lives::Rotor;
use crate::wood::{Blend, Covariates};
use rand::Rng;

/// The fitted wear model.
#[derive(Debug, Clone)]
pub struct WearPosterior {
    family: Family,
    priors: Vec<NormalPrior>,
    laplace: Laplace,
    layout: Layout,
    edges: usize,
}

/// Conditions that somebody asks about.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// What goes through.
    pub blend: Blend,
    /// Drum or disc.
    pub rotor: Rotor,
    /// Whether the edge has been reground; new steel otherwise.
    pub reground: bool,
}

/// A variance before and after the log was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variances {
    /// Under the prior alone.
    pub before: f64,
    /// With the log.
    pub after: f64,
}

/// Draws of all parameters and of the strike rates, to be looked at under any conditions.
#[derive(Debug, Clone)]
pub struct Draws {
    family: Family,
    layout: Layout,
    parameters: Vec<Vec<f64>>,
    strikes: Vec<[f64; 4]>,
}

impl WearPosterior {
    pub(super) fn new(
        family: Family,
        priors: Vec<NormalPrior>,
        laplace: Laplace,
        edges: usize,
    ) -> Self {
        Self {
            family,
            priors,
            laplace,
            layout: Layout::new(FEATURES.len(), Covariates::COUNT),
            edges,
        }
    }

    /// The normal approximation behind it.
    pub fn laplace(&self) -> &Laplace {
        &self.laplace
    }

    /// Edges that it stands on.
    pub fn edges(&self) -> usize {
        self.edges
    }

    /// Variance of the log of median life under asked conditions, before and after the log was read.
    pub fn log_life_variances(&self, asked: &Asked) -> Variances {
        let features = features_of(asked.rotor, asked.reground);
        let direction = self.direction(features, &self.mean_row(asked));
        let before = direction
            .iter()
            .zip(&self.priors)
            .map(|(d, prior)| (d * prior.spread()).powi(2))
            .sum();
        let direction = nalgebra::DVector::from_vec(direction);
        let after = direction.dot(&(self.laplace.covariance() * &direction));
        Variances { before, after }
    }

    /// Derivative of log median life with respect to the parameters, at covariate row `x`.
    pub(super) fn direction(&self, features: [f64; FEATURES.len()], x: &[f64]) -> Vec<f64> {
        let mut direction = vec![0.0; self.layout.dimension()];
        direction[self.layout.location()] = 1.0;
        direction[self.layout.features()].copy_from_slice(&features);
        for (slot, x) in direction[self.layout.rates()].iter_mut().zip(x) {
            *slot = -x;
        }
        direction
    }

    /// The covariate row of a blend, averaged by wear at the most probable parameters.
    pub(super) fn mean_row(&self, asked: &Asked) -> Vec<f64> {
        let rates = &self.laplace.mode()[self.layout.rates()];
        let mut mean = vec![0.0; rates.len()];
        let mut total = 0.0;
        for part in asked.blend.parts() {
            let row = part.covariates.row();
            let wear = part.share * row.iter().zip(rates).map(|(x, b)| x * b).sum::<f64>().exp();
            total += wear;
            mean.iter_mut()
                .zip(row)
                .for_each(|(mean, x)| *mean += wear * x);
        }
        mean.iter_mut().for_each(|mean| *mean /= total);
        mean
    }

    /// Family of life distributions.
    pub fn family(&self) -> Family {
        self.family
    }

    /// The law of life under asked conditions at the most probable parameters.
    pub fn law_at_mode(&self, asked: &Asked) -> LifeLaw {
        law(self.family, &self.layout, self.laplace.mode(), asked)
    }

    pub(super) fn median_hours_at_mode(&self, row: impl Iterator<Item = f64>) -> f64 {
        let mode = self.laplace.mode();
        let log_rate: f64 = mode[self.layout.rates()]
            .iter()
            .zip(row)
            .map(|(b, x)| b * x)
            .sum();
        (mode[self.layout.location()] - log_rate).exp()
    }

    /// `count` draws from the posterior, with strike rates from theirs.
    pub fn draws(&self, strikes: &StrikePosterior, count: usize, random: &mut impl Rng) -> Draws {
        Draws {
            family: self.family,
            layout: self.layout.clone(),
            parameters: self.laplace.draws(count, random),
            strikes: (0..count).map(|_| strikes.draw(random)).collect(),
        }
    }
}

impl Draws {
    /// The first `count` of them.
    pub fn first(&self, count: usize) -> Self {
        Self {
            family: self.family,
            layout: self.layout.clone(),
            parameters: self.parameters.iter().take(count).cloned().collect(),
            strikes: self.strikes.iter().take(count).copied().collect(),
        }
    }

    /// Each draw's law of life and strike rate under the conditions asked about. A blend wears at the
    /// average of its parts' rates.
    pub fn under(&self, asked: &Asked) -> Vec<DrawUnderConditions> {
        self.parameters
            .iter()
            .zip(&self.strikes)
            .map(|(theta, strikes)| DrawUnderConditions {
                law: law(self.family, &self.layout, theta, asked),
                strikes_per_hour: strikes_per_hour(strikes, &asked.blend),
            })
            .collect()
    }
}

/// Life in meter hours at parameters `theta`: typical life over the blend's average wear rate.
fn law(family: Family, layout: &Layout, theta: &[f64], asked: &Asked) -> LifeLaw {
    let rates = &theta[layout.rates()];
    let rate: f64 = asked
        .blend
        .parts()
        .iter()
        .map(|part| {
            part.share
                * part
                    .covariates
                    .row()
                    .iter()
                    .zip(rates)
                    .map(|(x, b)| x * b)
                    .sum::<f64>()
                    .exp()
        })
        .sum();
    let features = features_of(asked.rotor, asked.reground);
    let shift: f64 = theta[layout.features()]
        .iter()
        .zip(features)
        .map(|(g, z)| g * z)
        .sum();
    LifeLaw {
        family,
        log_median: theta[layout.location()] + shift - rate.ln(),
        sigma: theta[layout.log_sigma()].exp(),
    }
}
