//! The wood that somebody asks about, as it is typed.

use crate::failure::Failure;
use crate::fitting::Conditions;
use clap::Args;
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};

/// Wood, dirt and state, each left as it is where not given.
#[derive(Debug, Clone, Default, Args)]
pub struct AskedWood {
    /// For this wood, such as oak or "ash 60 %, willow 40 %"
    #[arg(long, value_name = "WOOD")]
    pub wood: Option<String>,
    /// For wood this dirty: clean, dusty, dirty or gritty
    #[arg(long, value_name = "CLASS")]
    pub dirt: Option<String>,
    /// For wood in this state: green, dry or frozen
    #[arg(long, value_name = "STATE")]
    pub state: Option<String>,
}

impl AskedWood {
    /// Whether anything was asked for.
    pub fn is_asked(&self) -> bool {
        self.wood.is_some() || self.dirt.is_some() || self.state.is_some()
    }

    /// `usual`, or what is asked for; what is not asked for stays as it is, and a wood asked for is clean and
    /// green unless said otherwise.
    pub fn conditions(&self, usual: Conditions) -> Result<Conditions, Failure> {
        let dirt = self.dirt.as_deref().map(Contamination::parse).transpose()?;
        let state = self.state.as_deref().map(WoodState::parse).transpose()?;
        let Some(wood) = self.wood.as_deref() else {
            if dirt.is_none() && state.is_none() {
                return Ok(usual);
            }
            let asked: Vec<&str> = dirt
                .map(Contamination::word)
                .into_iter()
                .chain(state.map(WoodState::word))
                .collect();
            return Ok(Conditions {
                words: format!("{}, all of it {}", usual.words, asked.join(" and ")),
                blend: usual.blend.with(dirt, state),
            });
        };
        let (dirt, state) = (
            dirt.unwrap_or(Contamination::Clean),
            state.unwrap_or(WoodState::Green),
        );
        Ok(Conditions {
            words: format!("in {}, {} {wood}", dirt.word(), state.word()),
            blend: Blend::of(&WoodMix::parse(wood)?, dirt, state),
        })
    }
}
