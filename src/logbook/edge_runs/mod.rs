//! Edges whose conditions change from run to run, as two plain tables: what was seen of each edge, and
//! the runs that it went through.
//!
//! Like a life table, and unlike a crew's log, tables with a fault are not used at all: a fit on part of
//! them would answer another question. Every fault in both files is told at once.

mod edges;
mod error;
mod hours;
mod joined;
mod label;
mod runs;
mod sheet;
mod summed;

pub use error::{EdgeRunsProblem, EdgeRunsReadError};
pub use hours::{CovariateRows, Dulling, EdgeHours, has_lines, read_edge_hours};

use crate::quantities::MeterHours;
use sheet::Faults;
use std::path::Path;

/// What is known of the moment at which an edge went dull, in ends of its runs; run 0 ended when the edge
/// was fresh.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeSeen {
    /// Went dull exactly at the end of a run, which was cut there.
    Exact {
        /// That run.
        dull_run: usize,
    },
    /// Sharp at the end of one run, found dull at the end of a later one.
    Interval {
        /// Last run after which it was known to be sharp.
        sharp_run: usize,
        /// Run after which it was found dull.
        dull_run: usize,
    },
    /// Found dull at the first look.
    Left {
        /// Run after which it was found dull.
        dull_run: usize,
    },
    /// Never found dull.
    Right {
        /// Last run after which it was known to be sharp; 0 where it was known only when fresh.
        sharp_run: usize,
    },
}

/// One run of one edge.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeRun {
    /// How long.
    pub hours: MeterHours,
    /// Covariates of the wear rate, in the order of [`EdgeRuns::covariate_names`].
    pub covariates: Vec<f64>,
}

/// One edge with its runs.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeWithRuns {
    /// What it is called.
    pub id: String,
    /// Which of [`EdgeRuns::levels`] it belongs to; `None` where no group was asked for.
    pub level: Option<usize>,
    /// What was seen of it.
    pub seen: EdgeSeen,
    /// A strike ended it after its last run.
    pub struck: bool,
    /// Its runs, in order.
    pub runs: Vec<EdgeRun>,
}

/// An edge that cannot be used, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnusedEdge {
    /// What it is called.
    pub id: String,
    /// Why, in words.
    pub reason: &'static str,
}

/// Two tables of edges and runs, put together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EdgeRuns {
    /// Names of the covariates of the wear rate, in the order of the runs file.
    pub covariate_names: Vec<String>,
    /// Column of the edges file that says what edges share.
    pub group_name: Option<String>,
    /// What stands in that column: numbers by size, then words by letters.
    pub levels: Vec<String>,
    /// Edges that are used, by their ids: numbers by size, then words by letters.
    pub edges: Vec<EdgeWithRuns>,
    /// Edges that are not, in the same order.
    pub set_aside: Vec<UnusedEdge>,
    /// Columns of the edges file that mean nothing here.
    pub unused_columns: Vec<String>,
}

impl EdgeRuns {
    /// Edges in the file: used and set aside.
    pub fn edges_found(&self) -> usize {
        self.edges.len() + self.set_aside.len()
    }

    /// Runs of the edges that are used.
    pub fn runs_used(&self) -> usize {
        self.edges.iter().map(|edge| edge.runs.len()).sum()
    }
}

/// Reads a table of edges and a table of their runs, or says everything that is wrong with them. The
/// order of rows means nothing.
///
/// Edges: `edge_id`, `kind` (`exact`, `interval`, `left`, `right`), `sharp_run`, `dull_run`; if need be
/// `struck` (0 or 1), `n_runs` and `hours_total`, which are held against the runs, `regime`, and the column
/// named by `group`. Runs: `edge_id`, `run` (1, 2, ... for each edge), `hours`; every further column is a
/// covariate of the wear rate.
///
/// # Errors
///
/// [`EdgeRunsReadError`], with every fault of both files in [`EdgeRunsReadError::Faults`].
pub fn read_edge_runs(
    edges: &Path,
    runs: &Path,
    group: Option<&str>,
) -> Result<EdgeRuns, EdgeRunsReadError> {
    let mut faults = Faults::default();
    let edge_table = edges::read(edges, group, &mut faults)?;
    let run_table = runs::read(runs, &mut faults)?;
    let joined = match (edge_table, run_table) {
        (Some(edge_table), Some(run_table)) => {
            Some(joined::join(edge_table, run_table, &mut faults))
        }
        _ => None,
    };
    match (joined, faults.told()) {
        (Some(joined), faults) if faults.is_empty() => Ok(joined),
        (_, problems) => Err(EdgeRunsReadError::Faults { problems }),
    }
}

#[cfg(test)]
mod tests;
