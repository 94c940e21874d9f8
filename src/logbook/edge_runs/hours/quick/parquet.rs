//! The same pieces from Parquet files.

use super::super::super::edges::EdgeTable;
use super::super::super::runs::RunTable;
use super::super::super::sheet::written_hours;
use super::edges::{EdgeCells, EdgePiece};
use super::name_hash;
use super::runs::{RunCells, RunPiece};
use crate::logbook::life_table::value;
use crate::logbook::parquet_table::{Batch, Batches, Cell, Cells, Column, ParquetTable, decimals};
use std::path::Path;

/// A file some rows at a time, with what hears of its bytes.
pub(super) struct Pieces<'t> {
    batches: Batches,
    told: &'t (dyn Fn(u64) + Sync),
    bytes_a_row: f64,
}

impl<'t> Pieces<'t> {
    pub(super) fn of(
        file: &Path,
        columns: &[usize],
        told: &'t (dyn Fn(u64) + Sync),
    ) -> Option<Self> {
        let bytes = std::fs::metadata(file).ok()?.len();
        let table = ParquetTable::open(file).ok()?;
        let rows = table.rows().max(1);
        Some(Self {
            batches: table.batches(columns).ok()?,
            told,
            bytes_a_row: bytes as f64 / rows as f64,
        })
    }

    /// The next rows, or none after the last; nothing where the file cannot be read.
    fn next(&mut self) -> Option<Option<Batch>> {
        let batch = self.batches.next_batch().ok()?;
        let rows = batch.as_ref().map_or(0, |batch| batch.rows);
        (self.told)((rows as f64 * self.bytes_a_row) as u64);
        Some(batch)
    }
}

/// The runs file.
pub(super) struct RunPieces<'t> {
    pieces: Pieces<'t>,
    covariates: usize,
    /// Whether hours are held against a total, for which their decimals count.
    totalled: bool,
    /// Decimals that hours have at the least.
    least: i32,
}

impl<'t> RunPieces<'t> {
    pub(super) fn of(
        file: &Path,
        table: &RunTable,
        totalled: bool,
        told: &'t (dyn Fn(u64) + Sync),
    ) -> Option<Self> {
        let columns: Vec<usize> = table.columns.used().collect();
        Some(Self {
            pieces: Pieces::of(file, &columns, told)?,
            covariates: table.columns.covariates.len(),
            totalled,
            least: table.place.least_decimals(table.columns.hours),
        })
    }

    /// The next rows, or none after the last; nothing where they are not plain.
    pub(super) fn next(&mut self) -> Option<Option<RunPiece>> {
        match self.pieces.next()? {
            Some(batch) => Some(Some(self.piece(&batch)?)),
            None => Some(None),
        }
    }

    fn piece(&self, batch: &Batch) -> Option<RunPiece> {
        let mut columns = batch.columns.iter().map(Column::cells);
        let (mut names, mut numbers, mut hours) =
            (columns.next()?, columns.next()?, columns.next()?);
        let mut others: Vec<Cells> = columns.collect();
        let mut piece = RunPiece::new(self.covariates, batch.rows);
        let mut covariates = vec![0.0; self.covariates];
        let mut last = Cell::Blank;
        let mut buffer = String::new();
        for _ in 0..batch.rows {
            for (to, cells) in covariates.iter_mut().zip(&mut others) {
                *to = cells.next_cell().number(None, |text| value(text, None))?;
            }
            let name = names.next_cell();
            if name == Cell::Blank {
                return None;
            }
            let (hours, decimals) = self.hours(hours.next_cell())?;
            let run = RunCells {
                another: name != last,
                number: numbers.next_cell().count()?,
                hours,
                decimals,
            };
            piece.push(run, &covariates, || name_hash(name.text(&mut buffer)))?;
            last = name;
        }
        Some(piece)
    }

    /// Hours and their decimals.
    fn hours(&self, cell: Cell) -> Option<(f64, i32)> {
        if let Cell::Text(text) = cell {
            let written = written_hours(text)?;
            return Some((written.hours.get(), written.decimals));
        }
        let hours = cell.number(None, |_| None)?;
        let decimals = if self.totalled { decimals(hours) } else { 0 };
        Some((hours, decimals.max(self.least)))
    }
}

/// All rows of the edges file.
pub(super) fn edges(
    file: &Path,
    table: &EdgeTable,
    told: &(dyn Fn(u64) + Sync),
) -> Option<EdgePiece> {
    let columns = &table.columns;
    let used: Vec<usize> = columns.used().collect();
    let mut pieces = Pieces::of(file, &used, told)?;
    // Where each of the cells that count stands among those that are read.
    let of = |column: usize| used.iter().position(|at| *at == column);
    let places = [
        of(columns.edge_id),
        of(columns.kind),
        of(columns.sharp_run),
        of(columns.dull_run),
        columns.struck.and_then(of),
        columns.n_runs.and_then(of),
        columns.hours_total.and_then(of),
        columns.group.and_then(of),
    ];
    let least = columns
        .hours_total
        .map_or(0, |at| table.place.least_decimals(at));
    let mut all = EdgePiece::default();
    let mut buffers: [String; 8] = Default::default();
    while let Some(batch) = pieces.next()? {
        let mut cells = places.map(|at| Some(batch.columns.get(at?)?.cells()));
        for _ in 0..batch.rows {
            let row = row(&mut cells, &mut buffers);
            let levels = columns.group.is_some().then_some(&mut all.levels);
            all.facts.push(row.facts(levels, least)?);
        }
    }
    Some(all)
}

/// The cells of the next row as text.
fn row<'a, 'b: 'a>(
    cells: &mut [Option<Cells<'b>>; 8],
    buffers: &'a mut [String; 8],
) -> EdgeCells<'a> {
    let mut texts = [""; 8];
    for ((text, cells), buffer) in texts.iter_mut().zip(cells).zip(buffers) {
        if let Some(cells) = cells {
            *text = cells.next_cell().text(buffer);
        }
    }
    let [
        name,
        kind,
        sharp_run,
        dull_run,
        struck,
        n_runs,
        hours,
        group,
    ] = texts;
    EdgeCells {
        name,
        kind,
        sharp_run,
        dull_run,
        struck,
        n_runs,
        hours,
        group,
    }
}
