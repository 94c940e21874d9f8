//! Edges as the fit sees them: hours by covariate row, covariates of life, what was seen. No dates,
//! no names, no files.

use super::{FEATURES, WearError};
use crate::lives::{EdgeLife, Lives, Observation, Rotor, RunLife, RunLives};
use crate::quantities::MeterHours;
use crate::wood::Covariates;
use std::collections::BTreeMap;

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

impl Grouping {
    /// The number of the level of this name, without regard to case and blanks.
    pub(super) fn level(&self, name: &str) -> Option<usize> {
        let levels = || self.levels.iter();
        // Nearly all are asked for as they are written; a key for each of a fleet's names takes a hundred times as long.
        levels().position(|level| level == name).or_else(|| {
            let wanted = key(name);
            levels().position(|level| key(level) == wanted)
        })
    }
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

    /// The records and observations of the edges of a crew's log, in their order. The crew's own
    /// conditions stand behind the covariates that every log has.
    pub fn from_lives(lives: &Lives) -> (Self, Vec<Observation>) {
        Self::from_edges(&lives.lives, &lives.conditions)
    }

    /// The same for edges without a log, in whose covariate rows these conditions of the crew's own
    /// stand. Rows that are shorter get zeros; longer ones are refused by [`EdgeRecords::check`].
    pub fn from_edges(edges: &[EdgeLife], conditions: &[String]) -> (Self, Vec<Observation>) {
        let mut records = Self::of_crew();
        records.rate_names.extend_from_slice(conditions);
        let columns = records.rate_names.len();
        records.edges = edges.iter().map(|life| record(life, columns)).collect();
        for sharing in GROUPINGS {
            let (grouping, levels) = sharing.among(edges);
            records.groupings.push(grouping);
            for (record, level) in records.edges.iter_mut().zip(levels) {
                record.groups.push(level);
            }
        }
        let seen = edges.iter().map(|life| life.observation.clone());
        (records, seen.collect())
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

fn record(life: &EdgeLife, columns: usize) -> EdgeRecord {
    let segments = life.exposure.segments.iter();
    let stretches = segments.map(|segment| Stretch {
        start: segment.start.get(),
        stop: segment.stop.get(),
        parts: segment
            .blend
            .parts()
            .iter()
            .map(|part| (part.share, as_wide_as(&part.covariates, columns)))
            .collect(),
    });
    let touch_ups = life.exposure.touch_ups.iter();
    EdgeRecord {
        features: features_of(life.features.rotor, life.features.regrinds > 0).to_vec(),
        stretches: stretches.collect(),
        touch_ups: touch_ups.map(|touch_up| touch_up.at.get()).collect(),
        entry: life.entry.map(MeterHours::get),
        groups: Vec::new(),
        weight: 1.0,
    }
}

/// Zeros behind a short row; a long one stays, for [`EdgeRecords::check`] to find.
fn as_wide_as(covariates: &Covariates, columns: usize) -> Vec<f64> {
    let length = columns.max(covariates.row().len());
    covariates.padded(length).collect()
}

/// What edges share, and how an edge tells which one is its own; `None` where it has none.
struct Sharing {
    name: &'static str,
    of: fn(&EdgeLife) -> Option<&str>,
}

/// New steel has no grinder, whoever is written down, and a blank names nobody.
const GROUPINGS: [Sharing; 3] = [
    Sharing {
        name: "machine",
        of: |life| Some(&life.machine),
    },
    Sharing {
        name: "set",
        of: |life| Some(&life.set),
    },
    Sharing {
        name: "grinder",
        of: |life| {
            let ground_by = life.features.ground_by.trim();
            (life.features.regrinds > 0 && !ground_by.is_empty()).then_some(ground_by)
        },
    },
];

impl Sharing {
    /// The levels found, in order of name, so that the order of the edges does not count, and which is each
    /// edge's own. Names that differ in case or blanks only are one level, called by the spelling that sorts
    /// first.
    fn among(&self, edges: &[EdgeLife]) -> (Grouping, Vec<Option<usize>>) {
        let keys: Vec<Option<String>> = edges.iter().map(|life| (self.of)(life).map(key)).collect();
        let mut spellings: BTreeMap<&str, &str> = BTreeMap::new();
        for (written, key) in edges.iter().filter_map(self.of).zip(keys.iter().flatten()) {
            let spelling = spellings.entry(key).or_insert(written);
            *spelling = written.min(spelling);
        }
        let places: BTreeMap<&str, usize> = spellings.keys().copied().zip(0..).collect();
        let own = |key: &Option<String>| places.get(key.as_deref()?).copied();
        let grouping = Grouping {
            name: self.name.to_owned(),
            levels: spellings.values().copied().map(str::to_owned).collect(),
        };
        (grouping, keys.iter().map(own).collect())
    }
}

/// A name without regard to case and blanks.
pub(super) fn key(name: &str) -> String {
    let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lives::{EdgeFeatures, Ending, Exposure, Segment};
    use crate::wood::Blend;
    use std::sync::Arc;

    fn hours(value: f64) -> MeterHours {
        MeterHours::new(value).expect("test hours")
    }

    fn life(machine: &str, set: &str, regrinds: u32, ground_by: &str, blend: Blend) -> EdgeLife {
        EdgeLife {
            machine: machine.to_owned(),
            set: set.to_owned(),
            edge: 1,
            features: EdgeFeatures {
                rotor: Rotor::Drum,
                regrinds,
                ground_by: ground_by.to_owned(),
            },
            exposure: Exposure {
                segments: vec![Segment {
                    start: hours(0.0),
                    stop: hours(4.0),
                    blend: Arc::new(blend),
                }],
                touch_ups: Vec::new(),
            },
            observation: Observation::Graded {
                looks: Vec::new(),
                noticed: None,
            },
            entry: None,
            ending: Ending::Running,
            came_out: None,
        }
    }

    fn plain(machine: &str, set: &str, regrinds: u32, ground_by: &str) -> EdgeLife {
        life(machine, set, regrinds, ground_by, Blend::reference())
    }

    #[test]
    fn edges_share_machine_set_and_grinder_whatever_their_order() {
        let mut edges = vec![
            plain("Wren", "B", 1, "the mill"),
            plain("Otter", "A", 0, "Ada"),
            plain("Otter", "B", 2, " The  Mill"),
            plain("Otter", "C", 1, ""),
            plain("Otter", "C", 1, "Ada"),
        ];
        let (records, _) = EdgeRecords::from_edges(&edges, &[]);
        let names: Vec<&str> = records
            .groupings
            .iter()
            .map(|it| it.name.as_str())
            .collect();
        assert_eq!(names, ["machine", "set", "grinder"]);
        assert_eq!(records.groupings[0].levels, ["Otter", "Wren"]);
        assert_eq!(records.groupings[1].levels, ["A", "B", "C"]);
        assert_eq!(records.groupings[2].levels, ["Ada", "The  Mill"]);
        let groups: Vec<_> = records.edges.iter().map(|it| it.groups.clone()).collect();
        let wanted = [
            [Some(1), Some(1), Some(1)],
            [Some(0), Some(0), None],
            [Some(0), Some(1), Some(1)],
            [Some(0), Some(2), None],
            [Some(0), Some(2), Some(0)],
        ];
        assert_eq!(groups, wanted);
        records.check().expect("sound records");
        edges.reverse();
        let (reversed, _) = EdgeRecords::from_edges(&edges, &[]);
        assert_eq!(reversed.groupings, records.groupings);
        assert_eq!(reversed.edges[0].groups, wanted[4]);
    }

    #[test]
    fn groupings_stand_there_without_levels_to_fill_them() {
        let (records, _) = EdgeRecords::from_edges(&[plain("Otter", "A", 0, "")], &[]);
        assert_eq!(records.groupings[0].levels.len(), 1);
        assert!(records.groupings[2].levels.is_empty());
        assert_eq!(records.edges[0].groups, [Some(0), Some(0), None]);
    }

    #[test]
    fn rows_are_as_wide_as_their_names_and_none_is_cut_short() {
        let vines = Blend::reference().with_own_conditions(&[true]);
        let edges = [plain("Otter", "A", 0, ""), life("Otter", "A", 0, "", vines)];
        let (records, _) = EdgeRecords::from_edges(&edges, &["vines".to_owned()]);
        assert_eq!(records.rate_names[Covariates::COUNT..], ["vines"]);
        records.check().expect("rows as wide as their names");
        let own = |edge: usize| records.edges[edge].stretches[0].parts[0].1[Covariates::COUNT];
        assert_eq!((own(0), own(1)), (0.0, 1.0));
        let (unnamed, _) = EdgeRecords::from_edges(&edges, &[]);
        assert!(matches!(unnamed.check(), Err(WearError::Shape { edge: 1 })));
    }
}
