//! Woods by name, and how hard their green wood is.

/// Green side (Janka) hardness at which the wear rate is one, in pounds-force. Basis: common
/// practice; a round figure near the oaks and maples that "hardwood" rules of thumb are about
/// (USDA FPL-GTR-282, 2021, Table 5-3b: northern red oak 1000 lbf green).
pub const REFERENCE_HARDNESS: f64 = 1000.0;

/// One row of the species table.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// Binomial.
    pub scientific_name: String,
    /// Common English name.
    pub common_name: String,
}

/// The table of species, compiled in from `datasets/species.csv`.
#[derive(Debug)]
pub struct SpeciesTable;

/// A species or a class of wood, as far as wear is concerned.
#[derive(Debug, Clone, PartialEq)]
pub struct Wood {
    name: String,
    green_hardness: f64,
    palm: bool,
}

impl Wood {
    /// What people call it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// `ln(green side hardness / reference hardness)`.
    pub fn log_relative_hardness(&self) -> f64 {
        (self.green_hardness / REFERENCE_HARDNESS).ln()
    }

    /// Palm or bamboo: silica in the wood wears edges beyond what its hardness says.
    pub fn is_palm(&self) -> bool {
        self.palm
    }
}

/// Woods by share of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct WoodMix(Vec<(Wood, f64)>);

impl WoodMix {
    /// Each wood with its share; the shares add up to one.
    pub fn parts(&self) -> impl Iterator<Item = (&Wood, f64)> {
        self.0.iter().map(|(wood, share)| (wood, *share))
    }
}
