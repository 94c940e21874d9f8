//! The header line of a life table.

use super::error::LifeTableReadError;
use crate::logbook::RowNames;
use crate::logbook::text_rows::TextColumns;
use std::collections::HashSet;
use std::path::Path;

/// Names of all columns, and where those that count stand.
#[derive(Debug, Clone)]
pub struct Header {
    pub names: Vec<String>,
    pub columns: Columns,
    /// What the rows below are called.
    pub rows: RowNames,
}

impl Header {
    /// Of a table with these columns.
    pub fn of(
        file: &Path,
        table: &TextColumns,
        covariates: &[String],
    ) -> Result<Self, LifeTableReadError> {
        let names: Vec<String> = table.names.iter().map(|name| plain_name(name)).collect();
        let columns = Columns::find(file, &names, table.rows, covariates)?;
        let unreadable = columns
            .used()
            .find_map(|at| Some((at, table.unreadable(at)?)));
        if let Some((at, found)) = unreadable {
            return Err(LifeTableReadError::UnreadableColumn {
                file: file.to_path_buf(),
                column: names.get(at).cloned().unwrap_or_default(),
                found: found.to_string(),
            });
        }
        let rows = table.rows;
        Ok(Self {
            names,
            columns,
            rows,
        })
    }

    /// Columns without a meaning that nobody asked for.
    pub fn unused(&self, covariates: &[String]) -> Vec<String> {
        let unused = self
            .names
            .iter()
            .filter(|name| !KNOWN.contains(&name.as_str()) && !covariates.contains(name));
        unused.cloned().collect()
    }
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

/// Where the columns that count stand.
#[derive(Debug, Clone)]
pub struct Columns {
    pub lower: usize,
    pub upper: usize,
    pub weight: Option<usize>,
    pub entry: Option<usize>,
    pub covariates: Vec<usize>,
}

impl Columns {
    fn find(
        file: &Path,
        header: &[String],
        rows: RowNames,
        covariates: &[String],
    ) -> Result<Self, LifeTableReadError> {
        let mut seen = HashSet::new();
        if let Some(column) = header.iter().find(|name| !seen.insert(name.as_str())) {
            return Err(LifeTableReadError::TwiceTheColumn {
                file: file.to_path_buf(),
                rows,
                column: column.clone(),
            });
        }
        let place = |wanted: &str| header.iter().position(|name| name == wanted);
        let must = |column: &'static str| {
            place(column).ok_or(LifeTableReadError::MissingColumn {
                file: file.to_path_buf(),
                rows,
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

    /// Those that are read.
    pub fn used(&self) -> impl Iterator<Item = usize> {
        let own = [Some(self.lower), Some(self.upper), self.weight, self.entry];
        let covariates = self.covariates.iter().copied();
        own.into_iter().flatten().chain(covariates)
    }
}
