//! A censored life table as anybody's survival software writes it.
//!
//! Columns `lower`, `upper`, optional `weight` and `entry`, and any number of covariates. Unlike a crew's
//! log, a table with a fault is not used at all: a fit on part of it would answer another question.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// One row of a life table.
#[derive(Debug, Clone, PartialEq)]
pub struct LifeTableRow {
    /// Known not to have ended by then; 0 where nothing is known.
    pub lower: f64,
    /// Known to have ended by then; infinite where never seen to end.
    pub upper: f64,
    /// How many such lives.
    pub weight: f64,
    /// Age at which it came into view; 0 where seen from new.
    pub entry: f64,
    /// Covariates, in the order of the table's names.
    pub covariates: Vec<f64>,
}

/// A life table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LifeTableFile {
    /// Names of the covariates asked for.
    pub covariate_names: Vec<String>,
    /// Names of the columns that nobody asked for.
    pub unused: Vec<String>,
    /// The rows.
    pub rows: Vec<LifeTableRow>,
}

/// One fault in a life table.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column \"{column}\": found \"{found}\"; write {wanted}")]
pub struct LifeTableProblem {
    /// Line in the file, the header being line 1.
    pub line: u64,
    /// Column, as the header calls it.
    pub column: String,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub wanted: &'static str,
}

/// Why a life table cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum LifeTableReadError {
    /// The file cannot be opened or read, or is no table.
    #[error("{}: {error}", file.display())]
    File {
        /// Which file.
        file: PathBuf,
        /// Why.
        error: csv::Error,
    },
    /// A column that must be there is not.
    #[error("{}: line 1 has no column \"{column}\"; write a header line with lower and upper", file.display())]
    MissingColumn {
        /// Which file.
        file: PathBuf,
        /// Which column.
        column: &'static str,
    },
    /// The same column stands twice.
    #[error("{}: line 1 has two columns \"{column}\"; give each its own name", file.display())]
    TwiceTheColumn {
        /// Which file.
        file: PathBuf,
        /// Which column.
        column: String,
    },
    /// A covariate was asked for that the table does not have.
    #[error("{}: there is no column \"{name}\"; the columns are {}", file.display(), columns.join(", "))]
    UnknownCovariate {
        /// Which file.
        file: PathBuf,
        /// What was asked for.
        name: String,
        /// What there is.
        columns: Vec<String>,
    },
    /// No rows.
    #[error("{}: there are no rows below the header", file.display())]
    Empty {
        /// Which file.
        file: PathBuf,
    },
    /// Faults in rows, all of them.
    #[error("{}: {} faults, the first on {}", file.display(), problems.len(), problems[0])]
    Rows {
        /// Which file.
        file: PathBuf,
        /// At least one.
        problems: Vec<LifeTableProblem>,
    },
}

/// Reads a life table with the covariates named, or says everything that is wrong with it. Other
/// columns may hold anything.
///
/// Blank or `inf` in `upper` is right-censored; blank or 0 in `lower` is left-censored; equal is exact.
///
/// # Errors
///
/// [`LifeTableReadError`], with every faulty cell in [`LifeTableReadError::Rows`].
pub fn read_life_table(
    file: &Path,
    covariates: &[String],
) -> Result<LifeTableFile, LifeTableReadError> {
    let unreadable = |error| LifeTableReadError::File {
        file: file.to_path_buf(),
        error,
    };
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_path(file)
        .map_err(unreadable)?;
    let header: Vec<String> = reader
        .headers()
        .map_err(unreadable)?
        .iter()
        .map(|name| plain_name(name.trim_start_matches('\u{feff}')))
        .collect();
    let columns = Columns::find(file, &header, covariates)?;
    let mut rows = Vec::new();
    let mut problems = Vec::new();
    for record in reader.records() {
        let record = record.map_err(unreadable)?;
        let line = record.position().map_or(0, csv::Position::line);
        let mut row = RowReader {
            line,
            header: &header,
            record: &record,
            problems: &mut problems,
        };
        rows.extend(row.read(&columns));
    }
    if !problems.is_empty() {
        return Err(LifeTableReadError::Rows {
            file: file.to_path_buf(),
            problems,
        });
    }
    if rows.is_empty() {
        return Err(LifeTableReadError::Empty {
            file: file.to_path_buf(),
        });
    }
    let unused = header
        .iter()
        .filter(|name| !KNOWN.contains(&name.as_str()) && !covariates.contains(name));
    Ok(LifeTableFile {
        covariate_names: covariates.to_vec(),
        unused: unused.cloned().collect(),
        rows,
    })
}

/// A column's name; the four known ones in whatever case they were typed.
fn plain_name(name: &str) -> String {
    let lower = name.to_lowercase();
    if KNOWN.contains(&lower.as_str()) {
        lower
    } else {
        name.to_string()
    }
}

/// Columns with a meaning of their own.
const KNOWN: [&str; 4] = ["lower", "upper", "weight", "entry"];

struct Columns {
    lower: usize,
    upper: usize,
    weight: Option<usize>,
    entry: Option<usize>,
    covariates: Vec<usize>,
}

impl Columns {
    fn find(
        file: &Path,
        header: &[String],
        covariates: &[String],
    ) -> Result<Self, LifeTableReadError> {
        let mut seen = HashSet::new();
        if let Some(column) = header.iter().find(|name| !seen.insert(name.as_str())) {
            return Err(LifeTableReadError::TwiceTheColumn {
                file: file.to_path_buf(),
                column: column.clone(),
            });
        }
        let place = |wanted: &str| header.iter().position(|name| name == wanted);
        let must = |column: &'static str| {
            place(column).ok_or(LifeTableReadError::MissingColumn {
                file: file.to_path_buf(),
                column,
            })
        };
        let covariate = |name: &String| {
            place(name).ok_or_else(|| LifeTableReadError::UnknownCovariate {
                file: file.to_path_buf(),
                name: name.clone(),
                columns: header.to_vec(),
            })
        };
        Ok(Self {
            lower: must("lower")?,
            upper: must("upper")?,
            weight: place("weight"),
            entry: place("entry"),
            covariates: covariates.iter().map(covariate).collect::<Result<_, _>>()?,
        })
    }
}

struct RowReader<'a> {
    line: u64,
    header: &'a [String],
    record: &'a csv::StringRecord,
    problems: &'a mut Vec<LifeTableProblem>,
}

impl RowReader<'_> {
    fn read(&mut self, columns: &Columns) -> Option<LifeTableRow> {
        let before = self.problems.len();
        let lower = self.number(columns.lower, Some(0.0), "an age, zero or more, or nothing");
        let upper = self.number(
            columns.upper,
            Some(f64::INFINITY),
            "an age above zero, inf, or nothing",
        );
        let weight = columns.weight.map_or(Some(1.0), |at| {
            self.number(at, None, "a weight, zero or more")
        });
        let entry = columns.entry.map_or(Some(0.0), |at| {
            self.number(at, Some(0.0), "an age, zero or more, or nothing")
        });
        let covariates: Vec<Option<f64>> = columns
            .covariates
            .iter()
            .map(|&at| self.number(at, None, "a number"))
            .collect();
        if self.record.len() > self.header.len() {
            let extra = self
                .record
                .iter()
                .skip(self.header.len())
                .collect::<Vec<_>>()
                .join(",");
            self.fault_in(
                "after the last",
                &extra,
                "no more cells than the header has",
            );
        }
        let row = LifeTableRow {
            lower: lower?,
            upper: upper?,
            weight: weight?,
            entry: entry?,
            covariates: covariates.into_iter().collect::<Option<_>>()?,
        };
        self.check(&row, columns);
        (self.problems.len() == before).then_some(row)
    }

    /// What no single cell shows.
    fn check(&mut self, row: &LifeTableRow, columns: &Columns) {
        if !(row.lower >= 0.0 && row.lower.is_finite()) {
            self.fault(columns.lower, "an age, zero or more");
        }
        if row.upper <= 0.0 {
            self.fault(columns.upper, "an age above zero, inf, or nothing");
        } else if row.upper < row.lower {
            self.fault(columns.upper, "an age not below lower");
        }
        if let Some(at) = columns
            .weight
            .filter(|_| !(row.weight >= 0.0 && row.weight.is_finite()))
        {
            self.fault(at, "a weight, zero or more");
        }
        if let Some(at) = columns.entry {
            if !(row.entry >= 0.0 && row.entry.is_finite()) {
                self.fault(at, "an age, zero or more");
            } else if row.entry >= row.upper || (row.lower > 0.0 && row.entry > row.lower) {
                self.fault(at, "an age at which this life was in view and not yet ended: not above lower, below upper");
            }
        }
        if row.covariates.iter().any(|x| !x.is_finite()) {
            let bad = columns
                .covariates
                .iter()
                .zip(&row.covariates)
                .find(|(_, x)| !x.is_finite());
            if let Some((&at, _)) = bad {
                self.fault(at, "a finite number");
            }
        }
    }

    /// The number in a column; a blank cell is `blank`, or a fault where that is `None`.
    fn number(&mut self, column: usize, blank: Option<f64>, wanted: &'static str) -> Option<f64> {
        let text = self.record.get(column).unwrap_or("");
        let value = match text.to_ascii_lowercase().as_str() {
            "" | "na" => blank,
            "inf" | "+inf" | "infinity" => Some(f64::INFINITY),
            plain => plain.parse().ok().filter(|value: &f64| !value.is_nan()),
        };
        if value.is_none() {
            self.fault(column, wanted);
        }
        value
    }

    fn fault(&mut self, column: usize, wanted: &'static str) {
        let found = self.record.get(column).unwrap_or("").to_string();
        let name = self.header[column].clone();
        self.fault_in(&name, &found, wanted);
    }

    fn fault_in(&mut self, column: &str, found: &str, wanted: &'static str) {
        self.problems.push(LifeTableProblem {
            line: self.line,
            column: column.to_string(),
            found: found.to_string(),
            wanted,
        });
    }
}
