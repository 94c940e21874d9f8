//! Words that crews write for wood and that say something else: its state, its dirt, its shape. What to write
//! instead.

use super::{Contamination, SpeciesTable, WoodState};

/// Shapes, which say nothing of the wood. Basis: common usage.
const SHAPES: [&str; 26] = [
    "branch",
    "branches",
    "brush",
    "chips",
    "clippings",
    "crown",
    "crowns",
    "debris",
    "hedge",
    "hedges",
    "limb",
    "limbs",
    "log",
    "logs",
    "prunings",
    "scrub",
    "slash",
    "stem",
    "stems",
    "tops",
    "tree",
    "trees",
    "trimmings",
    "trunk",
    "trunks",
    "twigs",
];
/// Words that say about how much, where a share is wanted.
const ABOUT: [&str; 6] = ["mainly", "mostly", "partly", "some", "w", "with"];

/// What the words of one entry say.
#[derive(Debug, Default)]
struct Said<'t> {
    state: Option<WoodState>,
    dirt: Option<Contamination>,
    shape: bool,
    about: bool,
    rest: Vec<&'t str>,
}

impl<'t> Said<'t> {
    fn of(written: &'t str) -> Self {
        let words: Vec<&str> = written.split_whitespace().collect();
        let mut said = Self::default();
        let mut from = 0;
        while let Some(word) = words.get(from) {
            let pair = words.get(from + 1).map(|next| format!("{word} {next}"));
            from += 1;
            let dirt = pair.as_deref().map(Contamination::parse);
            if let Some(Ok(dirt)) = dirt {
                said.dirt = Some(dirt);
                from += 1;
            } else {
                said.take(word);
            }
        }
        said
    }

    fn take(&mut self, word: &'t str) {
        let plain = word.to_lowercase();
        if let Ok(state) = WoodState::parse(&plain) {
            self.state = Some(state);
        } else if let Ok(dirt) = Contamination::parse(&plain) {
            self.dirt = Some(dirt);
        } else if SHAPES.contains(&plain.as_str()) {
            self.shape = true;
        } else if ABOUT.contains(&plain.trim_end_matches('/')) {
            self.about = true;
        } else {
            self.rest.push(word);
        }
    }
}

/// What would be right for something that is no wood; `None` where no word of it is known. It goes on from
/// "write".
pub(super) fn instead(written: &str) -> Option<String> {
    let said = Said::of(written);
    let rest = said.rest.join(" ");
    let is_wood = !rest.is_empty() && SpeciesTable::compiled_in().wood(&rest).is_ok();
    if !is_wood && !rest.is_empty() {
        return None;
    }
    let dirt = said.dirt.map(|dirt| format!("{} as dirt", dirt.word()));
    let state = said.state.map(|state| format!("{} as state", state.word()));
    let elsewhere: Vec<String> = dirt.into_iter().chain(state).collect();
    let species = "the species, hardwood or softwood";
    match (is_wood, elsewhere.is_empty()) {
        (true, false) => Some(format!("{rest} as wood and {}", elsewhere.join(" and "))),
        (true, true) if said.about => Some(format!(
            "{rest}, or shares, such as {rest} 70%, hardwood 30%"
        )),
        (true, true) => said.shape.then(|| format!("{rest} as wood")),
        (false, false) => Some(format!(
            "{}, and as wood {species}, or nothing for the usual mix",
            elsewhere.join(" and ")
        )),
        (false, true) => said.shape.then(|| {
            format!(
                "{species} for \"{}\", which says the shape and not the wood; or leave it out",
                written.trim()
            )
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_says_something_else_is_told_where_it_belongs() {
        for (written, right) in [
            ("dead ash", "ash as wood and dry as state"),
            ("Dry red oak", "red oak as wood and dry as state"),
            ("dead elm limbs", "elm as wood and dry as state"),
            ("ash stumps", "ash as wood and gritty as dirt"),
            ("pine brush", "pine as wood"),
            (
                "mostly pine",
                "pine, or shares, such as pine 70%, hardwood 30%",
            ),
        ] {
            assert_eq!(instead(written).as_deref(), Some(right), "{written}");
        }
        let stumps = instead("stumps").unwrap_or_default();
        assert!(
            stumps.starts_with("gritty as dirt, and as wood the species"),
            "{stumps}"
        );
        assert!(instead("root balls").is_some_and(|it| it.starts_with("gritty as dirt")));
        for shape in ["brush", "limbs", "Branches"] {
            let told = instead(shape).unwrap_or_default();
            assert!(
                told.starts_with("the species, hardwood or softwood"),
                "{told}"
            );
            assert!(told.contains(shape), "{told}");
        }
        for other in ["spruse", "wilow", "lunch", "", "dead spruse"] {
            assert_eq!(instead(other), None, "{other}");
        }
    }
}
