//! From a word that somebody wrote to a wood.

use super::names;
use super::table::{Species, SpeciesTable};
use crate::wood::{HardnessBasis, REFERENCE_HARDNESS, Wood, WoodError};

/// Trade words that the table's own names do not end in, and what they stand for there.
/// Basis: common usage.
const OTHER_WORDS: [(&str, &str); 10] = [
    ("lime", "tilia"),
    ("limetree", "tilia"),
    ("linden", "tilia"),
    ("basswood", "tilia"),
    ("eucalypt", "eucalyptus"),
    ("tulippoplar", "yellowpoplar"),
    ("tuliptree", "yellowpoplar"),
    ("conifer", "softwood"),
    ("mixedhardwood", "hardwood"),
    ("mixedsoftwood", "softwood"),
];

/// Words for woods that are no species.
const CLASSES: [&str; 4] = ["hardwood", "softwood", "palm", "bamboo"];

/// Alike enough to be worth suggesting, on the Jaro-Winkler scale where 1 is the same word.
/// Basis: judgement; "spruse" to "spruce" is 0.93, "banana" to any wood below 0.75.
const ALIKE: f64 = 0.78;

impl SpeciesTable {
    /// Looks up what somebody wrote: a common or scientific name, a trade word, or a class.
    ///
    /// A trade word such as "oak" or "red oak" stands for the mean hardness over the table's species
    /// whose common name ends in it, or whose genus it is ("Quercus"), less those that only borrow the
    /// name ("silky oak"). "hardwood" is the reference
    /// hardness; "softwood" the median of the table's softwoods; "palm" and "bamboo" the reference
    /// hardness with the palm effect. A plural is taken for its singular.
    ///
    /// # Errors
    ///
    /// [`WoodError::UnknownWood`] with up to three names that look like it.
    pub fn wood(&self, written: &str) -> Result<Wood, WoodError> {
        let written = written.trim();
        let key = names::key(written);
        [key.as_str(), key.trim_end_matches('s')]
            .into_iter()
            .filter(|key| !key.is_empty())
            .find_map(|key| self.by_key(key, written))
            .ok_or_else(|| self.unknown(written, &key))
    }

    fn by_key(&self, key: &str, written: &str) -> Option<Wood> {
        let key = OTHER_WORDS
            .iter()
            .find(|(word, _)| *word == key)
            .map_or(key, |(_, meant)| meant);
        self.class(key, written)
            .or_else(|| self.named(key).map(|species| one(species, written)))
            .or_else(|| average(&self.of_that_kind(key), written))
    }

    fn class(&self, key: &str, written: &str) -> Option<Wood> {
        let reference =
            |palm| Wood::new(written, REFERENCE_HARDNESS, palm, HardnessBasis::Reference);
        match key {
            "hardwood" => Some(reference(false)),
            "palm" | "bamboo" => Some(reference(true)),
            "softwood" => Some(Wood::new(
                written,
                self.median_softwood(),
                false,
                HardnessBasis::SeveralSpecies,
            )),
            _ => None,
        }
    }

    fn median_softwood(&self) -> f64 {
        let mut hardness: Vec<f64> = self
            .rows()
            .iter()
            .filter(|species| species.softwood)
            .map(|species| species.green_hardness)
            .collect();
        hardness.sort_by(f64::total_cmp);
        let middle = |index: usize| hardness.get(index).copied().unwrap_or(REFERENCE_HARDNESS);
        0.5 * (middle(hardness.len() / 2) + middle(hardness.len().saturating_sub(1) / 2))
    }

    fn unknown(&self, written: &str, key: &str) -> WoodError {
        WoodError::UnknownWood {
            found: written.to_owned(),
            suggestions: self.suggestions(key),
        }
    }

    fn suggestions(&self, key: &str) -> Vec<String> {
        let mut alike: Vec<(f64, String)> = self
            .words()
            .chain(CLASSES.map(str::to_owned))
            .map(|word| (strsim::jaro_winkler(key, &names::key(&word)), word))
            .filter(|(likeness, _)| *likeness >= ALIKE)
            .collect();
        alike.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
        alike.dedup_by(|a, b| a.1 == b.1);
        alike.into_iter().map(|(_, word)| word).take(3).collect()
    }
}

fn one(species: &Species, written: &str) -> Wood {
    Wood::new(written, species.green_hardness, species.palm, species.basis)
}

fn average(kind: &[&Species], written: &str) -> Option<Wood> {
    let total: f64 = kind.iter().map(|species| species.green_hardness).sum();
    let palm = kind.iter().all(|species| species.palm);
    (!kind.is_empty()).then(|| {
        Wood::new(
            written,
            total / kind.len() as f64,
            palm,
            HardnessBasis::SeveralSpecies,
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wood(written: &str) -> Result<Wood, WoodError> {
        SpeciesTable::compiled_in().wood(written)
    }

    fn hardness(written: &str) -> f64 {
        wood(written).map_or(f64::NAN, |wood| wood.green_hardness())
    }

    #[test]
    fn a_species_answers_to_its_common_and_its_scientific_name() {
        // FPL-GTR-282 Table 5-3b: white oak 1060 lbf green, Douglas-fir (coast) 500 lbf.
        for written in ["white oak", "White-Oak", "QUERCUS ALBA", " whiteoak "] {
            assert_eq!(hardness(written), 1060.0, "{written}");
        }
        assert_eq!(hardness("douglas fir"), 500.0);
    }

    #[test]
    fn a_trade_word_is_the_mean_over_its_species() {
        // By hand: black 520, green 870, Oregon 790, white 960 lbf (Table 5-3b) and European ash
        // 3917 x 0.558^2.37 = 982.85 from its specific gravity.
        let european = 3917.0 * 0.558_f64.powf(2.37);
        let by_hand = (520.0 + 870.0 + 790.0 + 960.0 + european) / 5.0;
        assert!((hardness("ash") - by_hand).abs() < 1e-9);
    }

    #[test]
    fn a_wood_that_only_borrows_the_name_does_not_count() {
        let oaks = SpeciesTable::compiled_in().of_that_kind("oak");
        assert!(oaks.len() > 10);
        assert!(
            oaks.iter()
                .all(|species| species.scientific_name.starts_with("Quercus"))
        );
    }

    #[test]
    fn short_words_of_the_trade_are_known() {
        let words = "oak ash willow spruce maple pine birch beech elm fir cherry poplar aspen \
                     cottonwood hickory walnut cypress larch hemlock locust alder hornbeam lime \
                     sycamore eucalyptus gum palm bamboo hardwood softwood oaks cedar chestnut \
                     basswood magnolia dogwood holly pecan hackberry mulberry yew olive";
        for word in words.split_whitespace() {
            assert!(hardness(word) > 100.0, "{word}");
        }
    }

    #[test]
    fn an_unknown_wood_comes_with_the_nearest_names() {
        let Err(WoodError::UnknownWood { suggestions, .. }) = wood("spruse") else {
            panic!("spruse is no wood");
        };
        assert!(suggestions.len() <= 3);
        assert_eq!(suggestions.first().map(String::as_str), Some("spruce"));
        assert!(wood("").is_err());
        assert!(wood("s").is_err());
    }

    #[test]
    fn the_classes_stand_where_they_are_said_to() {
        assert_eq!(hardness("hardwood"), REFERENCE_HARDNESS);
        assert!((300.0..500.0).contains(&hardness("softwood")));
        assert!(wood("date palm").is_ok_and(|palm| palm.is_palm()));
        assert!(wood("bamboo").is_ok_and(|bamboo| bamboo.is_palm()));
    }
}
