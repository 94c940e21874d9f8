//! Tables of edges and of their runs as text, a piece at a time: a fleet's do not fit into memory.

use crate::logbook::{EdgeSeen, EdgeWithRuns};
use std::fmt::Write;

/// Two tables as text, as [`crate::logbook::read_edge_runs`] reads them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct EdgeRunsText {
    /// The edges.
    pub edges: String,
    /// Their runs.
    pub runs: String,
}

impl EdgeRunsText {
    /// The header lines, with the column that says what edges share.
    pub fn header(group: &str, covariates: &[&str]) -> Self {
        let names: String = covariates.iter().map(|name| format!(",{name}")).collect();
        Self {
            edges: format!("edge_id,{group},kind,struck,n_runs,sharp_run,dull_run,hours_total\n"),
            runs: format!("edge_id,run,hours{names}\n"),
        }
    }

    /// One more edge of `group`. Names with commas or quotes have no place in such a table.
    pub fn push(&mut self, group: &str, edge: &EdgeWithRuns) {
        let (kind, sharp, dull) = match edge.seen {
            EdgeSeen::Exact { dull_run } => ("exact", dull_run.saturating_sub(1), Some(dull_run)),
            EdgeSeen::Interval {
                sharp_run,
                dull_run,
            } => ("interval", sharp_run, Some(dull_run)),
            EdgeSeen::Left { dull_run } => ("left", 0, Some(dull_run)),
            EdgeSeen::Right { sharp_run } => ("right", sharp_run, None),
        };
        let dull = dull.map_or(String::new(), |run| run.to_string());
        let total: f64 = edge.runs.iter().map(|run| run.hours.get()).sum();
        let (id, count, struck) = (&edge.id, edge.runs.len(), u8::from(edge.struck));
        // Writing to a text cannot fail.
        let _ = writeln!(
            self.edges,
            "{id},{group},{kind},{struck},{count},{sharp},{dull},{total:.4}"
        );
        for (number, run) in (1..).zip(&edge.runs) {
            let _ = write!(self.runs, "{id},{number},{}", run.hours.get());
            for value in &run.covariates {
                let _ = write!(self.runs, ",{value}");
            }
            self.runs.push('\n');
        }
    }
}
