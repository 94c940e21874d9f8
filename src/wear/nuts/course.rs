//! Chains on their way: with one length of step, until all are done or any has lost its path.

use super::{ChainLengths, Map, NotANumber, Walk};
use crate::wear::WearError;
use nuts_rs::{Chain, CpuMath, DiagNutsSettings, Settings};
use rand::Rng;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// How chains are walked.
pub(super) struct Course<'a> {
    pub map: &'a Map<'a>,
    pub lengths: ChainLengths,
    /// The share of proposals that the step is tuned to accept.
    pub accept: f64,
    /// Set once any chain has lost its path, when all of them end: they are walked anew with shorter steps. `None` where
    /// there are none shorter.
    pub lost: Option<&'a AtomicBool>,
    /// Draws made so far with this step.
    pub made: AtomicUsize,
    /// The most made so far with any: what is made anew is not told again.
    pub told: &'a AtomicUsize,
    /// Told of draws as they are made.
    pub done: &'a (dyn Fn(usize) + Sync),
}

impl Course<'_> {
    /// One chain, or its beginning where any has lost its path. Whether a chain can start does not hang on the step.
    pub fn walk(&self, mut random: impl Rng) -> Result<Walk, WearError> {
        let broken = |error: &dyn std::fmt::Display| WearError::Sampler(error.to_string());
        let ChainLengths { draws, tuning, .. } = self.lengths;
        let mut settings = DiagNutsSettings {
            num_tune: tuning as u64,
            num_draws: draws as u64,
            ..DiagNutsSettings::default()
        };
        settings.adapt_options.step_size_settings.target_accept = self.accept;
        let start = self.map.start(&mut random);
        let math = CpuMath::new(*self.map);
        let mut sampler = settings
            .new_chain(0, math, &mut random)
            .map_err(|error| broken(&error))?;
        sampler
            .set_position(&start)
            .map_err(|error| broken(&error))?;
        let mut walk = Walk {
            draws: Vec::with_capacity(draws),
            divergences: 0,
        };
        for step in 0..tuning + draws {
            if self.is_lost() {
                break;
            }
            let (position, progress) = match sampler.draw() {
                Ok(drawn) => drawn,
                Err(_) if self.lose() => break,
                Err(error) => return Err(broken(&error)),
            };
            self.tell();
            if step >= tuning {
                if progress.diverging {
                    walk.divergences += 1;
                    self.lose();
                }
                let draw = self.map.draw(&position);
                walk.draws.push(draw.ok_or_else(|| broken(&NotANumber))?);
            }
        }
        Ok(walk)
    }

    fn is_lost(&self) -> bool {
        self.lost.is_some_and(|lost| lost.load(Ordering::Relaxed))
    }

    /// Whether there is a shorter step to begin anew with.
    fn lose(&self) -> bool {
        if let Some(lost) = self.lost {
            lost.store(true, Ordering::Relaxed);
        }
        self.lost.is_some()
    }

    fn tell(&self) {
        let made = self.made.fetch_add(1, Ordering::Relaxed) + 1;
        if self.told.fetch_max(made, Ordering::Relaxed) < made {
            (self.done)(1);
        }
    }
}
