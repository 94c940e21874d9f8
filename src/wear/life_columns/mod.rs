//! Life tables of any size, column by column.
//!
//! A table stands in blocks of some ten thousand rows. Within a block the rows are sorted by what is known of them
//! (exact, right-censored, ...), so that a pass over one section does the same to every row, and each column lies in one
//! piece. Ages are kept as logs: no pass takes a logarithm of an age again. A [`ColumnDensity`] turns such a table into a
//! log-likelihood with gradient and Hessian in one pass.

mod block;
mod careful;
mod density;
mod design;
mod law_rows;
mod search;
mod slopes;
mod sums;
mod tile;

pub(super) use block::{Kind, Section};
pub use block::{LifeBlock, LifeRows};
pub(super) use density::ColumnDensity;
pub(super) use design::Design;
pub(super) use search::{best, search, search_within};

use super::WearError;
use super::life_table::{Censoring, LifeTable, Lifetime};
use rayon::prelude::*;

/// Rows that are put into a block where they do not come in pieces.
const BLOCK: usize = 16_384;
/// A sample's block has about so many at least.
const LEAST_BLOCK: usize = 2048;
/// Tables of more rows than this are large: a sample of their rows says first where to look.
const LARGE: usize = 20_000;
/// Rows that stay together when a table is thinned: those that share a line of the processor's cache.
const TOGETHER: usize = 8;

/// A censored life table in columns.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeColumns {
    names: Vec<String>,
    blocks: Vec<LifeBlock>,
}

impl LifeColumns {
    /// The table that these blocks make up, in this order; `names` are those of the covariates.
    pub fn new(names: Vec<String>, blocks: Vec<LifeBlock>) -> Self {
        Self { names, blocks }
    }

    /// The columns of a table of rows.
    ///
    /// # Errors
    ///
    /// [`WearError::Shape`] for a row whose numbers cannot be ages, weights or covariates.
    pub fn of(table: &LifeTable) -> Result<Self, WearError> {
        let width = table.covariate_names.len();
        if let Some(edge) = table.covariates.iter().position(|row| row.len() != width) {
            return Err(WearError::Shape { edge });
        }
        let pieces = table
            .lives
            .chunks(BLOCK)
            .zip(table.covariates.chunks(BLOCK));
        let blocks = pieces.enumerate().map(|(number, (lives, rows))| {
            let age = |of: fn(&Lifetime) -> f64| lives.iter().map(of).collect::<Vec<f64>>();
            let column = |j: usize| rows.iter().map(|row| row[j]).collect();
            let (lower, upper) = (age(|life| life.lower), age(|life| life.upper));
            let (weight, entry) = (age(|life| life.weight), age(|life| life.entry));
            LifeBlock::sorted(&LifeRows {
                lower: &lower,
                upper: &upper,
                weight: Some(&weight),
                entry: Some(&entry),
                covariates: &(0..width).map(column).collect::<Vec<_>>(),
            })
            .map_err(|row| WearError::Shape {
                edge: number * BLOCK + row,
            })
        });
        Ok(Self {
            names: table.covariate_names.clone(),
            blocks: blocks.collect::<Result<_, _>>()?,
        })
    }

    /// Names of the covariates.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Rows of the table, whether or not they say anything.
    pub fn rows(&self) -> usize {
        self.blocks.iter().map(|block| block.rows).sum()
    }

    /// Sum of the weights of the rows that are censored so.
    pub fn weight_of(&self, censoring: Censoring) -> f64 {
        self.blocks
            .iter()
            .map(|block| block.weights[censoring as usize])
            .sum()
    }

    /// Sum of the weights.
    pub fn weight_total(&self) -> f64 {
        use Censoring::{Exact, Interval, Left, Right};
        let kinds = [Exact, Right, Left, Interval];
        kinds.iter().map(|kind| self.weight_of(*kind)).sum()
    }

    pub(super) fn blocks(&self) -> &[LifeBlock] {
        &self.blocks
    }

    /// The sections of all blocks.
    pub(super) fn sections(&self) -> impl Iterator<Item = &Section> {
        self.blocks.iter().flat_map(|block| &block.sections)
    }

    /// Rows that say something.
    pub(super) fn counted(&self) -> usize {
        self.sections()
            .filter(|section| section.kind.is_row())
            .map(Section::len)
            .sum()
    }

    /// About every so-manieth row, eight rows at a time, in blocks that are each worth a thread. Each takes some of every
    /// kind that it has, so that rare kinds come oftener than they should: good enough to start from.
    pub(super) fn thinned(&self, every: usize) -> Self {
        let left = self.counted() / every;
        let together = self.blocks.len().div_ceil((left / LEAST_BLOCK).max(1));
        let pieces = self.blocks.par_chunks(together.max(1));
        Self {
            names: self.names.clone(),
            blocks: pieces
                .map(|blocks| block::thinned(blocks, every, TOGETHER))
                .collect(),
        }
    }
}
