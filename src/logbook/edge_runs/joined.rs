//! Edges and their runs put together, and what only both files together show.

use super::edges::{EdgeRow, EdgeTable};
use super::label::natural_order;
use super::runs::{RunRow, RunTable};
use super::sheet::{Faults, WrittenHours};
use super::summed::Summed;
use super::{EdgeRun, EdgeRuns, EdgeSeen, EdgeWithRuns, UnusedEdge};
use std::collections::{HashMap, HashSet};

/// Puts the tables together; what it returns may be used only where no fault was found.
pub(super) fn join(edges: EdgeTable, mut runs: RunTable, faults: &mut Faults) -> EdgeRuns {
    unknown_edges(&edges, &runs, faults);
    let levels = levels(&edges);
    let mut joined = EdgeRuns {
        covariate_names: runs.covariate_names.clone(),
        group_name: edges.group_name.clone(),
        levels: levels.clone(),
        unused_columns: edges.unused_columns.clone(),
        ..EdgeRuns::default()
    };
    let places: HashMap<&String, usize> = levels.iter().zip(0..).collect();
    let mut rows: Vec<&EdgeRow> = edges.edges.iter().collect();
    rows.sort_by(|one, other| natural_order(&one.id, &other.id));
    for row in rows {
        let of_edge = runs.by_edge.remove(&row.id).unwrap_or_default();
        let level = row
            .group
            .as_ref()
            .and_then(|name| places.get(name).copied());
        let check = Check {
            edges: &edges,
            row,
            runs: &of_edge,
        };
        match check.joined(&runs, level, faults) {
            Some(Ok(edge)) => joined.edges.push(edge),
            Some(Err(unused)) => joined.set_aside.push(unused),
            None => {}
        }
    }
    joined
}

fn levels(edges: &EdgeTable) -> Vec<String> {
    let mut levels: Vec<String> = edges
        .edges
        .iter()
        .filter_map(|edge| edge.group.clone())
        .collect();
    levels.sort_by(|one, other| natural_order(one, other));
    levels.dedup();
    levels
}

fn unknown_edges(edges: &EdgeTable, runs: &RunTable, faults: &mut Faults) {
    let known: HashSet<&String> = edges.edges.iter().map(|edge| &edge.id).collect();
    let wanted = format!(
        "the edge_id of an edge that stands in {}",
        edges.place.name()
    );
    for (id, rows) in runs.by_edge.iter().filter(|(id, _)| !known.contains(id)) {
        for run in rows {
            runs.place
                .fault_named(run.line, "edge_id", id, wanted.as_str(), faults);
        }
    }
}

/// One edge and its runs, held against each other.
pub(super) struct Check<'a> {
    pub(super) edges: &'a EdgeTable,
    pub(super) row: &'a EdgeRow,
    pub(super) runs: &'a [RunRow],
}

impl Check<'_> {
    pub(super) fn joined(
        &self,
        runs: &RunTable,
        level: Option<usize>,
        faults: &mut Faults,
    ) -> Option<Result<EdgeWithRuns, UnusedEdge>> {
        if self.runs.is_empty() {
            let wanted = format!(
                "an edge that has runs in {}, or leave the row out",
                runs.place.name()
            );
            self.fault(self.edges.columns.edge_id, &self.row.id, wanted, faults);
            return None;
        }
        self.count(faults);
        let in_range = self.row.seen.filter(|seen| self.in_range(*seen, faults));
        let read: Option<Vec<(WrittenHours, EdgeRun)>> =
            self.runs.iter().map(|run| run.read.clone()).collect();
        let (written, runs): (Vec<WrittenHours>, Vec<EdgeRun>) = read?.into_iter().unzip();
        self.total(&written, faults);
        let seen = in_range?;
        if runs.iter().all(|run| run.hours.get() == 0.0) {
            return Some(Err(UnusedEdge {
                id: self.row.id.clone(),
                reason: "it has run no hours at all",
            }));
        }
        self.possible(seen, &runs, faults).then(|| {
            Ok(EdgeWithRuns {
                id: self.row.id.clone(),
                level,
                seen,
                struck: self.row.struck,
                runs,
            })
        })
    }

    fn fault(&self, column: usize, found: &str, wanted: String, faults: &mut Faults) {
        self.edges
            .place
            .fault(self.row.line, column, found, wanted, faults);
    }

    fn count(&self, faults: &mut Faults) {
        if let (Some(column), Some(told)) = (self.edges.columns.n_runs, self.row.n_runs)
            && told != self.runs.len()
        {
            let wanted = format!("{}, the number of its runs", self.runs.len());
            self.fault(column, &told.to_string(), wanted, faults);
        }
    }

    /// The hours that are told agree with the runs, but for what rounding each when written can do.
    /// Whole numbers of hours count as exact where all are whole.
    fn total(&self, written: &[WrittenHours], faults: &mut Faults) {
        let (Some(column), Some(told)) = (self.edges.columns.hours_total, self.row.hours_total)
        else {
            return;
        };
        let mut summed = Summed::default();
        written.iter().for_each(|run| summed.add(*run));
        if !summed.agrees(told) {
            let sum = summed.sum;
            let decimals = written
                .iter()
                .map(|run| run.decimals)
                .max()
                .unwrap_or(0)
                .clamp(0, 9);
            let wanted = format!(
                "{sum:.*}, the sum of the hours of its runs",
                decimals as usize
            );
            self.fault(column, &told.hours.get().to_string(), wanted, faults);
        }
    }

    /// The runs spoken of are there.
    fn in_range(&self, seen: EdgeSeen, faults: &mut Faults) -> bool {
        let columns = &self.edges.columns;
        let (sharp, dull) = ends(seen);
        let pairs = [(columns.sharp_run, Some(sharp)), (columns.dull_run, dull)];
        let mut right = true;
        for (column, run) in pairs {
            if let Some(run) = run.filter(|run| *run > self.runs.len()) {
                let wanted = format!("a run of this edge, not above {}", self.runs.len());
                self.fault(column, &run.to_string(), wanted, faults);
                right = false;
            }
        }
        right
    }

    /// An edge goes dull by running, and one that went dull in its last hour was not ended by a strike.
    fn possible(&self, seen: EdgeSeen, runs: &[EdgeRun], faults: &mut Faults) -> bool {
        let ran = |from: usize, to: usize| runs[from..to].iter().any(|run| run.hours.get() > 0.0);
        let (sharp, dull) = ends(seen);
        let Some(dull) = dull else { return true };
        if !ran(sharp, dull) {
            let wanted = format!("a run by whose end it had run since the end of run {sharp}");
            self.fault(
                self.edges.columns.dull_run,
                &dull.to_string(),
                wanted,
                faults,
            );
            return false;
        }
        let ended_dull = matches!(seen, EdgeSeen::Exact { .. }) && !ran(dull, runs.len());
        if let Some(column) = self
            .edges
            .columns
            .struck
            .filter(|_| self.row.struck && ended_dull)
        {
            let wanted = "0, or kind right: this edge went dull at its very end";
            self.fault(column, "1", wanted.to_string(), faults);
            return false;
        }
        true
    }
}

/// Last run known sharp and first known dull.
pub(super) fn ends(seen: EdgeSeen) -> (usize, Option<usize>) {
    match seen {
        EdgeSeen::Exact { dull_run } | EdgeSeen::Left { dull_run } => (0, Some(dull_run)),
        EdgeSeen::Interval {
            sharp_run,
            dull_run,
        } => (sharp_run, Some(dull_run)),
        EdgeSeen::Right { sharp_run } => (sharp_run, None),
    }
}
