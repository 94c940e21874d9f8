//! A fitted model as text that can be kept, and taken up again to the last bit.
//!
//! `models/README.md` tells the format field by field.

mod draws;
mod error;
mod health;
mod parts;
mod text;

pub use error::SavedModelError;

use super::density::{LogPosterior, WearDensity};
use super::life_distribution::Family;
use super::nested::{Expansion, Nested};
use super::posterior::WearPosterior;
use super::records::{EdgeRecords, Grouping};
use draws::WrittenDraws;
use health::WrittenHealth;
use nalgebra::DVector;
use parts::{Information, Names, Settings, WrittenGrouping, WrittenPriors, sized};
use serde::{Deserialize, Serialize};

/// The format written here, and the latest that can be read.
const FORMAT: u64 = 2;

/// A fitted model, ready to be written down: everything that answers need, and nothing of the log but
/// the names of what its edges share.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SavedModel {
    keenspan_model: u64,
    made_by: String,
    family: Family,
    names: Names,
    priors: WrittenPriors,
    settings: Settings,
    groupings: Vec<WrittenGrouping>,
    fingerprint: String,
    edges: usize,
    mode: Vec<f64>,
    spreads: Vec<f64>,
    information: Information,
    pull: Vec<f64>,
    iterations: usize,
    draws: WrittenDraws,
    health: WrittenHealth,
}

impl WearPosterior {
    /// This fit as it can be kept. `fingerprint` tells what it was learned from:
    /// [`super::WearModel::fingerprint`].
    pub fn save(&self, fingerprint: &str) -> SavedModel {
        let density = self.density();
        let expansion = self.nested().expansion();
        SavedModel {
            keenspan_model: FORMAT,
            made_by: env!("CARGO_PKG_VERSION").to_string(),
            family: self.family(),
            names: Names {
                life: density.feature_names().to_vec(),
                wear: density.rate_names().to_vec(),
            },
            priors: WrittenPriors::of(density.priors()),
            settings: Settings::of(density.settings()),
            groupings: self.groupings().iter().map(WrittenGrouping::of).collect(),
            fingerprint: fingerprint.to_string(),
            edges: self.edges(),
            mode: expansion.mode.as_slice().to_vec(),
            spreads: expansion.spreads,
            information: Information::of(&expansion.information, density.effects()),
            pull: expansion.pull.as_slice().to_vec(),
            iterations: expansion.iterations,
            draws: WrittenDraws::of(self.sample(), density.free()),
            health: WrittenHealth::of(self.health()),
        }
    }
}

impl SavedModel {
    /// Tells what the model was learned from: edges, what was seen of them, priors, settings.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    /// Edges that it was learned from.
    pub fn edges(&self) -> usize {
        self.edges
    }

    /// The version of keenspan that made it.
    pub fn made_by(&self) -> &str {
        &self.made_by
    }

    /// The model as it was: it answers everything to the last bit as it did before it was saved. Its
    /// density holds priors alone, for the edges are not saved.
    ///
    /// # Errors
    ///
    /// [`SavedModelError`] where numbers are not finite or do not fit each other.
    pub fn restore(self) -> Result<WearPosterior, SavedModelError> {
        self.check_finite()?;
        let groupings: Vec<Grouping> = self
            .groupings
            .into_iter()
            .map(WrittenGrouping::restored)
            .collect();
        let records = EdgeRecords {
            feature_names: self.names.life,
            rate_names: self.names.wear,
            groupings: groupings.clone(),
            edges: Vec::new(),
        };
        let settings = self.settings.restored(self.family)?;
        let effects = self.information.effects(&groupings)?;
        let priors = self.priors.restored()?;
        let density = WearDensity::arranged(&records, &[], settings, priors, effects)?;
        let dimension = density.dimension();
        let spreads = sized("spreads", self.spreads, groupings.len())?;
        if let Some(&found) = spreads.iter().find(|spread| **spread <= 0.0) {
            return Err(SavedModelError::OutOfRange {
                field: "spreads",
                wanted: "above zero",
                found,
            });
        }
        let expansion = Expansion {
            information: self.information.restored(&density)?,
            pull: DVector::from_vec(sized("pull", self.pull, dimension)?),
            mode: DVector::from_vec(sized("mode", self.mode, dimension)?),
            spreads,
            iterations: self.iterations,
        };
        let nested = Nested::restored(&density, expansion);
        let sample = self.draws.restored(&density, self.health.restored())?;
        Ok(WearPosterior::new(
            density, groupings, self.edges, nested, sample,
        ))
    }

    fn check_finite(&self) -> Result<(), SavedModelError> {
        let finite = |list: &[f64]| list.iter().all(|x| x.is_finite());
        let fields = [
            ("mode", finite(&self.mode)),
            ("spreads", finite(&self.spreads)),
            ("information", self.information.is_finite()),
            ("pull", finite(&self.pull)),
            ("draws", self.draws.is_finite()),
            ("health", self.health.is_finite()),
        ];
        match fields.into_iter().find(|(_, finite)| !finite) {
            Some((field, _)) => Err(SavedModelError::NotFinite { field }),
            None => Ok(()),
        }
    }
}
