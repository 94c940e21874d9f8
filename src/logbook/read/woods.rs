//! What was chipped, as a cell says it.

use super::cells::Parsed;
use super::row::RowReader;
use crate::wood::{WoodError, WoodMix};
use std::collections::HashMap;
use std::sync::{PoisonError, RwLock};

/// The woods of a file. A crew writes the same few words in row after row: what they mean is looked up
/// once; twice where two threads meet them at once.
#[derive(Debug, Default)]
pub(super) struct Woods {
    known: RwLock<HashMap<String, Parsed<Option<WoodMix>>>>,
}

impl Woods {
    /// What was chipped; `None` where blank or whatever came.
    pub(super) fn of(&self, row: &mut RowReader<'_>) -> Option<WoodMix> {
        row.optional("wood", |text| self.read(text)).flatten()
    }

    fn read(&self, text: &str) -> Parsed<Option<WoodMix>> {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = known.get(text) {
            return known.clone();
        }
        drop(known);
        let wood = meant(text);
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        known.insert(text.to_owned(), wood.clone());
        wood
    }
}

/// The wood that these words name; `None` for those that name none.
fn meant(text: &str) -> Parsed<Option<WoodMix>> {
    if is_whatever_came(text) {
        return Ok(None);
    }
    let mix = WoodMix::parse(text).map_err(|error| wanted_wood(&error));
    mix.map(Some)
}

/// Words that name no wood: they count as the usual mix, as a blank cell does. Basis: common usage.
fn is_whatever_came(text: &str) -> bool {
    const WORDS: [&str; 8] = [
        "mixed",
        "mix",
        "brush",
        "green waste",
        "greenwaste",
        "hedge",
        "various",
        "mixed brush",
    ];
    WORDS
        .iter()
        .any(|word| word.eq_ignore_ascii_case(text.trim()))
}

fn wanted_wood(error: &WoodError) -> String {
    if let Some(instead) = error.instead() {
        return instead;
    }
    match error {
        WoodError::UnknownWood { found, suggestions } if !suggestions.is_empty() => format!(
            "{} for \"{found}\", if that is meant, or hardwood or softwood; blank or mixed counts as the usual mix",
            suggestions.join(" or ")
        ),
        WoodError::UnknownWood { found, .. } => format!(
            "hardwood, softwood, palm or a species for \"{found}\"; blank or mixed counts as the usual mix"
        ),
        WoodError::ShareMissing { wood } => {
            format!("a share for \"{wood}\", too, or no shares at all, such as oak 60%, spruce 40%")
        }
        WoodError::SharesDoNotAddUp { total } => {
            format!("shares that add up to 100 %, such as oak 60%, spruce 40%: these make {total}")
        }
        _ => "each wood with its share, such as oak 60%, spruce 40%".into(),
    }
}
