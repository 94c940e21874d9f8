//! A tile: as many rows as fit into the processor's nearest cache with all that is computed of them.

use super::super::life_distribution::Family;
use super::super::standardise::Standardisation;
use super::block::{Kind, Section};
use super::careful;
use super::law_rows::{LawRows, LoglogisticRows, NARROWEST, REACH, WeibullRows};
use super::slopes::Slopes;
use crate::numerics::lanes::multiply_add;
use std::ops::Range;

/// Rows of a tile.
pub const TILE: usize = 128;
/// A number for each row.
pub type Column = [f64; TILE];

/// Where the log-likelihood is wanted.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    pub family: Family,
    pub standardisation: &'a Standardisation,
    /// Intercept and coefficients of the standardised covariates.
    pub coefficients: &'a [f64],
    pub sigma: f64,
}

/// Rows with what is computed of them. Rows beyond the last are zeros throughout.
pub struct Tile {
    /// Standardised covariates.
    pub covariates: Vec<Column>,
    z: Column,
    gap: Column,
    weight: Column,
    /// Room for a column of which too few rows are left.
    room: Column,
    pub outcome: Outcome,
}

/// [`super::slopes::Parts`], each in a column, times the row's weight.
pub struct Outcome {
    pub value: Column,
    pub first: Column,
    pub spread: Column,
    pub bend: Column,
    pub mixed: Column,
    pub spread_bend: Column,
}

impl Tile {
    pub fn new(covariates: usize) -> Self {
        let none = [0.0; TILE];
        Self {
            covariates: vec![none; covariates],
            z: none,
            gap: none,
            weight: none,
            room: none,
            outcome: Outcome {
                value: none,
                first: none,
                spread: none,
                bend: none,
                mixed: none,
                spread_bend: none,
            },
        }
    }

    /// Loads some rows of a section and computes what each adds.
    #[inline(always)]
    pub fn fill<const FUSED: bool>(
        &mut self,
        place: &Place,
        section: &Section,
        rows: Range<usize>,
    ) {
        let count = rows.len();
        let [location, slopes @ ..] = place.coefficients else {
            return;
        };
        let per_sigma = 1.0 / place.sigma;
        let start = whole(&section.start[rows.clone()], &mut self.room);
        for (z, start) in self.z.iter_mut().zip(start) {
            *z = (start - location) * per_sigma;
        }
        for (j, slope) in slopes.iter().enumerate() {
            let (centre, per_scale) = place.standardisation.of_column(j);
            let x = &mut self.covariates[j];
            let raw = whole(&section.covariates[j][rows.clone()], &mut self.room);
            for ((x, z), raw) in x.iter_mut().zip(&mut self.z).zip(raw) {
                *x = (raw - centre) * per_scale;
                *z = multiply_add::<FUSED>(-slope * per_sigma, *x, *z);
            }
            x[count..].fill(0.0);
        }
        self.z[count..].fill(0.0);
        if section.kind.has_gap() {
            let gap = whole(&section.gap[rows.clone()], &mut self.room);
            for (to, gap) in self.gap.iter_mut().zip(gap) {
                *to = gap * per_sigma;
            }
            self.gap[count..].fill(1.0);
        }
        self.compute::<FUSED>(place.family, section.kind, count);
        self.weigh(section, rows);
    }

    #[inline(always)]
    fn compute<const FUSED: bool>(&mut self, family: Family, kind: Kind, count: usize) {
        let quick = within_reach(&self.z, &self.gap, kind.has_gap());
        match family {
            Family::Weibull if quick => self.by_law::<WeibullRows, FUSED>(kind),
            Family::Loglogistic if quick => self.by_law::<LoglogisticRows, FUSED>(kind),
            _ => self.carefully(family, kind, count),
        }
    }

    #[inline(always)]
    fn by_law<L: LawRows, const FUSED: bool>(&mut self, kind: Kind) {
        let (z, gap, outcome) = (&self.z, &self.gap, &mut self.outcome);
        match kind {
            Kind::Exact => each(z, gap, outcome, |z, _| L::exact::<FUSED>(z)),
            Kind::Right | Kind::Entered => each(z, gap, outcome, |z, _| L::right::<FUSED>(z)),
            Kind::Left => each(z, gap, outcome, |z, _| L::left::<FUSED>(z)),
            Kind::LeftInView | Kind::Interval => each(z, gap, outcome, L::interval::<FUSED>),
        }
    }

    #[inline(never)]
    fn carefully(&mut self, family: Family, kind: Kind, count: usize) {
        for i in 0..count {
            let slopes = careful::slopes(family, kind, self.z[i], self.gap[i]);
            self.outcome.put(i, &slopes, self.z[i]);
        }
    }

    /// Times the weights; nothing is left of rows beyond the last.
    #[inline(always)]
    fn weigh(&mut self, section: &Section, rows: Range<usize>) {
        let (count, entered) = (rows.len(), section.kind == Kind::Entered);
        for column in self.outcome.columns() {
            column[count..].fill(0.0);
        }
        if section.weight.is_none() && !entered {
            return;
        }
        match &section.weight {
            Some(weights) => load(&mut self.weight, &weights[rows]),
            None => self.weight = [1.0; TILE],
        }
        if entered {
            self.weight.iter_mut().for_each(|weight| *weight = -*weight);
        }
        for column in self.outcome.columns() {
            for (value, weight) in column.iter_mut().zip(&self.weight) {
                *value *= weight;
            }
        }
    }
}

impl Outcome {
    fn columns(&mut self) -> [&mut Column; 6] {
        [
            &mut self.value,
            &mut self.first,
            &mut self.spread,
            &mut self.bend,
            &mut self.mixed,
            &mut self.spread_bend,
        ]
    }

    #[inline(always)]
    fn put(&mut self, i: usize, slopes: &Slopes, z: f64) {
        let parts = slopes.parts(z);
        self.value[i] = parts.value;
        self.first[i] = parts.first;
        self.spread[i] = parts.spread;
        self.bend[i] = parts.bend;
        self.mixed[i] = parts.mixed;
        self.spread_bend[i] = parts.spread_bend;
    }
}

#[inline(always)]
fn each(z: &Column, gap: &Column, outcome: &mut Outcome, row: impl Fn(f64, f64) -> Slopes) {
    for i in 0..TILE {
        outcome.put(i, &row(z[i], gap[i]), z[i]);
    }
}

/// These rows where they are, if they fill a tile; else in `room`, with zeros behind them.
#[inline(always)]
fn whole<'a>(rows: &'a [f64], room: &'a mut Column) -> &'a Column {
    match rows.first_chunk() {
        Some(rows) => rows,
        None => {
            load(room, rows);
            room
        }
    }
}

#[inline(always)]
fn load(to: &mut Column, from: &[f64]) {
    to[..from.len()].copy_from_slice(from);
    to[from.len()..].fill(0.0);
}

#[inline(always)]
fn within_reach(z: &Column, gap: &Column, has_gap: bool) -> bool {
    let mut within = 1u64;
    for z in z {
        within &= u64::from(z.abs() <= REACH);
    }
    if has_gap {
        for (z, gap) in z.iter().zip(gap) {
            within &= u64::from(z + gap <= REACH) & u64::from(*gap >= NARROWEST);
        }
    }
    within == 1
}
