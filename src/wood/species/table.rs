//! The rows of the species table.

use super::names;
use crate::wood::HardnessBasis;
use crate::wood::hardness::{Figures, Kind, green_hardness};
use serde::Deserialize;
use std::collections::HashMap;
use std::sync::LazyLock;

/// One row of the species table.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// Binomial.
    pub scientific_name: String,
    /// Common English name.
    pub common_name: String,
    /// Side (Janka) hardness of green wood, in pounds-force.
    pub green_hardness: f64,
    /// Where that figure comes from.
    pub basis: HardnessBasis,
    /// Palm or bamboo.
    pub palm: bool,
    /// A conifer.
    pub softwood: bool,
}

/// The table of species, compiled in from `datasets/species.csv`.
#[derive(Debug)]
pub struct SpeciesTable {
    rows: Vec<Species>,
    /// Places of the rows by the key of each of their names; a long log asks for the same few names
    /// many thousand times.
    by_name: HashMap<String, usize>,
    /// Places of the rows that each trade word and genus stands for, rising, by its key.
    by_kind: HashMap<String, Vec<usize>>,
}

/// One row as the file has it.
#[derive(Debug, Deserialize)]
struct FileRow {
    scientific_name: String,
    common_name: String,
    group: String,
    green_specific_gravity: f64,
    side_hardness_green_lbf: Option<f64>,
    side_hardness_12pct_lbf: Option<f64>,
}

static TABLE: LazyLock<SpeciesTable> =
    LazyLock::new(|| SpeciesTable::from_csv(include_str!("../../../datasets/species.csv")));

impl SpeciesTable {
    /// The table that is compiled in.
    pub fn compiled_in() -> &'static SpeciesTable {
        &TABLE
    }

    /// Every species.
    pub fn rows(&self) -> &[Species] {
        &self.rows
    }

    /// Rows that cannot be read are left out; a test holds the compiled-in file to having none.
    fn from_csv(text: &str) -> Self {
        let mut table = Self {
            rows: Vec::new(),
            by_name: HashMap::new(),
            by_kind: HashMap::new(),
        };
        csv::Reader::from_reader(text.as_bytes())
            .into_deserialize()
            .filter_map(Result::ok)
            .filter_map(species)
            .for_each(|species| table.add(species));
        table.drop_borrowers();
        table
    }

    fn add(&mut self, species: Species) {
        let place = self.rows.len();
        let names = names::common_names(&species.common_name);
        for name in names
            .iter()
            .chain([&species.common_name, &species.scientific_name])
        {
            self.by_name.entry(names::key(name)).or_insert(place);
        }
        let kinds = names.iter().flat_map(|name| names::kinds(name));
        let genus = names::genus(&species.scientific_name);
        for kind in kinds.chain([genus]) {
            let places = self.by_kind.entry(names::key(&kind)).or_default();
            // A wood may be of a kind by two of its names.
            if places.last() != Some(&place) {
                places.push(place);
            }
        }
        self.rows.push(species);
    }

    /// Where one genus holds more than half of a kind the others only borrow the name: silky oak is no oak.
    fn drop_borrowers(&mut self) {
        let genera: Vec<String> = self
            .rows
            .iter()
            .map(|species| names::genus(&species.scientific_name))
            .collect();
        let genus = |place: &usize| genera.get(*place);
        for places in self.by_kind.values_mut() {
            let is_most = |wanted: &&usize| {
                let same = places.iter().filter(|place| genus(place) == genus(wanted));
                2 * same.count() > places.len()
            };
            if let Some(own) = places.iter().find(is_most).and_then(genus) {
                places.retain(|place| genus(place) == Some(own));
            }
        }
    }

    /// Species whose common name ends in this word or words, or whose genus it is, less those that only
    /// borrow the name.
    pub(super) fn of_that_kind(&self, key: &str) -> Vec<&Species> {
        let places = self.by_kind.get(key).into_iter().flatten();
        places.filter_map(|at| self.rows.get(*at)).collect()
    }

    /// The species of exactly this name, common or scientific.
    pub(super) fn named(&self, key: &str) -> Option<&Species> {
        self.by_name.get(key).and_then(|at| self.rows.get(*at))
    }

    /// Every common name and trade word, some more than once. Looked up only where a wood is unknown.
    pub(super) fn words(&self) -> impl Iterator<Item = String> {
        let names = self.rows.iter();
        let names = names.flat_map(|species| names::common_names(&species.common_name));
        names.flat_map(|name| names::kinds(&name).into_iter().chain([name]))
    }
}

fn species(row: FileRow) -> Option<Species> {
    let kind = match row.group.as_str() {
        "hardwood" => Kind::Hardwood,
        "softwood" => Kind::Softwood,
        "monocot" => Kind::Monocot,
        _ => return None,
    };
    let (hardness, basis) = green_hardness(&Figures {
        kind,
        green_specific_gravity: row.green_specific_gravity,
        green: row.side_hardness_green_lbf,
        twelve_percent: row.side_hardness_12pct_lbf,
    });
    Some(Species {
        scientific_name: row.scientific_name,
        common_name: row.common_name,
        green_hardness: hardness,
        basis,
        palm: kind == Kind::Monocot,
        softwood: kind == Kind::Softwood,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_file_is_in_the_table() {
        let lines = include_str!("../../../datasets/species.csv")
            .lines()
            .count();
        assert_eq!(SpeciesTable::compiled_in().rows().len(), lines - 1);
    }

    #[test]
    fn no_species_wears_edges_implausibly() {
        // The published green figures run from 230 lbf (northern white-cedar) to 1670 lbf
        // (shellbark hickory), FPL-GTR-282 Table 5-3b; ironbarks and olive lie above, by estimate.
        for species in SpeciesTable::compiled_in().rows() {
            assert!(
                (150.0..=2700.0).contains(&species.green_hardness),
                "{species:?}"
            );
        }
    }
}
