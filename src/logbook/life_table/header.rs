//! The header line of a life table.

use super::error::LifeTableReadError;
use std::collections::HashSet;
use std::fs::File;
use std::path::Path;

/// Names of all columns, and where those that count stand.
#[derive(Debug, Clone)]
pub struct Header {
    pub names: Vec<String>,
    pub columns: Columns,
}

impl Header {
    /// Reads it.
    pub fn of(
        file: &Path,
        reader: &mut csv::Reader<File>,
        covariates: &[String],
    ) -> Result<Self, LifeTableReadError> {
        let header = reader.headers().map_err(|error| LifeTableReadError::File {
            file: file.to_path_buf(),
            error,
        })?;
        let names: Vec<String> = header
            .iter()
            .map(|name| plain_name(name.trim_start_matches('\u{feff}')))
            .collect();
        let columns = Columns::find(file, &names, covariates)?;
        Ok(Self { names, columns })
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
