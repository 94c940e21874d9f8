//! What can be wrong with the wood that somebody wrote down.

use super::other_words;

/// Words about wood that could not be understood.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WoodError {
    /// Neither a species of the table nor a class of wood.
    #[error("no wood called \"{found}\" in the species table{}", nearest(.found, .suggestions))]
    UnknownWood {
        /// As written.
        found: String,
        /// Up to three names that look like it, nearest first; empty where none does.
        suggestions: Vec<String>,
    },
    /// A share without a wood, or nothing at all.
    #[error("a share without its wood in \"{found}\"")]
    NoWood {
        /// As written.
        found: String,
    },
    /// Some woods have a share and this one has none.
    #[error("\"{wood}\" has no share while others have one")]
    ShareMissing {
        /// The wood without a share.
        wood: String,
    },
    /// Shares that cannot be: zero, or adding up to something other than the whole.
    #[error("the shares add up to {total}, not to 100 %")]
    SharesDoNotAddUp {
        /// What they add up to, as written.
        total: f64,
    },
    /// No contamination class of that name.
    #[error("no dirt called \"{found}\"; write clean, dusty, dirty or gritty")]
    UnknownContamination {
        /// As written.
        found: String,
    },
    /// No wood state of that name.
    #[error("no state of wood called \"{found}\"; write green, dry or frozen")]
    UnknownState {
        /// As written.
        found: String,
    },
}

impl WoodError {
    /// What to write instead, where the word says something else than the wood, such as "dead" or "stumps"; it goes
    /// on from "write".
    pub fn instead(&self) -> Option<String> {
        match self {
            Self::UnknownWood { found, .. } => other_words::instead(found),
            _ => None,
        }
    }
}

fn nearest(found: &str, suggestions: &[String]) -> String {
    if let Some(instead) = other_words::instead(found) {
        format!("; write {instead}")
    } else if suggestions.is_empty() {
        "; write hardwood, softwood, palm or a species, such as oak".to_string()
    } else {
        format!(
            "; nearest: {}; hardwood, softwood and palm will do, too",
            suggestions.join(", ")
        )
    }
}
