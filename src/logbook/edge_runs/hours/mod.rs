//! Edges with the hours that each ran under each row of covariates, for tables too large to hold every run.
//!
//! How long an edge wears does not depend on the order of its runs between two looks: hours by distinct row of
//! covariates, up to the last look that found it sharp and from there to the look that found it dull, are all that
//! the likelihood needs (sufficient statistics). What is kept grows with edges, not with runs, where conditions repeat.

mod builder;
mod careful;
mod levels;
mod quick;
mod rows;

pub use rows::CovariateRows;

use super::{EdgeRuns, EdgeRunsReadError, UnusedEdge, read_edge_runs};
use crate::logbook::parquet_table::{ParquetTable, is_parquet};
use builder::Builder;
use std::path::Path;

/// Tables of runs larger than this are never held whole, whatever the order of their rows: in bytes.
const TOO_LARGE_TO_HOLD: u64 = 256 << 20;

/// What is known of the moment at which an edge went dull.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Dulling {
    /// At the end of the hours from sharp to dull; there are none before.
    Exact,
    /// Within the hours from sharp to dull.
    Between,
    /// By the end of the hours from sharp to dull; there are none before.
    Before,
    /// Not within the sharp hours.
    Not,
}

/// Edges in columns, in the order of their file. The hours of edge `i` are the segments from `ends[i - 1]` (0 for
/// the first) to `ends[i]`, the first `sharp[i]` of them those by whose end it was still sharp.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EdgeHours {
    /// Names of the covariates of the wear rate, in the order of the runs file.
    pub covariate_names: Vec<String>,
    /// The distinct rows of covariates.
    pub rows: CovariateRows,
    /// Column of the edges file that says what edges share.
    pub group_name: Option<String>,
    /// What stands in that column: numbers by size, then words by letters.
    pub levels: Vec<String>,
    /// Which of the levels each edge belongs to; blank where no group was asked for.
    pub level: Vec<u32>,
    /// What is known of each edge.
    pub dulling: Vec<Dulling>,
    /// Segments by whose end each edge was still sharp.
    pub sharp: Vec<u32>,
    /// The row of covariates at the moment of dulling; means something for [`Dulling::Exact`] alone.
    pub moment: Vec<u32>,
    /// Where each edge's segments end.
    pub ends: Vec<usize>,
    /// The row of covariates of each segment.
    pub segment_rows: Vec<u32>,
    /// The hours of each segment, above zero.
    pub segment_hours: Vec<f64>,
    /// Edges that a strike ended.
    pub strikes: usize,
    /// Hours in which strikes could have come: all, those after the last look too.
    pub hours: f64,
    /// Runs of the edges that are used.
    pub runs: usize,
    /// Edges that are not used.
    pub set_aside: Vec<UnusedEdge>,
    /// Columns of the edges file that mean nothing here.
    pub unused_columns: Vec<String>,
}

impl EdgeHours {
    /// Edges that are used.
    pub fn edges(&self) -> usize {
        self.dulling.len()
    }

    /// Edges in the file: used and set aside.
    pub fn edges_found(&self) -> usize {
        self.edges() + self.set_aside.len()
    }

    /// The same of tables that were read run by run.
    pub fn of(table: &EdgeRuns) -> Self {
        let mut builder = Builder::new(table.covariate_names.len());
        table.edges.iter().for_each(|edge| builder.push(edge));
        Self {
            covariate_names: table.covariate_names.clone(),
            group_name: table.group_name.clone(),
            levels: table.levels.clone(),
            set_aside: table.set_aside.clone(),
            unused_columns: table.unused_columns.clone(),
            ..builder.done()
        }
    }
}

/// Reads a table of edges and a table of their runs, as [`read_edge_runs`] does, without holding the runs; `told`
/// hears of bytes as they are read, of which both files together have so many.
///
/// Plain tables in which the runs of an edge stand together, in the order of the edges, are read by as many threads
/// as there are. Others are read row by row: whole where they are small, in any order; as a stream where they are
/// large, which that order is needed for.
///
/// # Errors
///
/// [`EdgeRunsReadError`]; of a large table at most the first hundred faults.
pub fn read_edge_hours(
    edges: &Path,
    runs: &Path,
    group: Option<&str>,
    told: &(dyn Fn(u64) + Sync),
) -> Result<EdgeHours, EdgeRunsReadError> {
    if let Some(hours) = quick::read(edges, runs, group, told)? {
        return Ok(hours);
    }
    if bytes_as_text(runs) <= TOO_LARGE_TO_HOLD {
        return Ok(EdgeHours::of(&read_edge_runs(edges, runs, group)?));
    }
    careful::read(edges, runs, group)
}

/// The size of a table, roughly, if it were text: Parquet files are packed.
fn bytes_as_text(file: &Path) -> u64 {
    const BYTES_A_CELL: u64 = 4;
    let bytes = std::fs::metadata(file).map_or(0, |it| it.len());
    let table = is_parquet(file).then(|| ParquetTable::open(file).ok());
    table.flatten().map_or(bytes, |table| {
        let cells = table.rows().saturating_mul(table.columns().len() as u64);
        cells.saturating_mul(BYTES_A_CELL)
    })
}

/// Whether a table has at least so many lines, or rows where it is Parquet; not where it cannot be read.
pub fn has_lines(file: &Path, lines: usize) -> bool {
    use std::io::{BufRead, BufReader};
    if is_parquet(file) {
        return ParquetTable::open(file).is_ok_and(|table| table.rows() >= lines as u64);
    }
    let Ok(file) = std::fs::File::open(file) else {
        return false;
    };
    let mut reader = BufReader::with_capacity(1 << 18, file);
    let mut left = lines;
    while left > 0 {
        let found = match reader.fill_buf() {
            Ok(bytes) if !bytes.is_empty() => bytes,
            _ => return false,
        };
        let here = found.iter().filter(|byte| **byte == b'\n').count();
        let length = found.len();
        left = left.saturating_sub(here);
        reader.consume(length);
    }
    true
}

#[cfg(test)]
mod parquet_tests;
#[cfg(test)]
mod tests;
