//! Some rows of a life table, sorted by what is known of them.

use super::super::life_table::{Censoring, Lifetime};
use crate::numerics::lanes::{ln_1p_each, ln_each};
use std::ops::Range;

/// Rows of a life table as they come, column by column, all equally long.
#[derive(Debug, Clone, Copy)]
pub struct LifeRows<'a> {
    /// Known not to have ended by then; 0 where nothing is known.
    pub lower: &'a [f64],
    /// Known to have ended by then; infinite where never seen to end.
    pub upper: &'a [f64],
    /// How many such lives; one each where there is no such column.
    pub weight: Option<&'a [f64]>,
    /// Age at which each came into view; from new where there is no such column.
    pub entry: Option<&'a [f64]>,
    /// Covariates, one column each.
    pub covariates: &'a [Vec<f64>],
}

/// What is known of the rows of a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Ended at `start`.
    Exact,
    /// Not ended by `start`.
    Right,
    /// Ended by `start`.
    Left,
    /// Ended by `start + gap`; in view from `start` on, and not ended then.
    LeftInView,
    /// Ended between `start` and `start + gap`.
    Interval,
    /// No rows of their own: in view since `start`, so that what is known is known given life beyond it.
    Entered,
}

impl Kind {
    const ALL: [Kind; 6] = [
        Kind::Exact,
        Kind::Right,
        Kind::Left,
        Kind::LeftInView,
        Kind::Interval,
        Kind::Entered,
    ];

    /// Whether each entry is a row of the table.
    pub fn is_row(self) -> bool {
        self != Kind::Entered
    }

    /// Whether there is a second age.
    pub fn has_gap(self) -> bool {
        matches!(self, Kind::LeftInView | Kind::Interval)
    }
}

/// Rows of which the same is known. Columns are equally long, but for those that are not there.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    pub kind: Kind,
    /// Log of the first age.
    pub start: Vec<f64>,
    /// How much the log of the second age exceeds it; empty where there is none.
    pub gap: Vec<f64>,
    /// Weights, unless all are one.
    pub weight: Option<Vec<f64>>,
    /// One column for each covariate.
    pub covariates: Vec<Vec<f64>>,
}

impl Section {
    pub fn len(&self) -> usize {
        self.start.len()
    }

    pub fn weight(&self, row: usize) -> f64 {
        self.weight.as_ref().map_or(1.0, |weights| weights[row])
    }

    /// The log of a plausible age for this life, to start a search from.
    pub fn typical_log(&self, row: usize) -> f64 {
        match self.kind {
            Kind::Exact | Kind::Right | Kind::Entered => self.start[row],
            Kind::Left => self.start[row] - 0.35,
            Kind::LeftInView => self.start[row] + self.gap[row] - 0.35,
            Kind::Interval => self.start[row] + 0.5 * self.gap[row],
        }
    }
}

/// Rows of a life table, sorted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeBlock {
    pub(super) sections: Vec<Section>,
    /// Rows that came, also those that say nothing.
    pub(super) rows: usize,
    /// Their weights by [`Censoring`].
    pub(super) weights: [f64; 4],
    /// Of the exact rows: the sum of weights, and of weights times log age.
    pub(super) exact: (f64, f64),
}

impl LifeBlock {
    /// Sorts rows. Those without weight and those that say nothing (a life in view from an age at which it was last seen)
    /// are counted and left out.
    ///
    /// # Errors
    ///
    /// The first row, from zero, whose numbers cannot be ages, weights or covariates.
    pub fn sorted(rows: &LifeRows) -> Result<Self, usize> {
        let endless = |column: &Vec<f64>| column.iter().position(|x| !x.is_finite());
        if let Some(row) = rows.covariates.iter().filter_map(endless).min() {
            return Err(row);
        }
        let mut places: [Vec<u32>; 6] = Default::default();
        let mut weights = [0.0; 4];
        for i in 0..rows.lower.len() {
            let life = row_of(rows, i);
            if !can_be(&life) {
                return Err(i);
            }
            weights[life.censoring() as usize] += life.weight;
            if life.weight <= 0.0 || !life.says_something() {
                continue;
            }
            places[kind_of(&life) as usize].push(i as u32);
            if life.entry > 0.0 {
                places[Kind::Entered as usize].push(i as u32);
            }
        }
        let filled = Kind::ALL
            .iter()
            .zip(&places)
            .filter(|(_, at)| !at.is_empty());
        let sections: Vec<Section> = filled.map(|(kind, at)| gathered(rows, *kind, at)).collect();
        Ok(Self {
            exact: exact_sums(&sections),
            sections,
            rows: rows.lower.len(),
            weights,
        })
    }
}

#[inline(always)]
fn row_of(rows: &LifeRows, i: usize) -> Lifetime {
    Lifetime {
        lower: rows.lower[i],
        upper: rows.upper[i],
        weight: rows.weight.map_or(1.0, |weights| weights[i]),
        entry: rows.entry.map_or(0.0, |entries| entries[i]),
    }
}

#[inline(always)]
fn can_be(life: &Lifetime) -> bool {
    let number = |value: f64| (0.0..f64::INFINITY).contains(&value);
    let in_view = life.entry < life.upper && (life.lower <= 0.0 || life.entry <= life.lower);
    number(life.lower)
        && life.upper > 0.0
        && life.upper >= life.lower
        && number(life.weight)
        && number(life.entry)
        // An entry after the last look makes a row that says nothing, not a wrong one.
        && (in_view || life.upper == f64::INFINITY)
}

#[inline(always)]
fn kind_of(life: &Lifetime) -> Kind {
    match life.censoring() {
        Censoring::Exact => Kind::Exact,
        Censoring::Right => Kind::Right,
        Censoring::Left if life.entry > 0.0 => Kind::LeftInView,
        Censoring::Left => Kind::Left,
        Censoring::Interval => Kind::Interval,
    }
}

/// The ages that matter for a kind: the first, and the second if there is one.
#[inline(always)]
fn ages(life: &Lifetime, kind: Kind) -> (f64, f64) {
    match kind {
        Kind::Exact | Kind::Right | Kind::Interval => (life.lower, life.upper),
        Kind::Left => (life.upper, life.upper),
        Kind::LeftInView => (life.entry, life.upper),
        Kind::Entered => (life.entry, life.entry),
    }
}

fn gathered(rows: &LifeRows, kind: Kind, places: &[u32]) -> Section {
    let both = || {
        places
            .iter()
            .map(|&i| ages(&row_of(rows, i as usize), kind))
    };
    let pick = |column: &[f64]| {
        places
            .iter()
            .map(|&i| column[i as usize])
            .collect::<Vec<f64>>()
    };
    let mut start: Vec<f64> = both().map(|(first, _)| first).collect();
    ln_each(&mut start);
    let gap = if kind.has_gap() {
        log_ratios(both())
    } else {
        Vec::new()
    };
    Section {
        kind,
        start,
        gap,
        weight: rows
            .weight
            .map(pick)
            .filter(|weights| weights.iter().any(|weight| *weight != 1.0)),
        covariates: rows.covariates.iter().map(|column| pick(column)).collect(),
    }
}

/// `ln(high / low)` of each pair, with all its digits where the two are close.
fn log_ratios(pairs: impl Iterator<Item = (f64, f64)> + Clone) -> Vec<f64> {
    let excess = |(low, high): (f64, f64)| (high - low) / low;
    let mut ratios: Vec<f64> = pairs.clone().map(excess).collect();
    if ratios.iter().all(|ratio| ratio.is_finite()) {
        ln_1p_each(&mut ratios);
        return ratios;
    }
    pairs
        .map(|(low, high)| match excess((low, high)) {
            excess if excess.is_finite() => excess.ln_1p(),
            _ => high.ln() - low.ln(),
        })
        .collect()
}

fn exact_sums(sections: &[Section]) -> (f64, f64) {
    let exact = sections
        .iter()
        .filter(|section| section.kind == Kind::Exact);
    let rows =
        exact.flat_map(|section| (0..section.len()).map(|i| (section.weight(i), section.start[i])));
    rows.fold((0.0, 0.0), |(weights, logs), (weight, log)| {
        (weights + weight, logs + weight * log)
    })
}

/// Every so-manieth group of rows, kind by kind, in one block.
pub fn thinned(blocks: &[LifeBlock], every: usize, together: usize) -> LifeBlock {
    let of_kind = |kind: Kind| {
        let all: Vec<&Section> = blocks
            .iter()
            .flat_map(|block| &block.sections)
            .filter(|section| section.kind == kind)
            .collect();
        let width = all.first()?.covariates.len();
        let take = |of: &dyn Fn(&Section) -> &[f64]| {
            picked(&all, every, together, |values, section, rows| {
                values.extend_from_slice(&of(section)[rows]);
            })
        };
        let weighed = all.iter().any(|section| section.weight.is_some());
        let weights = || {
            picked(&all, every, together, |values, section, rows| {
                values.extend(rows.map(|row| section.weight(row)));
            })
        };
        Some(Section {
            kind,
            start: take(&|section| &section.start),
            gap: if kind.has_gap() {
                take(&|section| &section.gap)
            } else {
                Vec::new()
            },
            weight: weighed.then(weights),
            covariates: (0..width)
                .map(|j| take(&|section| &section.covariates[j]))
                .collect(),
        })
    };
    let sections: Vec<Section> = Kind::ALL.into_iter().filter_map(of_kind).collect();
    LifeBlock {
        exact: exact_sums(&sections),
        rows: sections
            .iter()
            .filter(|section| section.kind.is_row())
            .map(Section::len)
            .sum(),
        sections,
        weights: [0.0; 4],
    }
}

/// What `add` takes of several sections, from every so-manieth group of rows.
fn picked(
    sections: &[&Section],
    every: usize,
    together: usize,
    add: impl Fn(&mut Vec<f64>, &Section, Range<usize>),
) -> Vec<f64> {
    let mut values = Vec::new();
    // Where in the next section the next group begins.
    let mut first = 0;
    for section in sections {
        let taken = (first..section.len()).step_by(every * together);
        for start in taken.clone() {
            add(
                &mut values,
                section,
                start..section.len().min(start + together),
            );
        }
        first = (first + taken.len() * every * together).saturating_sub(section.len());
    }
    values
}
