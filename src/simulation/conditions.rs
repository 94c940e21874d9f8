//! What the invented crews chip, through the year.

use super::dice::Dice;
use super::edge::Rates;
use super::plan::DirtSlips;
use super::truth::Truth;
use crate::wood::{Blend, Contamination, WoodMix, WoodState};
use std::sync::LazyLock;

/// What went through in one run.
#[derive(Debug, Clone)]
pub(super) struct Work {
    pub(super) wood: Option<WoodMix>,
    pub(super) contamination: Contamination,
    pub(super) state: WoodState,
}

impl Work {
    pub(super) fn blend(&self) -> Blend {
        match &self.wood {
            Some(wood) => Blend::of(wood, self.contamination, self.state),
            None => Blend::reference(),
        }
    }

    pub(super) fn rates(&self, truth: &Truth) -> Rates {
        Rates {
            wear: truth.rate(&self.blend()),
            strikes: truth.strike_rate(self.contamination),
        }
    }

    /// The work as it is written down.
    pub(super) fn as_written(&self, slips: DirtSlips, dice: &mut Dice) -> Self {
        let slip = dice.uniform();
        let contamination = if slip < slips.one_cleaner {
            one_cleaner(self.contamination)
        } else if slip < slips.one_cleaner + slips.as_clean {
            Contamination::Clean
        } else {
            self.contamination
        };
        Self {
            contamination,
            ..self.clone()
        }
    }
}

/// The next cleaner class; clean stays clean.
fn one_cleaner(dirt: Contamination) -> Contamination {
    match dirt {
        Contamination::Clean | Contamination::Dusty => Contamination::Clean,
        Contamination::Dirty => Contamination::Dusty,
        Contamination::Gritty => Contamination::Dirty,
    }
}

/// A month's work: the cool climate of a river valley, with floods in March and April.
pub(super) fn work_in(month: i8, dice: &mut Dice) -> Work {
    Work {
        wood: wood_in(month, dice),
        contamination: dirt_in(month, dice),
        state: state_in(month, dice),
    }
}

/// What people write as the wood, read once: a crew has thousands of runs.
static WOODS: LazyLock<[Option<WoodMix>; 6]> = LazyLock::new(|| {
    [
        "willow",
        "ash",
        "oak",
        "spruce",
        "willow 60%, ash 40%",
        "oak 50%, spruce 50%",
    ]
    .map(|written| WoodMix::parse(written).ok())
});

fn wood_in(month: i8, dice: &mut Dice) -> Option<WoodMix> {
    let willow = if is_flood(month) { 4.0 } else { 1.5 };
    let weights = [willow, 2.0, 1.5, 1.5, 1.0, 0.7];
    let weighted: Vec<_> = weights.into_iter().zip(WOODS.iter()).collect();
    dice.pick(&weighted).cloned().flatten()
}

fn dirt_in(month: i8, dice: &mut Dice) -> Contamination {
    let shares = if is_flood(month) {
        [0.30, 0.28, 0.27, 0.15]
    } else {
        [0.62, 0.24, 0.12, 0.02]
    };
    let weighted: Vec<_> = shares.into_iter().zip(Contamination::ALL).collect();
    dice.pick(&weighted).unwrap_or(Contamination::Clean)
}

fn state_in(month: i8, dice: &mut Dice) -> WoodState {
    let (dry, frozen) = match month {
        12 | 1 | 2 => (0.08, 0.5),
        6..=9 => (0.18, 0.0),
        _ => (0.10, 0.0),
    };
    let weighted = [
        (dry, WoodState::Dry),
        (frozen, WoodState::Frozen),
        (1.0 - dry - frozen, WoodState::Green),
    ];
    dice.pick(&weighted).unwrap_or(WoodState::Green)
}

/// When the river has been over the paths.
fn is_flood(month: i8) -> bool {
    matches!(month, 3 | 4)
}
