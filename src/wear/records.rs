//! Edges as the fit sees them: hours by covariate row, covariates of life, what was seen. No dates,
//! no names, no files.

use super::{FEATURES, WearError};
use crate::lives::Rotor;
use crate::lives::{EdgeLife, Observation, RunLife, RunLives};
use crate::quantities::MeterHours;
use crate::wood::Covariates;

/// A stretch `(start, stop]` of one edge's life, in meter hours, with its conditions by share.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Hours of life when it began.
    pub start: f64,
    /// Hours of life when it ended.
    pub stop: f64,
    /// Share of the hours and covariate row of each part.
    pub parts: Vec<(f64, Vec<f64>)>,
}

/// What one edge is and went through.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EdgeRecord {
    /// Covariates `z` of log life; positive coefficients last longer.
    pub features: Vec<f64>,
    /// Stretches in order, without gaps, from zero.
    pub stretches: Vec<Stretch>,
    /// Touch-ups, in hours of life.
    pub touch_ups: Vec<f64>,
    /// Left truncation: hours of life at which it came into view, not yet dull.
    pub entry: Option<f64>,
    /// Which level of each grouping it belongs to, in the order of [`EdgeRecords::groupings`]; `None`
    /// where it belongs to none (new steel has no grinder).
    pub groups: Vec<Option<usize>>,
    /// How many times this very edge was seen; 1 for a real edge.
    pub weight: f64,
}

/// Something that edges share and that may make all of them last longer or shorter: the machine, the
/// knife set, who ground them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Grouping {
    /// What it is called.
    pub name: String,
    /// Its levels: the machines by name, say.
    pub levels: Vec<String>,
}

/// The records of a fit; the targets that go with them are [`Observation`]s.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EdgeRecords {
    /// Names of the covariates of life.
    pub feature_names: Vec<String>,
    /// Names of the covariates of the wear rate.
    pub rate_names: Vec<String>,
    /// What edges share.
    pub groupings: Vec<Grouping>,
    /// The edges.
    pub edges: Vec<EdgeRecord>,
}

impl linfa::dataset::Records for EdgeRecords {
    type Elem = f64;

    fn nsamples(&self) -> usize {
        self.edges.len()
    }

    fn nfeatures(&self) -> usize {
        self.feature_names.len() + self.rate_names.len()
    }
}

impl EdgeRecords {
    /// An empty set of records with the covariates of crews' logs.
    pub fn of_crew() -> Self {
        Self {
            feature_names: FEATURES.map(String::from).to_vec(),
            rate_names: Covariates::NAMES.map(String::from).to_vec(),
            groupings: Vec::new(),
            edges: Vec::new(),
        }
    }

    /// The records and observations of a crew's edge lives, in their order.
    pub fn from_lives(lives: &[EdgeLife]) -> (Self, Vec<Observation>) {
        let mut records = Self::of_crew();
        records.edges = lives.iter().map(EdgeRecord::from).collect();
        (
            records,
            lives.iter().map(|life| life.observation.clone()).collect(),
        )
    }

    /// The records and observations of edges whose runs stand in a table, in their order.
    pub fn from_run_lives(lives: &RunLives) -> (Self, Vec<Observation>) {
        let grouping = |(name, levels): &(String, Vec<String>)| Grouping {
            name: name.clone(),
            levels: levels.clone(),
        };
        let groupings: Vec<Grouping> = lives.group.iter().map(grouping).collect();
        let record = |life: &RunLife| EdgeRecord {
            groups: vec![life.level; groupings.len()],
            ..EdgeRecord::from(life)
        };
        let records = Self {
            feature_names: Vec::new(),
            rate_names: lives.covariate_names.clone(),
            edges: lives.lives.iter().map(record).collect(),
            groupings,
        };
        let observed = lives.lives.iter().map(|life| life.observation.clone());
        (records, observed.collect())
    }

    /// Checks that every row is as long as its names and holds only finite numbers.
    ///
    /// # Errors
    ///
    /// [`WearError::Shape`] with the number of the first edge that does not fit.
    pub fn check(&self) -> Result<(), WearError> {
        let fits = |edge: &EdgeRecord| {
            edge.features.len() == self.feature_names.len()
                && edge.features.iter().all(|z| z.is_finite())
                && edge.weight.is_finite()
                && edge.weight >= 0.0
                && edge.groups.len() == self.groupings.len()
                && edge
                    .groups
                    .iter()
                    .zip(&self.groupings)
                    .all(|(level, grouping)| level.is_none_or(|l| l < grouping.levels.len()))
                && edge
                    .stretches
                    .iter()
                    .all(|stretch| stretch.fits(self.rate_names.len()))
        };
        match self.edges.iter().position(|edge| !fits(edge)) {
            Some(edge) => Err(WearError::Shape { edge }),
            None => Ok(()),
        }
    }
}

impl Stretch {
    fn fits(&self, columns: usize) -> bool {
        self.start >= 0.0
            && self.stop >= self.start
            && self.stop.is_finite()
            && self.parts.iter().all(|(share, row)| {
                *share >= 0.0
                    && share.is_finite()
                    && row.len() == columns
                    && row.iter().all(|x| x.is_finite())
            })
    }
}

/// Covariates of life: 1 on a disc rotor, 1 once reground.
pub fn features_of(rotor: Rotor, reground: bool) -> [f64; FEATURES.len()] {
    [
        f64::from(u8::from(rotor == Rotor::Disc)),
        f64::from(u8::from(reground)),
    ]
}

impl From<&EdgeLife> for EdgeRecord {
    fn from(life: &EdgeLife) -> Self {
        let stretches = life
            .exposure
            .segments
            .iter()
            .map(|segment| Stretch {
                start: segment.start.get(),
                stop: segment.stop.get(),
                parts: segment
                    .blend
                    .parts()
                    .iter()
                    .map(|part| (part.share, part.covariates.row().to_vec()))
                    .collect(),
            })
            .collect();
        Self {
            features: features_of(life.features.rotor, life.features.regrinds > 0).to_vec(),
            stretches,
            touch_ups: life
                .exposure
                .touch_ups
                .iter()
                .map(|touch_up| touch_up.at.get())
                .collect(),
            entry: life.entry.map(MeterHours::get),
            groups: Vec::new(),
            weight: 1.0,
        }
    }
}

impl From<&RunLife> for EdgeRecord {
    fn from(life: &RunLife) -> Self {
        let stretches = life.stretches.iter().map(|stretch| Stretch {
            start: stretch.start.get(),
            stop: stretch.stop.get(),
            parts: vec![(1.0, stretch.covariates.clone())],
        });
        Self {
            stretches: stretches.collect(),
            weight: 1.0,
            ..Self::default()
        }
    }
}
