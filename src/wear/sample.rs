//! Draws from the posterior, and how far they can be trusted.

use super::WearError;
use super::density::WearDensity;
use super::importance::{self, Amount, Weighted};
use super::nested::Nested;
use super::nuts::{self, ChainLengths};
use super::parameters::Layout;
use crate::numerics::chains::Chains;
use crate::numerics::pareto;
use crate::numerics::resampling::systematic;
use crate::numerics::weighted::WeightedDraws;
use nalgebra::DVector;
use serde::{Deserialize, Serialize};
use std::fmt;

/// One draw from the posterior.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Draw {
    /// The parameters that all edges share, in the order of [`super::Layout`].
    pub shared: Vec<f64>,
    /// Group effects, grouping by grouping.
    pub effects: Vec<f64>,
    /// The spread of each grouping's effects.
    pub spreads: Vec<f64>,
}

/// How the posterior is to be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Weighted draws, and chains where those cannot be trusted.
    Auto,
    /// Weighted draws from the nested Laplace approximation.
    Laplace,
    /// Chains of the No-U-Turn Sampler.
    Nuts,
}

/// How the posterior is drawn: method, amount, seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SampleSettings {
    /// Which way.
    pub method: Method,
    /// Weighted draws.
    pub draws: usize,
    /// Chains, where they are run.
    pub chains: ChainLengths,
    /// Start of the random numbers.
    pub seed: u64,
}

impl Default for SampleSettings {
    fn default() -> Self {
        Self {
            method: Method::Auto,
            draws: MANY,
            chains: ChainLengths::default(),
            seed: 1,
        }
    }
}

/// What somebody should know who relies on draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "doubt", rename_all = "kebab-case")]
pub enum Doubt {
    /// The weights of the quick approximation have too heavy a tail.
    HeavyWeights {
        /// The shape of that tail.
        k_hat: f64,
        /// The largest shape that can be trusted.
        trusted: f64,
    },
    /// The search for the most probable parameters did not settle.
    NotSettled,
    /// The sampler lost the path.
    Divergences {
        /// So many times.
        count: usize,
    },
    /// The chains do not agree.
    ChainsDisagree {
        /// Rank-normalised split R-hat of the worst parameter.
        r_hat: f64,
    },
    /// The draws are worth too few independent ones.
    FewEffective {
        /// How many the worst parameter has.
        effective: f64,
    },
}

/// Where so many weighted draws leave doubts, chains are run.
const MANY: usize = 4000;

/// Chains agree where R-hat is below this (Vehtari and others, 2021).
const R_HAT: f64 = 1.01;
/// Independent draws that bounds need at least, a chain (Vehtari and others, 2021).
const EFFECTIVE_A_CHAIN: f64 = 100.0;

impl fmt::Display for Doubt {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Doubt::HeavyWeights { k_hat, trusted } => write!(
                to,
                "the quick approximation is not good enough for these data (k-hat {k_hat:.2}, at most {trusted:.2} can be trusted)"
            ),
            Doubt::NotSettled => write!(
                to,
                "the search for the most probable values did not settle on these data"
            ),
            Doubt::Divergences { count } => write!(
                to,
                "the sampler lost the path {count} times: some corner of the answer may be missing"
            ),
            Doubt::ChainsDisagree { r_hat } => write!(
                to,
                "the sampler's chains do not agree yet (R-hat {r_hat:.3}, below {R_HAT} is wanted)"
            ),
            Doubt::FewEffective { effective } => write!(
                to,
                "the draws are worth only {effective:.0} independent ones: bounds are rough"
            ),
        }
    }
}

/// Draws from the posterior.
#[derive(Debug, Clone)]
pub struct Sample {
    draws: Vec<Draw>,
    /// They add up to one.
    weights: Vec<f64>,
    /// The length of each chain; `None` where draws are weighted.
    chain: Option<usize>,
    health: Health,
}

/// How draws were made, and how far they can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Health {
    /// "laplace" for weighted draws from the nested Laplace approximation, "nuts" for chains.
    pub method: &'static str,
    /// Shape of the tail of the weights, where draws were weighted at all.
    pub k_hat: Option<f64>,
    /// How many independent draws they are worth, by the worst parameter of chains.
    pub effective: f64,
    /// Rank-normalised split R-hat of the worst parameter, of chains.
    pub r_hat: Option<f64>,
    /// Steps of chains that lost the path.
    pub divergences: Option<usize>,
    /// Why chains were run although the quick way was asked for first.
    pub switched: Option<Doubt>,
    /// What weakens the draws as they are.
    pub doubts: Vec<Doubt>,
}

impl Health {
    /// Whether answers may rest on the draws: nothing speaks against them.
    pub fn is_trustworthy(&self) -> bool {
        self.doubts.is_empty()
    }
}

/// One quantity over all draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub spread: f64,
    /// The 5 %, 50 % and 95 % quantiles.
    pub quantiles: [f64; 3],
    /// Rank-normalised split R-hat; of chains only.
    pub r_hat: Option<f64>,
    /// How many independent draws it is worth.
    pub effective: f64,
    /// Monte-Carlo standard errors of the mean and of the three quantiles.
    pub errors: [f64; 4],
}

/// The shares below the quantiles of a [`Summary`].
const SHARES: [f64; 3] = [0.05, 0.5, 0.95];

impl Sample {
    /// Draws from the posterior; `done` is told of a chain's draws as they are made.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`] where weighted draws are asked for and the search finds no top, or no draw
    /// has any weight;
    /// [`WearError::Sampler`] where chains break off.
    pub fn of(
        density: &WearDensity,
        settings: SampleSettings,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<(Nested, Self), WearError> {
        let nested = match Nested::fit(density) {
            Err(WearError::NotSettled { .. }) if settings.method != Method::Laplace => {
                let nested = Nested::of_priors(density);
                let chains = Self::chains(density, &nested, settings, done)?;
                return Ok((nested, chains.instead_of(Doubt::NotSettled)));
            }
            other => other?,
        };
        if settings.method == Method::Nuts {
            let chains = Self::chains(density, &nested, settings, done)?;
            return Ok((nested, chains));
        }
        let weighted = Self::weighted_or_more(density, &nested, settings);
        if settings.method == Method::Laplace && weighted.weights.iter().any(|w| w.is_nan()) {
            return Err(WearError::NotSettled {
                iterations: nested.iterations(),
            });
        }
        let sample = match weighted.health.doubts.first() {
            Some(&doubt) if settings.method == Method::Auto => {
                Self::chains(density, &nested, settings, done)?.instead_of(doubt)
            }
            _ => weighted,
        };
        Ok((nested, sample))
    }

    /// The same, the search for the top begun at `start`. Where weighted draws leave doubts all is done anew from
    /// nothing: chains lead elsewhere by the last bit of the place that they set out from.
    pub(super) fn begun_at(
        start: DVector<f64>,
        density: &WearDensity,
        settings: SampleSettings,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<(Nested, Self), WearError> {
        if settings.method == Method::Nuts {
            return Self::of(density, settings, done);
        }
        let trusted = Nested::fit_from(density, start).ok().and_then(|nested| {
            let weighted = Self::weighted_or_more(density, &nested, settings);
            let trusted = weighted.health.is_trustworthy();
            trusted.then_some((nested, weighted))
        });
        trusted.map_or_else(|| Self::of(density, settings, done), Ok)
    }

    /// A few draws tell the tail of the weights roughly: where they leave doubts more are made before chains
    /// are, which cost far more.
    fn weighted_or_more(density: &WearDensity, nested: &Nested, settings: SampleSettings) -> Self {
        let amount = Amount::of(settings.draws, density);
        let few = Self::weighted(density, nested, amount, settings.seed);
        if few.health.is_trustworthy() || settings.method != Method::Auto {
            return few;
        }
        match amount.more(MANY, density) {
            Some(more) => Self::weighted(density, nested, more, settings.seed),
            None => few,
        }
    }

    pub(super) fn weighted(
        density: &WearDensity,
        nested: &Nested,
        amount: Amount,
        seed: u64,
    ) -> Self {
        let drawn = importance::draws(density, nested, amount, seed);
        Self::of_weighted(drawn, amount.draws)
    }

    /// Of so many weighted draws; some are missing where the approximation has no top for some spreads.
    pub(super) fn of_weighted(drawn: Weighted, wanted: usize) -> Self {
        let smoothed = pareto::smooth(&drawn.log_weights);
        let trusted = pareto::largest_trusted_shape(wanted);
        let whole = drawn.draws.len() == wanted && !smoothed.k_hat.is_nan();
        let k_hat = if whole { smoothed.k_hat } else { f64::INFINITY };
        let effective = pareto::effective_draws(&smoothed.log_weights);
        let doubts = if k_hat > trusted {
            vec![Doubt::HeavyWeights { k_hat, trusted }]
        } else if effective < EFFECTIVE_A_CHAIN {
            vec![Doubt::FewEffective { effective }]
        } else {
            Vec::new()
        };
        Self {
            weights: smoothed.log_weights.iter().map(|log| log.exp()).collect(),
            health: Health {
                method: "laplace",
                k_hat: Some(k_hat),
                effective,
                r_hat: None,
                divergences: None,
                switched: None,
                doubts,
            },
            chain: None,
            draws: drawn.draws,
        }
    }

    fn chains(
        density: &WearDensity,
        nested: &Nested,
        settings: SampleSettings,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<Self, WearError> {
        let walks = nuts::sample(density, nested, settings.chains, settings.seed, done)?;
        let divergences = walks.iter().map(|walk| walk.divergences).sum();
        let draws: Vec<Draw> = walks.into_iter().flat_map(|walk| walk.draws).collect();
        let mut sample = Self {
            weights: vec![1.0 / draws.len() as f64; draws.len()],
            chain: Some(settings.chains.draws),
            health: Health {
                method: "nuts",
                k_hat: None,
                effective: 0.0,
                r_hat: None,
                divergences: Some(divergences),
                switched: None,
                doubts: Vec::new(),
            },
            draws,
        };
        sample.judge_chains(density, settings.chains.chains);
        Ok(sample)
    }

    /// Looks at every parameter's chains for the worst.
    fn judge_chains(&mut self, density: &WearDensity, chains: usize) {
        let mut worst = (1.0_f64, f64::INFINITY);
        let effects = self.draws.first().map_or(0, |draw| draw.effects.len());
        let spreads = self.draws.first().map_or(0, |draw| draw.spreads.len());
        let mut look = |summary: Summary| {
            worst.0 = worst.0.max(summary.r_hat.unwrap_or(1.0));
            worst.1 = worst.1.min(summary.effective);
        };
        density
            .free()
            .iter()
            .for_each(|&i| look(self.summary(|draw| draw.shared[i])));
        (0..effects).for_each(|i| look(self.summary(|draw| draw.effects[i])));
        (0..spreads).for_each(|i| look(self.summary(|draw| draw.spreads[i])));
        let (r_hat, effective) = worst;
        self.health.r_hat = Some(r_hat);
        self.health.effective = effective;
        let count = self.health.divergences.unwrap_or(0);
        let doubts = [
            (count > 0, Doubt::Divergences { count }),
            (r_hat > R_HAT, Doubt::ChainsDisagree { r_hat }),
            (
                effective < EFFECTIVE_A_CHAIN * chains as f64,
                Doubt::FewEffective { effective },
            ),
        ];
        let applies = doubts.into_iter().filter(|(applies, _)| *applies);
        self.health.doubts = applies.map(|(_, doubt)| doubt).collect();
    }

    fn instead_of(mut self, doubt: Doubt) -> Self {
        if let Doubt::HeavyWeights { k_hat, .. } = doubt {
            self.health.k_hat = Some(k_hat);
        }
        self.health.switched = Some(doubt);
        self
    }

    /// Draws that were made before and kept; the weights must add up to one.
    pub(super) fn restored(
        draws: Vec<Draw>,
        weights: Vec<f64>,
        chain: Option<usize>,
        health: Health,
    ) -> Self {
        Self {
            draws,
            weights,
            chain,
            health,
        }
    }

    /// The length of each chain; `None` where draws are weighted.
    pub(super) fn chain(&self) -> Option<usize> {
        self.chain
    }

    /// How they were made, and how far they can be trusted.
    pub fn health(&self) -> &Health {
        &self.health
    }

    /// The draws, with weights that add up to one.
    pub fn weighted_draws(&self) -> impl Iterator<Item = (&Draw, f64)> {
        self.draws.iter().zip(self.weights.iter().copied())
    }

    /// The draws, without their weights.
    pub(super) fn draws(&self) -> impl Iterator<Item = &Draw> + Clone {
        self.draws.iter()
    }

    /// How many draws there are.
    pub fn len(&self) -> usize {
        self.draws.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.draws.is_empty()
    }

    /// One quantity over all draws.
    pub fn summary(&self, quantity: impl Fn(&Draw) -> f64) -> Summary {
        let values: Vec<f64> = self.draws.iter().map(quantity).collect();
        self.summary_of(&values)
    }

    /// The same of a quantity whose values are given, one for each draw.
    pub fn summary_of(&self, values: &[f64]) -> Summary {
        let weighted = WeightedDraws::new(values, &self.weights);
        let quantiles = SHARES.map(|share| weighted.quantile(share));
        let (mean, spread) = (weighted.mean(), weighted.standard_deviation());
        let Some(length) = self.chain else {
            let errors = SHARES.map(|share| weighted.quantile_error(share));
            return Summary {
                mean,
                spread,
                quantiles,
                r_hat: None,
                effective: weighted.effective_draws(),
                errors: [weighted.mean_error(), errors[0], errors[1], errors[2]],
            };
        };
        let chains: Vec<Vec<f64>> = values.chunks(length).map(<[f64]>::to_vec).collect();
        let chains = Chains::new(&chains);
        let errors = SHARES.map(|share| chains.quantile_error(share));
        Summary {
            mean,
            spread,
            quantiles,
            r_hat: Some(chains.r_hat()),
            effective: chains
                .bulk_effective_draws()
                .min(chains.tail_effective_draws()),
            errors: [chains.mean_error(), errors[0], errors[1], errors[2]],
        }
    }

    /// `count` draws that all weigh the same: a draw comes as often as its weight asks for.
    pub fn even(&self, count: usize) -> Vec<Draw> {
        let order = self.even_order(count).into_iter();
        order.map(|i| self.draws[i].clone()).collect()
    }

    /// The numbers of the draws that [`Sample::even`] takes. Weighted ones stand in order of typical life, so that even
    /// steps of it meet short lives and long ones alike; chains as they were made, so that even steps part neighbours.
    pub fn even_order(&self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.draws.len()).collect();
        if self.chain.is_none() {
            let location = |&i: &usize| self.draws[i].shared[Layout::LOCATION];
            order.sort_by(|one, other| location(one).total_cmp(&location(other)));
        }
        let weights: Vec<f64> = order.iter().map(|&i| self.weights[i]).collect();
        let taken = systematic(&weights, count, 0.5).into_iter();
        taken.map(|place| order[place]).collect()
    }
}
