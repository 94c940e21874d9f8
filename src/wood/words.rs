//! Words for dirt and for the state of the wood, as crews write them.

use super::{Contamination, WoodError, WoodState};
use std::borrow::Cow;

impl Contamination {
    /// Reads the class, or a word that can mean no other one; case does not count.
    ///
    /// # Errors
    ///
    /// [`WoodError::UnknownContamination`].
    pub fn parse(written: &str) -> Result<Self, WoodError> {
        match folded(written).as_ref() {
            "clean" | "off the ground" => Ok(Self::Clean),
            "dusty" | "dust" | "bark" | "mud splash" | "light grit" => Ok(Self::Dusty),
            "dirty" | "dirt" | "soil" | "soiled" | "muddy" | "mud" | "dragged" => Ok(Self::Dirty),
            "gritty" | "grit" | "sandy" | "sand" | "stumps" | "stump" | "roots" | "root balls"
            | "root ball" | "storm debris" | "flood debris" => Ok(Self::Gritty),
            _ => Err(WoodError::UnknownContamination {
                found: written.trim().to_owned(),
            }),
        }
    }
}

impl WoodState {
    /// Reads the state, or a word that can mean no other one; case does not count.
    ///
    /// # Errors
    ///
    /// [`WoodError::UnknownState`].
    pub fn parse(written: &str) -> Result<Self, WoodError> {
        match folded(written).as_ref() {
            "green" | "fresh" | "live" => Ok(Self::Green),
            "dry" | "dead" | "seasoned" | "dried" | "standing dead" => Ok(Self::Dry),
            "frozen" | "frozen through" => Ok(Self::Frozen),
            _ => Err(WoodError::UnknownState {
                found: written.trim().to_owned(),
            }),
        }
    }
}

/// In small letters, the words parted by one blank each.
fn folded(written: &str) -> Cow<'_, str> {
    // As nearly all of a log's rows have it: one word in small letters.
    if written.bytes().all(|byte| byte.is_ascii_lowercase()) {
        return Cow::Borrowed(written);
    }
    let mut folded = String::with_capacity(written.len());
    let is_gap = |letter: char| letter.is_whitespace() || matches!(letter, '-' | '_');
    for word in written.split(is_gap).filter(|word| !word.is_empty()) {
        if !folded.is_empty() {
            folded.push(' ');
        }
        folded.extend(word.chars().flat_map(char::to_lowercase));
    }
    Cow::Owned(folded)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_answers_to_its_own_word() {
        for class in Contamination::ALL {
            assert_eq!(Contamination::parse(class.word()), Ok(class));
        }
        for state in WoodState::ALL {
            assert_eq!(WoodState::parse(&state.word().to_uppercase()), Ok(state));
        }
    }

    #[test]
    fn plain_words_for_the_same_thing_are_understood() {
        assert_eq!(
            Contamination::parse("Root-balls"),
            Ok(Contamination::Gritty)
        );
        assert_eq!(
            Contamination::parse(" Off_the  ground-"),
            Ok(Contamination::Clean)
        );
        assert_eq!(WoodState::parse("dead"), Ok(WoodState::Dry));
        assert!(WoodState::parse("wet").is_err());
    }
}
