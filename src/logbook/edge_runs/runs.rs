//! The runs file.

use super::sheet::{Faults, Place, Row, Sheet, WrittenHours, finite};
use super::{EdgeRun, EdgeRunsReadError};
use crate::logbook::text_rows::TextRows;
use std::collections::HashMap;
use std::path::Path;

const NEEDED: [&str; 3] = ["edge_id", "run", "hours"];

/// The runs of each edge, in order of their numbers.
#[derive(Debug)]
pub(super) struct RunTable {
    pub(super) place: Place,
    pub(super) columns: Columns,
    pub(super) covariate_names: Vec<String>,
    pub(super) by_edge: HashMap<String, Vec<RunRow>>,
}

/// One row.
#[derive(Debug)]
pub(super) struct RunRow {
    pub(super) line: u64,
    pub(super) number: Option<usize>,
    /// `None` where a cell could not be read, which is told already.
    pub(super) read: Option<(WrittenHours, EdgeRun)>,
}

/// Where things stand in a row.
#[derive(Debug)]
pub(super) struct Columns {
    pub(super) edge_id: usize,
    pub(super) run: usize,
    pub(super) hours: usize,
    pub(super) covariates: Vec<usize>,
}

/// Reads the file; `None` where a column is missing.
pub(super) fn read(
    file: &Path,
    faults: &mut Faults,
) -> Result<Option<RunTable>, EdgeRunsReadError> {
    let sheet = Sheet::open(file, &NEEDED)?;
    if !sheet.check(&NEEDED, faults) {
        return Ok(None);
    }
    let mut table = RunTable::without_rows(&sheet);
    if !sheet.check_kinds(table.columns.used(), faults) {
        return Ok(None);
    }
    let (place, columns) = (&table.place, &table.columns);
    let mut by_edge: HashMap<String, Vec<RunRow>> = HashMap::new();
    for row in &sheet.rows {
        if let Some((edge, run)) = read_row(place, row, columns, faults) {
            by_edge.entry(edge).or_default().push(run);
        }
    }
    for runs in by_edge.values_mut() {
        runs.sort_by_key(|run| (run.number, run.line));
        check_numbers(place, runs, columns.run, faults);
    }
    table.by_edge = by_edge;
    Ok(Some(table))
}

/// The header alone and what stands below; `None` where a column is missing.
pub(super) fn heading(
    file: &Path,
    faults: &mut Faults,
) -> Result<Option<(RunTable, TextRows)>, EdgeRunsReadError> {
    let (sheet, reader) = Sheet::heading(file, &NEEDED)?;
    Ok(checked(&sheet, faults).map(|table| (table, reader)))
}

fn checked(sheet: &Sheet, faults: &mut Faults) -> Option<RunTable> {
    if !sheet.check_header(&NEEDED, faults) {
        return None;
    }
    let table = RunTable::without_rows(sheet);
    let readable = sheet.check_kinds(table.columns.used(), faults);
    readable.then_some(table)
}

impl Columns {
    /// All of them: the edge, the run, the hours, the covariates.
    pub(super) fn used(&self) -> impl Iterator<Item = usize> {
        let own = [self.edge_id, self.run, self.hours];
        own.into_iter().chain(self.covariates.iter().copied())
    }
}

impl RunTable {
    fn without_rows(sheet: &Sheet) -> Self {
        let column = |name: &str| sheet.column(name).unwrap_or_default();
        let further = |&at: &usize| !NEEDED.contains(&sheet.header[at].as_str());
        let columns = Columns {
            edge_id: column("edge_id"),
            run: column("run"),
            hours: column("hours"),
            covariates: (0..sheet.header.len()).filter(further).collect(),
        };
        let name = |&at: &usize| sheet.header[at].clone();
        Self {
            covariate_names: columns.covariates.iter().map(name).collect(),
            place: sheet.place(),
            columns,
            by_edge: HashMap::new(),
        }
    }
}

pub(super) fn read_row(
    place: &Place,
    row: &Row,
    columns: &Columns,
    faults: &mut Faults,
) -> Option<(String, RunRow)> {
    let named = |text: &str| (!text.is_empty()).then(|| text.to_string());
    let edge = place.cell(
        row,
        columns.edge_id,
        "the edge_id of an edge",
        named,
        faults,
    );
    let number = place.cell(
        row,
        columns.run,
        "a whole number from 1 up",
        counted,
        faults,
    );
    let wanted = "hours, zero or more, such as 3.5";
    let hours = place.cell(
        row,
        columns.hours,
        wanted,
        place.hours(columns.hours),
        faults,
    );
    let covariates: Vec<Option<f64>> = columns
        .covariates
        .iter()
        .map(|&at| place.cell(row, at, "a number", finite, faults))
        .collect();
    let covariates: Option<Vec<f64>> = covariates.into_iter().collect();
    let read = hours.zip(covariates).map(|(written, covariates)| {
        let hours = written.hours;
        (written, EdgeRun { hours, covariates })
    });
    let line = row.line;
    edge.map(|edge| (edge, RunRow { line, number, read }))
}

fn counted(text: &str) -> Option<usize> {
    text.parse().ok().filter(|number| *number >= 1)
}

/// Runs are numbered 1 to n, each once; the first that is not is told.
pub(super) fn check_numbers(place: &Place, runs: &[RunRow], column: usize, faults: &mut Faults) {
    if runs.iter().any(|run| run.number.is_none()) {
        return; // told already; the rest would seem to have a gap
    }
    let wrong = (1..)
        .zip(runs)
        .find(|(next, run)| run.number != Some(*next));
    if let Some((next, run)) = wrong {
        let found = run
            .number
            .map_or(String::new(), |number| number.to_string());
        let wanted =
            format!("{next}: the runs of an edge are numbered 1, 2, 3 and so on, each once");
        place.fault(run.line, column, &found, wanted, faults);
    }
}
