//! One edge wearing, hour by hour.

use super::dice::Dice;
use super::truth::Truth;
use crate::logbook::Rotor;
use crate::quantities::{Grade, WearFraction};

/// What comes between an edge and the end of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Happening {
    /// It hit metal or stone.
    Struck,
    /// The operator feels that it has gone dull.
    Noticed,
    /// So far past dull that anybody would stop.
    Called,
}

/// How fast things go during a run, per meter hour.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rates {
    pub(super) wear: f64,
    pub(super) strikes: f64,
}

/// An edge at work. Its life is hidden from the crew.
#[derive(Debug, Clone)]
pub(super) struct WearingEdge {
    /// Wear hours at which it is dull.
    life: f64,
    /// Wear hours at which its operator will feel it.
    noticed_at: Option<f64>,
    /// Wear hours at which anybody would stop.
    called_at: f64,
    /// Wear hours so far.
    age: f64,
}

impl WearingEdge {
    pub(super) fn fresh(truth: &Truth, rotor: Rotor, regrinds: u32, dice: &mut Dice) -> Self {
        let life = truth.draw_life(rotor, regrinds, dice);
        let felt = life * (truth.grader_error * dice.normal()).exp() / truth.eye_bias;
        let noticed_at = dice.chance(truth.noticing).then_some(felt);
        Self {
            life,
            noticed_at,
            called_at: truth.called_at * life,
            age: 0.0,
        }
    }

    /// The same edge with a life longer by this much, on the log scale.
    pub(super) fn longer_by(mut self, log_life: f64) -> Self {
        let times = log_life.exp();
        self.life *= times;
        self.called_at *= times;
        self.noticed_at = self.noticed_at.map(|felt| felt * times);
        self
    }

    /// Works up to `hours` in steady conditions: the hours worked, and what ended them early.
    pub(super) fn work(
        &mut self,
        hours: f64,
        rates: Rates,
        dice: &mut Dice,
    ) -> (f64, Option<Happening>) {
        let until = |wear: f64| (wear - self.age).max(0.0) / rates.wear;
        let strike = dice.exponential() / rates.strikes.max(f64::MIN_POSITIVE);
        let coming = [
            (strike, Happening::Struck),
            (
                self.noticed_at.map_or(f64::INFINITY, until),
                Happening::Noticed,
            ),
            (until(self.called_at), Happening::Called),
        ];
        let first = coming.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        let (worked, happening) = match first {
            Some((after, happening)) if after < hours => (after, Some(happening)),
            _ => (hours, None),
        };
        self.age += rates.wear * worked;
        if happening == Some(Happening::Noticed) {
            self.noticed_at = None;
        }
        (worked, happening)
    }

    /// What somebody would grade it, with an eye that is off by `grader_error` on the log scale.
    pub(super) fn grade(&self, truth: &Truth, dice: &mut Dice) -> Grade {
        let blur = (truth.grader_error * dice.normal()).exp();
        let seen = self.age / self.life * blur * truth.eye_bias;
        let passed = Grade::CUTS.iter().filter(|cut| seen >= **cut).count();
        Grade::ALL[passed]
    }

    /// Width of the bright flat over that at which the crew calls an edge dull, as measured.
    pub(super) fn flat(&self, truth: &Truth, dice: &mut Dice) -> WearFraction {
        let blur = (truth.flat_error * dice.normal()).exp();
        let width = (self.age / self.life * blur).powf(truth.flat_exponent);
        WearFraction::new(width).unwrap_or(WearFraction::ZERO)
    }

    /// Takes back its share of the wear so far.
    pub(super) fn touch_up(&mut self, truth: &Truth) {
        self.age *= 1.0 - truth.touch_up_share;
    }

    /// Wear hours at which it is dull.
    pub(super) fn life(&self) -> f64 {
        self.life
    }

    /// Wear hours so far, less what touch-ups took back.
    #[cfg(test)]
    pub(super) fn age(&self) -> f64 {
        self.age
    }

    /// Whether it was dull already.
    pub(super) fn is_dull(&self) -> bool {
        self.age >= self.life
    }
}
