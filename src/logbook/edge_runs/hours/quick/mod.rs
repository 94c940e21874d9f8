//! Both files in pieces, several at a time. Whatever is not plain, or not in order, is left to the careful readers:
//! nothing here names a fault, it gives up.

mod assembly;
mod edges;
mod parquet;
mod runs;

use super::super::edges::EdgeTable;
use super::super::runs::RunTable;
use super::super::sheet::Faults;
use super::super::{edges as edge_file, runs as run_file};
use super::{EdgeHours, EdgeRunsReadError};
use crate::logbook::plain::{first_line, lines_from};
use crate::logbook::text_rows::TextRows;
use assembly::Assembly;
use rayon::prelude::*;
use std::path::Path;

/// Bytes of a piece: some ten thousand rows.
const PIECE: u64 = 1 << 20;
/// Pieces that are read before they are put together, while the next are read.
const TOGETHER: usize = 16;

/// The table, or nothing where it must be read with care.
pub(super) fn read(
    edges: &Path,
    runs: &Path,
    group: Option<&str>,
    told: &(dyn Fn(u64) + Sync),
) -> Result<Option<EdgeHours>, EdgeRunsReadError> {
    let read = Read { told, piece: PIECE };
    read.files(edges, runs, group)
}

#[cfg(test)]
pub(super) fn in_pieces(
    edges: &Path,
    runs: &Path,
    group: Option<&str>,
    piece: u64,
) -> Result<Option<EdgeHours>, EdgeRunsReadError> {
    Read {
        told: &|_| {},
        piece,
    }
    .files(edges, runs, group)
}

/// How files are read.
struct Read<'t> {
    told: &'t (dyn Fn(u64) + Sync),
    piece: u64,
}

impl Read<'_> {
    fn files(
        &self,
        edges: &Path,
        runs: &Path,
        group: Option<&str>,
    ) -> Result<Option<EdgeHours>, EdgeRunsReadError> {
        let mut faults = Faults::default();
        let edge_heading = edge_file::heading(edges, group, &mut faults)?;
        let run_heading = run_file::heading(runs, &mut faults)?;
        let (Some((edge_table, edge_rows)), Some((run_table, run_rows))) =
            (edge_heading, run_heading)
        else {
            return Ok(None);
        };
        if faults.count() > 0 {
            return Ok(None);
        }
        Ok(self.tables(
            Source::of(edges, &edge_rows),
            &edge_table,
            Source::of(runs, &run_rows),
            &run_table,
        ))
    }

    fn tables(
        &self,
        edge_file: Source,
        edges: &EdgeTable,
        run_file: Source,
        runs: &RunTable,
    ) -> Option<EdgeHours> {
        let (facts, levels) = self.facts(edge_file, edges)?;
        let mut assembly = Assembly::new(&facts, runs.covariate_names.len());
        let totalled = edges.columns.hours_total.is_some();
        let plan = runs::Plan::of(runs)?;
        match run_file {
            Source::Text(file) => {
                let starts = self.starts(file)?;
                let first = starts.first().copied()?;
                let mut batches = starts.chunks(TOGETHER);
                assemble(&mut assembly, || {
                    let batch = batches.next().unwrap_or_default();
                    self.pieces(file, first, batch, &|text| plan.piece(text))
                })?;
            }
            Source::Parquet(file) => {
                let mut pieces = parquet::RunPieces::of(file, runs, totalled, self.told)?;
                assemble(&mut assembly, || Some(pieces.next()?.into_iter().collect()))?;
            }
        }
        let mut hours = assembly.done()?;
        hours.levels = levels.in_order(&mut hours.level);
        Some(EdgeHours {
            covariate_names: runs.covariate_names.clone(),
            group_name: edges.group_name.clone(),
            unused_columns: edges.unused_columns.clone(),
            ..hours
        })
    }

    /// What the edges file says of each edge.
    fn facts(
        &self,
        file: Source,
        table: &EdgeTable,
    ) -> Option<(Vec<edges::EdgeFacts>, super::levels::Levels)> {
        let plan = edges::Plan::of(table)?;
        let all = match file {
            Source::Parquet(file) => parquet::edges(file, table, self.told)?,
            Source::Text(file) => {
                let starts = self.starts(file)?;
                let first = starts.first().copied()?;
                let pieces = self.pieces(file, first, &starts, &|text| plan.piece(text))?;
                let mut all = edges::EdgePiece::default();
                pieces.into_iter().for_each(|piece| all.append(piece));
                all
            }
        };
        (!all.has_doubles()).then_some((all.facts, all.levels))
    }

    fn starts(&self, file: &Path) -> Option<Vec<u64>> {
        let metadata = std::fs::metadata(file).ok()?;
        if !metadata.is_file() {
            return None;
        }
        let first = first_line(file)?;
        Some(
            (first..metadata.len())
                .step_by(self.piece as usize)
                .collect(),
        )
    }

    fn pieces<T: Send>(
        &self,
        file: &Path,
        first: u64,
        starts: &[u64],
        made: &(impl Fn(&str) -> Option<T> + Sync),
    ) -> Option<Vec<T>> {
        let piece = |buffer: &mut Vec<u8>, start: &u64| {
            let text = lines_from(file, buffer, first, *start..*start + self.piece)?;
            (self.told)(text.len() as u64);
            made(std::str::from_utf8(text).ok()?)
        };
        starts.par_iter().map_init(Vec::new, piece).collect()
    }
}

/// Puts pieces together, `read` some at a time until none come, the next being read meanwhile.
fn assemble(
    assembly: &mut Assembly,
    mut read: impl FnMut() -> Option<Vec<runs::RunPiece>> + Send,
) -> Option<()> {
    let mut pieces = read()?;
    while !pieces.is_empty() {
        let mut add = || pieces.iter().try_for_each(|piece| assembly.add(piece));
        let (added, next) = rayon::join(&mut add, &mut read);
        (_, pieces) = (added?, next?);
    }
    Some(())
}

/// A file and what it is.
#[derive(Debug, Clone, Copy)]
enum Source<'f> {
    Text(&'f Path),
    Parquet(&'f Path),
}

impl<'f> Source<'f> {
    fn of(file: &'f Path, rows: &TextRows) -> Self {
        match rows {
            TextRows::Text(_) => Self::Text(file),
            TextRows::Parquet(_) => Self::Parquet(file),
        }
    }
}

/// Sixty-four bits that stand for an edge's name (FNV-1a with a last turn of SplitMix64).
fn name_hash(name: &str) -> u64 {
    let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash: u64, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    let mixed = (hash ^ (hash >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    mixed ^ (mixed >> 31)
}
