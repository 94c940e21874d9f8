//! Both files row by row, side by side: every fault is named, and no more than one edge is held.

use super::super::edges::{self, EdgeRow, EdgeTable};
use super::super::joined::Check;
use super::super::runs::{self, RunRow, RunTable};
use super::super::sheet::{Faults, Row, rows};
use super::builder::Builder;
use super::levels::Levels;
use super::{EdgeHours, EdgeRunsReadError};
use std::collections::HashSet;
use std::path::Path;

/// A table of millions of rows may have millions of faults: after so many the rest is not read.
const MOST_FAULTS: usize = 100;

/// The tables, or what is wrong with them.
pub(super) fn read(
    edge_file: &Path,
    run_file: &Path,
    group: Option<&str>,
) -> Result<EdgeHours, EdgeRunsReadError> {
    let mut faults = Faults::default();
    let edges = edges::heading(edge_file, group, &mut faults)?;
    let runs = runs::heading(run_file, &mut faults)?;
    let (Some((edges, edge_reader)), Some((runs, run_reader))) = (edges, runs) else {
        return Err(told(faults));
    };
    let mut stream = Stream {
        builder: Builder::new(runs.covariate_names.len()),
        run_rows: Box::new(rows(run_file, run_reader)),
        next: None,
        levels: Levels::default(),
        edges,
        runs,
        faults,
    };
    stream.next = stream.next_run()?;
    let mut ids = HashSet::new();
    for row in rows(edge_file, edge_reader) {
        stream.edge(&row?, &mut ids)?;
        if stream.faults.count() >= MOST_FAULTS {
            break;
        }
    }
    stream.done()
}

fn told(faults: Faults) -> EdgeRunsReadError {
    EdgeRunsReadError::Faults {
        problems: faults.told(),
    }
}

struct Stream<'f> {
    edges: EdgeTable,
    runs: RunTable,
    run_rows: Box<dyn Iterator<Item = Result<Row, EdgeRunsReadError>> + 'f>,
    /// The first run that belongs to no edge yet.
    next: Option<(String, RunRow)>,
    levels: Levels,
    builder: Builder,
    faults: Faults,
}

impl Stream<'_> {
    fn next_run(&mut self) -> Result<Option<(String, RunRow)>, EdgeRunsReadError> {
        while self.faults.count() < MOST_FAULTS
            && let Some(row) = self.run_rows.next()
        {
            let (row, table) = (row?, &self.runs);
            table.place.no_more_cells(&row, &mut self.faults);
            let run = runs::read_row(&table.place, &row, &table.columns, &mut self.faults);
            if run.is_some() {
                return Ok(run);
            }
        }
        Ok(None)
    }

    /// One edge and the runs that come next.
    fn edge(&mut self, row: &Row, ids: &mut HashSet<String>) -> Result<(), EdgeRunsReadError> {
        let table = &self.edges;
        table.place.no_more_cells(row, &mut self.faults);
        let edge = edges::read_row(&table.place, row, &table.columns, ids, &mut self.faults);
        let Some(edge) = edge else {
            return self.skip_edge();
        };
        let mut own = Vec::new();
        while let Some((id, run)) = self.next.take() {
            if id != edge.id {
                self.next = Some((id, run));
                break;
            }
            own.push(run);
            self.next = self.next_run()?;
        }
        // From here on the two files are out of step, and every edge would seem to have no runs.
        if own.is_empty() && self.out_of_order(&edge) {
            return Err(told(std::mem::take(&mut self.faults)));
        }
        own.sort_by_key(|run| (run.number, run.line));
        runs::check_numbers(
            &self.runs.place,
            &own,
            self.runs.columns.run,
            &mut self.faults,
        );
        let check = Check {
            edges: &self.edges,
            row: &edge,
            runs: &own,
        };
        match check.joined(&self.runs, None, &mut self.faults) {
            Some(Ok(mut joined)) => {
                joined.level = edge
                    .group
                    .as_deref()
                    .map(|name| self.levels.number(name) as usize);
                self.builder.push(&joined);
            }
            Some(Err(unused)) => self.builder.hours.set_aside.push(unused),
            None => {}
        }
        Ok(())
    }

    /// Leaves out the runs that come next, of an edge that has been found at fault.
    fn skip_edge(&mut self) -> Result<(), EdgeRunsReadError> {
        let Some((id, _)) = self.next.take() else {
            return Ok(());
        };
        self.next = self.next_run()?;
        while self.next.as_ref().is_some_and(|(other, _)| *other == id) {
            self.next = self.next_run()?;
        }
        Ok(())
    }

    /// Whether a run of another edge stands where one of this edge should, which is told.
    fn out_of_order(&mut self, edge: &EdgeRow) -> bool {
        let Some((id, run)) = &self.next else {
            return false;
        };
        let wanted = format!(
            "a run of edge \"{}\": in tables this large the runs of an edge stand together, and edges in the order of {}",
            edge.id,
            self.edges.place.name()
        );
        let (place, column) = (&self.runs.place, self.runs.columns.edge_id);
        place.fault(run.line, column, id, wanted, &mut self.faults);
        true
    }

    fn done(mut self) -> Result<EdgeHours, EdgeRunsReadError> {
        if let Some((id, run)) = self.next.take()
            && self.faults.count() == 0
        {
            let edges = self.edges.place.name();
            let wanted = format!("no more rows: the edges of {edges} have all had their runs");
            let (place, column) = (&self.runs.place, self.runs.columns.edge_id);
            place.fault(run.line, column, &id, wanted, &mut self.faults);
        }
        if self.faults.count() > 0 {
            return Err(told(self.faults));
        }
        let mut hours = self.builder.done();
        hours.levels = self.levels.in_order(&mut hours.level);
        Ok(EdgeHours {
            covariate_names: self.runs.covariate_names,
            group_name: self.edges.group_name,
            unused_columns: self.edges.unused_columns,
            ..hours
        })
    }
}
