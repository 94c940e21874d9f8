//! Which wood the answer is for.

use crate::failure::Failure;
use crate::fitting::Conditions;
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};

/// Wood, dirt and state as they were asked for.
#[derive(Clone, Copy)]
pub struct WoodAsked<'a> {
    pub wood: Option<&'a str>,
    pub dirt: Option<&'a str>,
    pub state: Option<&'a str>,
}

impl WoodAsked<'_> {
    /// The machine's usual conditions, or those that --wood, --dirt and --state ask for; what is not asked
    /// for stays as it usually is, and a wood asked for is clean and green unless said otherwise.
    pub fn conditions(self, usual: Conditions) -> Result<Conditions, Failure> {
        let dirt = self.dirt.map(Contamination::parse).transpose()?;
        let state = self.state.map(WoodState::parse).transpose()?;
        let Some(wood) = self.wood else {
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
