//! A censored life table as anybody's survival software writes it.
//!
//! Columns `lower`, `upper`, optional `weight` and `entry`, and any number of covariates. Unlike a crew's
//! log, a table with a fault is not used at all: a fit on part of it would answer another question.
//!
//! A table may have millions of rows. It is read in pieces, by as many threads as there are, by a reader that knows plain
//! numbers only; where anything else stands in it (a quote, a fault), the whole table is read again row by row, and every
//! fault is named.

mod careful;
mod cell;
mod error;
mod header;
mod parquet;
mod quick;

pub(super) use cell::value;
pub use error::{LifeTableProblem, LifeTableReadError};

use super::text_rows::TextRows;
use header::Header;
use std::path::Path;

/// Some rows of a life table, column by column.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeTableBlock {
    /// Known not to have ended by then; 0 where nothing is known.
    pub lower: Vec<f64>,
    /// Known to have ended by then; infinite where never seen to end.
    pub upper: Vec<f64>,
    /// How many such lives, if the table has that column.
    pub weight: Option<Vec<f64>>,
    /// Age at which each came into view, if the table has that column.
    pub entry: Option<Vec<f64>>,
    /// One column for each covariate asked for, in that order.
    pub covariates: Vec<Vec<f64>>,
}

/// A life table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeTableFile<T> {
    /// Names of the covariates asked for.
    pub covariate_names: Vec<String>,
    /// Names of the columns that nobody asked for.
    pub unused: Vec<String>,
    /// What was made of each piece, in the order of the file.
    pub blocks: Vec<T>,
}

/// Reads a life table with the covariates named, or says everything that is wrong with it. Other
/// columns may hold anything.
///
/// Blank or `inf` in `upper` is right-censored; blank or 0 in `lower` is left-censored; equal is exact.
///
/// The table never stands in memory as text: what is to be kept of each piece is made by `keep` as soon as the piece is
/// read, on whatever thread read it.
///
/// # Errors
///
/// [`LifeTableReadError`], with every faulty cell in [`LifeTableReadError::Rows`].
pub fn read_life_table<T: Send>(
    file: &Path,
    covariates: &[String],
    keep: impl Fn(LifeTableBlock) -> T + Sync,
) -> Result<LifeTableFile<T>, LifeTableReadError> {
    let (columns, reader) = careful::open(file)?;
    let header = Header::of(file, &columns, covariates)?;
    let quick = match reader {
        TextRows::Parquet(_) => parquet::read(file, &header, &keep),
        TextRows::Text(_) => quick::read(file, &header, &keep),
    };
    let blocks = match quick {
        Some(blocks) => blocks,
        None => careful::read(file, reader, &header, &keep)?,
    };
    if blocks.is_empty() {
        return Err(LifeTableReadError::Empty {
            file: file.to_path_buf(),
        });
    }
    Ok(LifeTableFile {
        covariate_names: covariates.to_vec(),
        unused: header.unused(covariates),
        blocks,
    })
}

impl LifeTableBlock {
    /// No rows, with the columns that the header has.
    fn new(header: &Header) -> Self {
        Self {
            lower: Vec::new(),
            upper: Vec::new(),
            weight: header.columns.weight.map(|_| Vec::new()),
            entry: header.columns.entry.map(|_| Vec::new()),
            covariates: vec![Vec::new(); header.columns.covariates.len()],
        }
    }

    /// One more row; nothing where its cells do not go together.
    #[inline]
    fn push_sound(&mut self, ages: &cell::Ages, covariates: &[f64]) -> Option<()> {
        let sound = ages.wanted() == cell::Wanted::default();
        if !sound || covariates.iter().any(|x| !x.is_finite()) {
            return None;
        }
        self.push(ages, covariates);
        Some(())
    }

    fn push(&mut self, ages: &cell::Ages, covariates: &[f64]) {
        self.lower.push(ages.lower);
        self.upper.push(ages.upper);
        if let Some(weights) = &mut self.weight {
            weights.push(ages.weight);
        }
        if let Some(entries) = &mut self.entry {
            entries.push(ages.entry);
        }
        for (column, value) in self.covariates.iter_mut().zip(covariates) {
            column.push(*value);
        }
    }
}
