//! Dirt, state of the wood, and the covariate row that the wear rate is computed from.

use super::{Wood, WoodMix};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

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
///
/// Behind the seven that every log has stand a crew's own yes/no conditions, 1 for yes, as many as
/// its log has; rows made without a log have none. A short row means the same as one with zeros
/// behind it, and is equal to it.
#[derive(Debug, Clone)]
pub struct Covariates(Arc<[f64]>);

impl PartialEq for Covariates {
    fn eq(&self, other: &Self) -> bool {
        let both = self.0.len().min(other.0.len());
        let behind = self.0[both..].iter().chain(&other.0[both..]);
        self.0[..both] == other.0[..both] && behind.into_iter().all(|x| *x == 0.0)
    }
}

impl Covariates {
    /// How many every log has.
    pub const COUNT: usize = 7;

    /// Their names, in order, as the prior pack and the output call them. `hardness` is the natural
    /// log of green side hardness over the reference; the others are 1 where the word applies.
    pub const NAMES: [&'static str; Covariates::COUNT] = [
        "hardness", "dusty", "dirty", "gritty", "dry", "frozen", "palm",
    ];

    /// Clean, green hardwood of reference hardness.
    pub fn reference() -> Self {
        Self([0.0; Covariates::COUNT].into())
    }

    /// The row for one wood in one state.
    pub fn of(wood: &Wood, contamination: Contamination, state: WoodState) -> Self {
        let flag = |yes: bool| if yes { 1.0 } else { 0.0 };
        let row: [f64; Covariates::COUNT] = [
            wood.log_relative_hardness(),
            flag(contamination == Contamination::Dusty),
            flag(contamination == Contamination::Dirty),
            flag(contamination == Contamination::Gritty),
            flag(state == WoodState::Dry),
            flag(state == WoodState::Frozen),
            flag(wood.is_palm()),
        ];
        Self(row.into())
    }

    /// The same wood in another class of dirt, or another state; the crew's own conditions stay.
    pub fn with(&self, contamination: Option<Contamination>, state: Option<WoodState>) -> Self {
        let flag = |yes: bool| if yes { 1.0 } else { 0.0 };
        let mut row = self.0.to_vec();
        if let Some(class) = contamination {
            row[1] = flag(class == Contamination::Dusty);
            row[2] = flag(class == Contamination::Dirty);
            row[3] = flag(class == Contamination::Gritty);
        }
        if let Some(state) = state {
            row[4] = flag(state == WoodState::Dry);
            row[5] = flag(state == WoodState::Frozen);
        }
        Self(row.into())
    }

    /// The same wood, dirt and state under other conditions of the crew's own: an answer for each,
    /// in the order of the log's names.
    pub fn with_own_conditions(&self, answers: &[bool]) -> Self {
        let own = answers.iter().map(|yes| f64::from(u8::from(*yes)));
        Self(self.padded(Self::COUNT).chain(own).collect())
    }

    /// Another wood in the same dirt and state, the crew's own conditions included.
    pub fn of_wood(&self, wood: &Wood) -> Self {
        let mut row = self
            .padded(Self::COUNT.max(self.0.len()))
            .collect::<Vec<f64>>();
        let plain = Self::of(wood, Contamination::Clean, WoodState::Green);
        // Hardness stands first and palm last of those that are the wood's own.
        for place in [0, 6] {
            row[place] = plain.0[place];
        }
        Self(row.into())
    }

    /// The contamination class that the row stands for.
    pub fn contamination(&self) -> Contamination {
        let is_set = |at: usize| self.0[at] > 0.0;
        if is_set(3) {
            Contamination::Gritty
        } else if is_set(2) {
            Contamination::Dirty
        } else if is_set(1) {
            Contamination::Dusty
        } else {
            Contamination::Clean
        }
    }

    /// The plain row: in the order of [`Covariates::NAMES`], then the crew's own conditions. It may
    /// be shorter than the rows of a log; what is missing counts as zero.
    pub fn row(&self) -> &[f64] {
        &self.0
    }

    /// The first `length` numbers of the row with zeros behind it.
    pub fn padded(&self, length: usize) -> impl Iterator<Item = f64> {
        let zeros = std::iter::repeat(0.0);
        self.0.iter().copied().chain(zeros).take(length)
    }
}

/// One part of a [`Blend`].
#[derive(Debug, Clone, PartialEq)]
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
                covariates: Covariates::reference(),
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
                    covariates: part.covariates.clone(),
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

    /// Other woods in the same dirt and states, by the same shares of the hours.
    pub fn of_woods(&self, mix: &WoodMix) -> Self {
        Self::from_parts(self.parts.iter().flat_map(|part| {
            mix.parts().map(|(wood, share)| BlendPart {
                share: share * part.share,
                covariates: part.covariates.of_wood(wood),
            })
        }))
    }

    /// The same woods, dirt and state under other conditions of the crew's own: an answer for each, in
    /// the order of the log's names.
    pub fn with_own_conditions(&self, answers: &[bool]) -> Self {
        Self::from_parts(self.parts.iter().map(|part| BlendPart {
            share: part.share,
            covariates: part.covariates.with_own_conditions(answers),
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

    #[test]
    fn other_woods_in_the_usual_dirt_keep_its_shares_and_states() {
        let ash = WoodMix::parse("ash").expect("a mix");
        let oak = WoodMix::parse("oak 60%, spruce 40%").expect("a mix");
        let usual = |mix: &WoodMix| {
            let of = |dirt, state| Blend::of(mix, dirt, state).with_own_conditions(&[true]);
            let clean = of(Contamination::Clean, WoodState::Green);
            let dirty = of(Contamination::Gritty, WoodState::Frozen);
            Blend::average([(3.0, &clean), (1.0, &dirty)]).expect("a mix")
        };
        let (found, wanted) = (usual(&ash).of_woods(&oak), usual(&oak));
        assert_eq!(found.parts().len(), wanted.parts().len());
        for part in wanted.parts() {
            let same = found
                .parts()
                .iter()
                .find(|it| it.covariates == part.covariates);
            assert!(same.is_some_and(|same| (same.share - part.share).abs() < 1e-12));
        }
    }

    #[test]
    fn own_conditions_stand_behind_the_row_and_stay_when_dirt_changes() {
        let mix = WoodMix::parse("oak 60%, spruce 40%").expect("a mix");
        let blend = Blend::of(&mix, Contamination::Clean, WoodState::Green);
        let vines = blend.with_own_conditions(&[true, false]);
        let dirty = vines.with(Some(Contamination::Dirty), None);
        for part in dirty.parts() {
            assert_eq!(part.covariates.row().len(), Covariates::COUNT + 2);
            assert_eq!(part.covariates.row()[Covariates::COUNT..], [1.0, 0.0]);
            assert_eq!(part.covariates.contamination(), Contamination::Dirty);
        }
        assert_ne!(vines, blend);
        assert_eq!(vines.with_own_conditions(&[]), blend);
    }

    #[test]
    fn a_short_row_is_the_one_with_no_in_every_condition_and_merges_with_it() {
        let plain = Blend::reference();
        let no = plain.with_own_conditions(&[false, false]);
        let yes = plain.with_own_conditions(&[false, true]);
        assert_eq!(plain, no);
        let all = [(1.0, &plain), (2.0, &yes), (1.0, &no)];
        let usual = Blend::average(all).expect("a mix");
        let shares: Vec<f64> = usual.parts().iter().map(|part| part.share).collect();
        assert_eq!(shares, [0.5, 0.5]);
    }
}
