//! Random draws from a seed. The stream of ChaCha8 is fixed by its definition, so that a seed gives
//! the same crew on every machine.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Exp1, StandardNormal};

pub(super) struct Dice(ChaCha8Rng);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Another stream of the same seed: what is drawn from it leaves the first as it was.
    pub(super) fn stream(seed: u64, stream: u64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(stream);
        Self(generator)
    }

    /// Strictly between 0 and 1.
    pub(super) fn uniform(&mut self) -> f64 {
        self.0.random::<f64>().clamp(1e-12, 1.0 - 1e-12)
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    pub(super) fn chance(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    pub(super) fn normal(&mut self) -> f64 {
        self.0.sample(StandardNormal)
    }

    /// Mean one.
    pub(super) fn exponential(&mut self) -> f64 {
        self.0.sample(Exp1)
    }

    /// One of several, by weight; the last one takes what rounding leaves.
    pub(super) fn pick<T: Copy>(&mut self, weighted: &[(f64, T)]) -> Option<T> {
        let total: f64 = weighted.iter().map(|(weight, _)| weight).sum();
        let mut left = total * self.uniform();
        let chosen = weighted.iter().find(|(weight, _)| {
            left -= weight;
            left < 0.0
        });
        chosen.or(weighted.last()).map(|(_, item)| *item)
    }
}
