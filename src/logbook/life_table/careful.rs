//! Row by row, whatever stands in the table, naming every fault.

use super::LifeTableBlock;
use super::cell::{Ages, FROM_NEW, NOT_ENDED, value};
use super::error::{LifeTableProblem, LifeTableReadError};
use super::header::{Columns, Header};
use crate::logbook::TableFault;
use crate::logbook::text_rows::{TextColumns, TextRows};
use std::path::Path;

/// Rows of a block.
const BLOCK: usize = 16_384;

/// The file as a table: its columns, and the rows below.
pub fn open(file: &Path) -> Result<(TextColumns, TextRows), LifeTableReadError> {
    TextRows::open(file).map_err(|error| unreadable(file, error))
}

fn unreadable(file: &Path, error: TableFault) -> LifeTableReadError {
    LifeTableReadError::File {
        file: file.to_path_buf(),
        error,
    }
}

/// All rows below the header, or all faults in them.
pub fn read<T>(
    file: &Path,
    mut reader: TextRows,
    header: &Header,
    keep: &impl Fn(LifeTableBlock) -> T,
) -> Result<Vec<T>, LifeTableReadError> {
    let mut problems = Vec::new();
    let mut blocks = Vec::new();
    let mut block = LifeTableBlock::new(header);
    let mut record = csv::StringRecord::new();
    while let Some(line) = reader
        .next_row(&mut record)
        .map_err(|error| unreadable(file, error))?
    {
        let mut row = RowReader {
            line,
            header,
            record: &record,
            problems: &mut problems,
        };
        if let Some((ages, covariates)) = row.read(&header.columns) {
            block.push(&ages, &covariates);
        }
        if block.lower.len() == BLOCK {
            blocks.push(keep(std::mem::replace(
                &mut block,
                LifeTableBlock::new(header),
            )));
        }
    }
    if !problems.is_empty() {
        return Err(LifeTableReadError::Rows {
            file: file.to_path_buf(),
            problems,
        });
    }
    if !block.lower.is_empty() {
        blocks.push(keep(block));
    }
    Ok(blocks)
}

struct RowReader<'a> {
    line: u64,
    header: &'a Header,
    record: &'a csv::StringRecord,
    problems: &'a mut Vec<LifeTableProblem>,
}

impl RowReader<'_> {
    fn read(&mut self, columns: &Columns) -> Option<(Ages, Vec<f64>)> {
        let before = self.problems.len();
        let lower = self.number(columns.lower, FROM_NEW, "an age, zero or more, or nothing");
        let upper = self.number(
            columns.upper,
            NOT_ENDED,
            "an age above zero, inf, or nothing",
        );
        let weight = columns.weight.map_or(Some(1.0), |at| {
            self.number(at, None, "a weight, zero or more")
        });
        let entry = columns.entry.map_or(Some(0.0), |at| {
            self.number(at, FROM_NEW, "an age, zero or more, or nothing")
        });
        let covariates: Vec<Option<f64>> = columns
            .covariates
            .iter()
            .map(|&at| self.number(at, None, "a number"))
            .collect();
        self.no_more_cells();
        let ages = Ages {
            lower: lower?,
            upper: upper?,
            weight: weight?,
            entry: entry?,
        };
        let covariates: Vec<f64> = covariates.into_iter().collect::<Option<_>>()?;
        self.check(&ages, &covariates, columns);
        (self.problems.len() == before).then_some((ages, covariates))
    }

    fn no_more_cells(&mut self) {
        let cells = self.header.names.len();
        if self.record.len() > cells {
            let extra: Vec<&str> = self.record.iter().skip(cells).collect();
            self.fault_in(
                "after the last",
                &extra.join(","),
                "no more cells than the header has",
            );
        }
    }

    /// What no single cell shows.
    fn check(&mut self, ages: &Ages, covariates: &[f64], columns: &Columns) {
        let wanted = ages.wanted();
        let faults = [
            (Some(columns.lower), wanted.lower),
            (Some(columns.upper), wanted.upper),
            (columns.weight, wanted.weight),
            (columns.entry, wanted.entry),
        ];
        for (column, wanted) in faults {
            if let (Some(column), Some(wanted)) = (column, wanted) {
                self.fault(column, wanted);
            }
        }
        let mut all = columns.covariates.iter().zip(covariates);
        if let Some((&at, _)) = all.find(|(_, x)| !x.is_finite()) {
            self.fault(at, "a finite number");
        }
    }

    /// The number in a column; a blank cell is `blank`, or a fault where that is `None`.
    fn number(&mut self, column: usize, blank: Option<f64>, wanted: &'static str) -> Option<f64> {
        let value = value(self.record.get(column).unwrap_or(""), blank);
        if value.is_none() {
            self.fault(column, wanted);
        }
        value
    }

    fn fault(&mut self, column: usize, wanted: &'static str) {
        let found = self.record.get(column).unwrap_or("").to_string();
        let name = self.header.names[column].clone();
        self.fault_in(&name, &found, wanted);
    }

    fn fault_in(&mut self, column: &str, found: &str, wanted: &'static str) {
        self.problems.push(LifeTableProblem {
            rows: self.header.rows,
            line: self.line,
            column: column.to_string(),
            found: found.to_string(),
            wanted,
        });
    }
}
