//! A table whose cells are read one by one, every fault being kept.

use super::{EdgeRunsProblem, EdgeRunsReadError};
use crate::logbook::text_rows::{READABLE, TextColumns, TextRows};
use crate::quantities::MeterHours;
use std::path::{Path, PathBuf};

/// The faults found so far in both files.
#[derive(Debug, Default)]
pub(super) struct Faults(Vec<EdgeRunsProblem>);

impl Faults {
    /// How many there are.
    pub(super) fn count(&self) -> usize {
        self.0.len()
    }

    /// All of them: file by file, line by line.
    pub(super) fn told(self) -> Vec<EdgeRunsProblem> {
        let mut files: Vec<PathBuf> = Vec::new();
        for problem in &self.0 {
            if !files.contains(&problem.file) {
                files.push(problem.file.clone());
            }
        }
        let mut problems = self.0;
        problems.sort_by_key(|problem| {
            let file = files.iter().position(|file| *file == problem.file);
            (file, problem.line)
        });
        problems
    }
}

/// One file: its name, header and rows.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) file: PathBuf,
    pub(super) header: Vec<String>,
    pub(super) rows: Vec<Row>,
    columns: TextColumns,
}

/// One row below the header.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) line: u64,
    cells: csv::StringRecord,
}

impl Row {
    pub(super) fn text(&self, column: usize) -> &str {
        self.cells.get(column).unwrap_or_default()
    }
}

/// Which file and header a fault belongs to.
#[derive(Debug, Clone)]
pub(super) struct Place {
    file: PathBuf,
    header: Vec<String>,
    columns: TextColumns,
}

impl Sheet {
    /// Opens a file; columns among `known` may be typed in any case.
    pub(super) fn open(file: &Path, known: &[&str]) -> Result<Self, EdgeRunsReadError> {
        let (mut sheet, reader) = Self::heading(file, known)?;
        for row in rows(file, reader) {
            sheet.rows.push(row?);
        }
        Ok(sheet)
    }

    /// The header alone, and what stands below.
    pub(super) fn heading(
        file: &Path,
        known: &[&str],
    ) -> Result<(Self, TextRows), EdgeRunsReadError> {
        let (columns, reader) = TextRows::open(file).map_err(|error| EdgeRunsReadError::File {
            file: file.to_path_buf(),
            error,
        })?;
        let plain = |name: &String| {
            let lower = name.to_lowercase();
            if known.contains(&lower.as_str()) {
                lower
            } else {
                name.clone()
            }
        };
        let sheet = Self {
            file: file.to_path_buf(),
            header: columns.names.iter().map(plain).collect(),
            rows: Vec::new(),
            columns,
        };
        Ok((sheet, reader))
    }

    pub(super) fn column(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|column| column == name)
    }

    pub(super) fn place(&self) -> Place {
        Place {
            file: self.file.clone(),
            header: self.header.clone(),
            columns: self.columns.clone(),
        }
    }

    /// Faults of the header, and of a table without rows. `needed` columns must be there.
    pub(super) fn check(&self, needed: &[&str], faults: &mut Faults) -> bool {
        let place = self.place();
        let before = faults.0.len();
        let needed_is_there = self.check_header(needed, faults);
        if faults.0.len() == before && self.rows.is_empty() {
            place.fault(2, 0, "", "rows below the header", faults);
        }
        for row in &self.rows {
            place.no_more_cells(row, faults);
        }
        needed_is_there
    }

    /// Faults of the header alone; whether all `needed` columns are there.
    pub(super) fn check_header(&self, needed: &[&str], faults: &mut Faults) -> bool {
        let place = self.place();
        for missing in needed.iter().filter(|name| self.column(name).is_none()) {
            let header = self.columns.rows.header();
            let wanted = format!("{header} with the columns {}", needed.join(", "));
            place.fault_named(1, missing, "", wanted, faults);
        }
        for (at, name) in self.header.iter().enumerate() {
            if name.is_empty() {
                let number = format!("number {}", at + 1);
                place.fault_named(1, &number, "", "a name for this column", faults);
            } else if self.header[..at].contains(name) {
                place.fault_named(1, name, name, "a name that no other column has", faults);
            }
        }
        needed.iter().all(|name| self.column(name).is_some())
    }

    /// Whether these columns hold what can be read; others are faults of the header.
    pub(super) fn check_kinds(
        &self,
        columns: impl IntoIterator<Item = usize>,
        faults: &mut Faults,
    ) -> bool {
        let before = faults.0.len();
        for column in columns {
            if let Some(what) = self.columns.unreadable(column) {
                self.place().fault(1, column, what, READABLE, faults);
            }
        }
        faults.0.len() == before
    }
}

/// The rows below the header, one by one.
pub(super) fn rows(
    file: &Path,
    mut reader: TextRows,
) -> impl Iterator<Item = Result<Row, EdgeRunsReadError>> {
    std::iter::from_fn(move || {
        loop {
            let mut cells = csv::StringRecord::new();
            match reader.next_row(&mut cells) {
                Err(error) => {
                    let file = file.to_path_buf();
                    return Some(Err(EdgeRunsReadError::File { file, error }));
                }
                Ok(None) => return None,
                // A line of commas alone is what a spreadsheet leaves below a table.
                Ok(Some(_)) if cells.iter().all(str::is_empty) => {}
                Ok(Some(line)) => return Some(Ok(Row { line, cells })),
            }
        }
    })
}

impl Place {
    /// A row may not have more cells than the header.
    pub(super) fn no_more_cells(&self, row: &Row, faults: &mut Faults) {
        let extra: Vec<&str> = row.cells.iter().skip(self.header.len()).collect();
        if !extra.is_empty() {
            let wanted = "no more cells than the header has";
            self.fault_named(row.line, "after the last", &extra.join(","), wanted, faults);
        }
    }

    /// A cell that is wrong.
    pub(super) fn fault(
        &self,
        line: u64,
        column: usize,
        found: &str,
        wanted: impl Into<String>,
        faults: &mut Faults,
    ) {
        let name = self.header.get(column).map_or("", String::as_str);
        self.fault_named(line, name, found, wanted, faults);
    }

    pub(super) fn fault_named(
        &self,
        line: u64,
        column: &str,
        found: &str,
        wanted: impl Into<String>,
        faults: &mut Faults,
    ) {
        faults.0.push(EdgeRunsProblem {
            file: self.file.clone(),
            rows: self.columns.rows,
            line,
            column: column.to_string(),
            found: found.to_string(),
            wanted: wanted.into(),
        });
    }

    /// How many columns the header has.
    pub(super) fn columns(&self) -> usize {
        self.header.len()
    }

    /// The file's own name, for faults of the other file.
    pub(super) fn name(&self) -> String {
        self.file.display().to_string()
    }

    /// Decimals that hours in a column have at the least. Where zeros at their ends are not kept, whole ones may have
    /// been rounded all the same.
    pub(super) fn least_decimals(&self, column: usize) -> i32 {
        i32::from(self.columns.is_floating(column))
    }

    /// Reads hours in a column.
    pub(super) fn hours(&self, column: usize) -> impl Fn(&str) -> Option<WrittenHours> {
        let least = self.least_decimals(column);
        move |text| {
            let written = written_hours(text)?;
            let decimals = written.decimals.max(least);
            Some(WrittenHours {
                decimals,
                ..written
            })
        }
    }

    /// The cell read by `read`, or a fault.
    pub(super) fn cell<T>(
        &self,
        row: &Row,
        column: usize,
        wanted: &str,
        read: impl FnOnce(&str) -> Option<T>,
        faults: &mut Faults,
    ) -> Option<T> {
        let text = row.text(column);
        let value = read(text);
        if value.is_none() {
            self.fault(row.line, column, text, wanted, faults);
        }
        value
    }
}

/// A number that can be reckoned with.
pub(super) fn finite(text: &str) -> Option<f64> {
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

/// Hours with what may have been rounded away when they were written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct WrittenHours {
    pub(super) hours: MeterHours,
    /// Decimals written.
    pub(super) decimals: i32,
}

pub(super) fn written_hours(text: &str) -> Option<WrittenHours> {
    let hours = MeterHours::new(finite(text)?).ok()?;
    let decimals = text.split_once('.').map_or(0, |(_, after)| {
        after.bytes().take_while(u8::is_ascii_digit).count() as i32
    });
    Some(WrittenHours { hours, decimals })
}
