//! The names of machines and sets, which runs and events refer to.

use super::cells::{Parsed, nearest};
use crate::logbook::LogFile;
use crate::logbook::files::folded;
use std::collections::HashMap;

/// A machine or a set, as far as others refer to it.
#[derive(Debug, Clone)]
pub(super) struct Named {
    pub(super) name: String,
    pub(super) line: u64,
    /// Edges on each knife, where that could be read.
    pub(super) edges: Option<u32>,
}

/// The names in one file. A row that was set aside keeps its name known: its own fault is told once,
/// and not again with every run that names it.
#[derive(Debug, Default)]
pub(super) struct Names {
    all: Vec<Named>,
    /// Where each stands, by its folded name: a fleet's rows name hundreds of machines and sets.
    places: HashMap<String, usize>,
    /// The file could not be read, so that any name may be right.
    pub(super) any: bool,
}

/// Records that others refer to, with their names.
#[derive(Debug)]
pub(super) struct NamedRecords<T> {
    pub(super) records: Vec<T>,
    pub(super) names: Names,
}

impl<T> Default for NamedRecords<T> {
    fn default() -> Self {
        Self {
            records: Vec::new(),
            names: Names::default(),
        }
    }
}

/// The names that runs and events may use.
#[derive(Debug, Default)]
pub(super) struct Known {
    pub(super) machines: Names,
    pub(super) sets: Names,
}

impl Names {
    pub(super) fn find(&self, name: &str) -> Option<&Named> {
        self.all.get(*self.places.get(&folded(name))?)
    }

    /// Adds a name; refuses one that is there already.
    pub(super) fn add(&mut self, named: Named) -> Parsed<()> {
        if let Some(first) = self.find(&named.name) {
            return Err(format!(
                "a name of its own: line {} has this one already",
                first.line
            ));
        }
        self.places.insert(folded(&named.name), self.all.len());
        self.all.push(named);
        Ok(())
    }

    /// The name as its own file writes it.
    pub(super) fn resolve(&self, name: &str, file: LogFile) -> Parsed<String> {
        if let Some(known) = self.find(name) {
            return Ok(known.name.clone());
        }
        if self.any {
            return Ok(name.to_owned());
        }
        let names: Vec<&str> = self.all.iter().map(|known| known.name.as_str()).collect();
        Err(match nearest(name, &names) {
            Some(near) => format!("\"{near}\", if that is meant: no row of {file} has this name"),
            None => format!("a name that {file} has; it has {}", list(&names)),
        })
    }
}

/// The names in a line, the first few where they are many.
fn list(names: &[&str]) -> String {
    const MOST: usize = 8;
    match names.len() {
        0 => "none yet".to_owned(),
        number if number > MOST => {
            format!(
                "{} and others",
                names.get(..MOST).unwrap_or_default().join(", ")
            )
        }
        _ => names.join(", "),
    }
}
