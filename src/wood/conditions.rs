//! Dirt, state of the wood, and the covariate row that the wear rate is computed from.

use super::{Wood, WoodMix};
use serde::{Deserialize, Serialize};

/// How dirty the wood is. Trade words for the wood's surface; the bands are common practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Contamination {
    /// Off the ground, no soil.
    Clean,
    /// Bark, mud splash, light grit.
    Dusty,
    /// Soil on it: dragged, or fed by grapple or loader.
    Dirty,
    /// Root balls, stumps, storm or flood debris, sand.
    Gritty,
}

impl Contamination {
    /// Every class, cleanest first.
    pub const ALL: [Contamination; 4] = [
        Contamination::Clean,
        Contamination::Dusty,
        Contamination::Dirty,
        Contamination::Gritty,
    ];

    /// The word the crew uses.
    pub fn word(self) -> &'static str {
        match self {
            Contamination::Clean => "clean",
            Contamination::Dusty => "dusty",
            Contamination::Dirty => "dirty",
            Contamination::Gritty => "gritty",
        }
    }
}

/// What state the wood is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum WoodState {
    /// Fresh cut.
    Green,
    /// Dead or seasoned.
    Dry,
    /// Frozen through.
    Frozen,
}

impl WoodState {
    /// Every state.
    pub const ALL: [WoodState; 3] = [WoodState::Green, WoodState::Dry, WoodState::Frozen];

    /// The word the crew uses.
    pub fn word(self) -> &'static str {
        match self {
            WoodState::Green => "green",
            WoodState::Dry => "dry",
            WoodState::Frozen => "frozen",
        }
    }
}

/// One row of covariates of the wear rate. All zero is the reference: clean, green hardwood of
/// reference hardness. The wear rate is `exp(row . beta)`; positive beta wears faster.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covariates([f64; Covariates::COUNT]);

impl Covariates {
    /// How many there are.
    pub const COUNT: usize = 7;

    /// Their names, in order, as the prior pack and the output call them. `hardness` is the natural
    /// log of green side hardness over the reference; the others are 1 where the word applies.
    pub const NAMES: [&'static str; Covariates::COUNT] = [
        "hardness", "dusty", "dirty", "gritty", "dry", "frozen", "palm",
    ];

    /// Clean, green hardwood of reference hardness.
    pub const REFERENCE: Covariates = Covariates([0.0; Covariates::COUNT]);

    /// The row for one wood in one state.
    pub fn of(wood: &Wood, contamination: Contamination, state: WoodState) -> Self {
        let flag = |yes: bool| if yes { 1.0 } else { 0.0 };
        Self([
            wood.log_relative_hardness(),
            flag(contamination == Contamination::Dusty),
            flag(contamination == Contamination::Dirty),
            flag(contamination == Contamination::Gritty),
            flag(state == WoodState::Dry),
            flag(state == WoodState::Frozen),
            flag(wood.is_palm()),
        ])
    }

    /// The same wood in another class of dirt, or another state.
    pub fn with(mut self, contamination: Option<Contamination>, state: Option<WoodState>) -> Self {
        let flag = |yes: bool| if yes { 1.0 } else { 0.0 };
        if let Some(class) = contamination {
            self.0[1] = flag(class == Contamination::Dusty);
            self.0[2] = flag(class == Contamination::Dirty);
            self.0[3] = flag(class == Contamination::Gritty);
        }
        if let Some(state) = state {
            self.0[4] = flag(state == WoodState::Dry);
            self.0[5] = flag(state == WoodState::Frozen);
        }
        self
    }

    /// The contamination class that the row stands for.
    pub fn contamination(&self) -> Contamination {
        let [_, dusty, dirty, gritty, ..] = self.0;
        if gritty > 0.0 {
            Contamination::Gritty
        } else if dirty > 0.0 {
            Contamination::Dirty
        } else if dusty > 0.0 {
            Contamination::Dusty
        } else {
            Contamination::Clean
        }
    }

    /// The plain row, in the order of [`Covariates::NAMES`].
    pub fn row(&self) -> &[f64; Covariates::COUNT] {
        &self.0
    }
}

/// One part of a [`Blend`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlendPart {
    /// Share of the hours, between 0 and 1.
    pub share: f64,
    /// What this part wears like.
    pub covariates: Covariates,
}

/// Conditions by share of the hours; wear averages over the shares:
/// `rate = sum of share x exp(covariates . beta)`. Shares add up to one.
#[derive(Debug, Clone, PartialEq)]
pub struct Blend {
    parts: Vec<BlendPart>,
}

impl Blend {
    /// Clean, green hardwood of reference hardness.
    pub fn reference() -> Self {
        Self {
            parts: vec![BlendPart {
                share: 1.0,
                covariates: Covariates::REFERENCE,
            }],
        }
    }

    /// One run's wood under one contamination class and state.
    pub fn of(mix: &WoodMix, contamination: Contamination, state: WoodState) -> Self {
        Self::from_parts(mix.parts().map(|(wood, share)| BlendPart {
            share,
            covariates: Covariates::of(wood, contamination, state),
        }))
    }

    /// Averages blends by their weights (hours, say). Equal covariate rows are merged, so that the
    /// usual mix of a long log stays short. `None` where the weights add up to nothing.
    pub fn average<'a>(weighted: impl IntoIterator<Item = (f64, &'a Blend)>) -> Option<Self> {
        let parts: Vec<BlendPart> = weighted
            .into_iter()
            .filter(|(weight, _)| *weight > 0.0)
            .flat_map(|(weight, blend)| {
                blend.parts.iter().map(move |part| BlendPart {
                    share: weight * part.share,
                    ..*part
                })
            })
            .collect();
        (!parts.is_empty()).then(|| Self::from_parts(parts))
    }

    fn from_parts(parts: impl IntoIterator<Item = BlendPart>) -> Self {
        let mut merged: Vec<BlendPart> = Vec::new();
        for part in parts {
            match merged
                .iter_mut()
                .find(|known| known.covariates == part.covariates)
            {
                Some(known) => known.share += part.share,
                None => merged.push(part),
            }
        }
        let total: f64 = merged.iter().map(|part| part.share).sum();
        for part in &mut merged {
            part.share /= total;
        }
        Self { parts: merged }
    }

    /// The same woods in another class of dirt, or another state.
    pub fn with(&self, contamination: Option<Contamination>, state: Option<WoodState>) -> Self {
        Self::from_parts(self.parts.iter().map(|part| BlendPart {
            share: part.share,
            covariates: part.covariates.with(contamination, state),
        }))
    }

    /// Share of the hours in each contamination class, in the order of [`Contamination::ALL`].
    pub fn contamination_shares(&self) -> [f64; 4] {
        Contamination::ALL.map(|class| {
            let parts = self.parts.iter();
            parts
                .filter(|part| part.covariates.contamination() == class)
                .map(|part| part.share)
                .sum()
        })
    }

    /// The parts; their shares add up to one.
    pub fn parts(&self) -> &[BlendPart] {
        &self.parts
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_woods_in_other_dirt_are_those_woods_in_that_dirt() {
        let mix = WoodMix::parse("oak 60%, spruce 40%").expect("a mix");
        let clean = Blend::of(&mix, Contamination::Clean, WoodState::Green);
        let wanted = Blend::of(&mix, Contamination::Gritty, WoodState::Frozen);
        assert_eq!(
            clean.with(Some(Contamination::Gritty), Some(WoodState::Frozen)),
            wanted
        );
        assert_eq!(wanted.with(None, None), wanted);
    }
}
