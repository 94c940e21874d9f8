//! What tells the fit of one log from that of another.

use super::density::DensitySettings;
use super::prior::{Prior, Priors};
use super::records::{EdgeRecord, EdgeRecords, Stretch};
use crate::lives::{Look, Observation, Sight};
use sha2::{Digest, Sha256};

/// SHA-256, in hexadecimal, over everything that a fit depends on: edges, what was seen of them, settings, priors. Edges
/// are taken in the order of their bytes, and the levels of groupings by name, so that the order of rows in the files
/// does not count.
pub fn fingerprint(
    records: &EdgeRecords,
    observations: &[Observation],
    settings: &DensitySettings,
    priors: &Priors,
) -> String {
    let edges = records.edges.iter().zip(observations);
    let mut edges: Vec<Told> = edges
        .map(|(record, seen)| {
            let mut told = Told::default();
            told.edge(record, records);
            told.observation(seen);
            told
        })
        .collect();
    edges.sort_unstable();
    let mut heading = Told::default();
    heading.heading(records, settings, priors);
    let mut hash = Sha256::new();
    for told in std::iter::once(&heading).chain(&edges) {
        hash.update((told.0.len() as u64).to_le_bytes());
        hash.update(&told.0);
    }
    let digest = hash.finalize();
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Bytes that tell one thing from another. What may be of several kinds begins with a byte that says which, and what may
/// be of any length with its length.
#[derive(Default, PartialEq, Eq, PartialOrd, Ord)]
struct Told(Vec<u8>);

impl Told {
    fn kind(&mut self, kind: u8) {
        self.0.push(kind);
    }

    fn count(&mut self, count: usize) {
        self.0.extend((count as u64).to_le_bytes());
    }

    /// To forty binary places, twelve digits: sums of hours that differ in the last bit by the order of their terms are
    /// one.
    fn number(&mut self, x: f64) {
        const LEFT_OUT: u64 = 1 << 12;
        // Minus zero is zero.
        let nearest = (x + 0.0).to_bits().saturating_add(LEFT_OUT / 2);
        self.0.extend((nearest & !(LEFT_OUT - 1)).to_le_bytes());
    }

    fn text(&mut self, text: &str) {
        self.count(text.len());
        self.0.extend(text.as_bytes());
    }

    fn list<T>(&mut self, items: &[T], mut tell: impl FnMut(&mut Self, &T)) {
        self.count(items.len());
        items.iter().for_each(|item| tell(self, item));
    }

    fn numbers(&mut self, numbers: &[f64]) {
        self.list(numbers, |told, x| told.number(*x));
    }

    fn texts(&mut self, texts: &[String]) {
        self.list(texts, |told, text| told.text(text));
    }

    fn heading(&mut self, records: &EdgeRecords, settings: &DensitySettings, priors: &Priors) {
        self.text(&format!("{:?} {:?}", settings.family, settings.anchor));
        self.number(settings.called_at);
        self.number(settings.flat_error);
        self.number(settings.flat_exponent);
        self.texts(&records.feature_names);
        self.texts(&records.rate_names);
        self.list(&priors.shared, |told, prior| told.prior(*prior));
        self.list(&priors.spreads, |told, prior| told.number(prior.scale()));
        self.list(&records.groupings, |told, grouping| {
            let mut levels = grouping.levels.clone();
            levels.sort_unstable();
            told.text(&grouping.name);
            told.texts(&levels);
        });
    }

    fn prior(&mut self, prior: Prior) {
        match prior {
            Prior::Flat => self.kind(0),
            Prior::Normal(law) => {
                self.kind(1);
                self.number(law.mean());
                self.number(law.spread());
            }
            Prior::Held(value) => {
                self.kind(2);
                self.number(value);
            }
        }
    }

    fn edge(&mut self, record: &EdgeRecord, records: &EdgeRecords) {
        self.numbers(&record.features);
        for (level, of) in record.groups.iter().zip(&records.groupings) {
            match level.and_then(|level| of.levels.get(level)) {
                None => self.kind(0),
                Some(level) => {
                    self.kind(1);
                    self.text(level);
                }
            }
        }
        self.list(&record.stretches, Self::stretch);
        self.numbers(&record.touch_ups);
        match record.entry {
            None => self.kind(0),
            Some(entry) => {
                self.kind(1);
                self.number(entry);
            }
        }
        self.number(record.weight);
    }

    /// Its parts in the order of their bytes.
    fn stretch(&mut self, stretch: &Stretch) {
        let part = |(share, row): &(f64, Vec<f64>)| {
            let mut part = Self::default();
            part.number(*share);
            part.numbers(row);
            part
        };
        let mut parts: Vec<Self> = stretch.parts.iter().map(part).collect();
        parts.sort_unstable();
        self.number(stretch.start);
        self.number(stretch.stop);
        self.list(&parts, |told, part| told.0.extend(&part.0));
    }

    fn observation(&mut self, seen: &Observation) {
        match seen {
            Observation::Exact(at) => self.at(0, at.get()),
            Observation::RightCensored(at) => self.at(1, at.get()),
            Observation::LeftCensored(at) => self.at(2, at.get()),
            Observation::IntervalCensored { after, by } => {
                self.at(3, after.get());
                self.number(by.get());
            }
            Observation::Graded { looks, noticed } => {
                self.kind(4);
                self.list(looks, Self::look);
                match noticed {
                    None => self.kind(0),
                    Some(noticed) => self.at(if noticed.late { 2 } else { 1 }, noticed.at.get()),
                }
            }
        }
    }

    fn look(&mut self, look: &Look) {
        self.number(look.at.get());
        match look.sight {
            Sight::Graded(grade) => self.kind(grade as u8),
            Sight::NotCalled => self.kind(NOT_CALLED),
            Sight::Measured(flat) => self.at(MEASURED, flat.get()),
        }
    }

    fn at(&mut self, kind: u8, at: f64) {
        self.kind(kind);
        self.number(at);
    }
}

/// Kinds of looks beside the grades.
const NOT_CALLED: u8 = 100;
const MEASURED: u8 = 101;
