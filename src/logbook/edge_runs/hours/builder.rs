//! Hours by row of covariates, edge by edge.

use super::super::joined::ends;
use super::{CovariateRows, Dulling, EdgeHours};
use crate::logbook::{EdgeSeen, EdgeWithRuns};

/// The edges so far, and the one whose runs are being added.
#[derive(Debug)]
pub(super) struct Builder {
    pub(super) hours: EdgeHours,
    /// Where the segments of this edge begin, and those of this phase of it.
    edge: usize,
    phase: usize,
    /// Segments by whose end it was sharp.
    sharp: usize,
    /// The row of the last run with hours.
    last: u32,
    dull: bool,
}

impl Builder {
    pub(super) fn new(covariates: usize) -> Self {
        Self {
            hours: EdgeHours {
                rows: CovariateRows::new(covariates),
                ..EdgeHours::default()
            },
            edge: 0,
            phase: 0,
            sharp: 0,
            last: 0,
            dull: false,
        }
    }

    /// One more run of this edge, which was sharp by the end of run `sharp` and dull by that of run `dull`.
    #[inline]
    pub(super) fn run(
        &mut self,
        number: usize,
        row: u32,
        hours: f64,
        (sharp, dull): (usize, usize),
    ) {
        self.hours.hours += hours;
        self.hours.runs += 1;
        let within = number <= sharp.max(dull);
        if !within || hours <= 0.0 {
            return;
        }
        if number > sharp && !self.dull {
            self.turns_dull();
        }
        self.last = row;
        let this = self
            .hours
            .segment_rows
            .get(self.phase..)
            .unwrap_or_default();
        match this.iter().position(|known| *known == row) {
            Some(place) => {
                if let Some(sum) = self.hours.segment_hours.get_mut(self.phase + place) {
                    *sum += hours;
                }
            }
            None => {
                self.hours.segment_rows.push(row);
                self.hours.segment_hours.push(hours);
            }
        }
    }

    fn turns_dull(&mut self) {
        self.phase = self.hours.segment_rows.len();
        self.sharp = self.phase - self.edge;
        self.dull = true;
    }

    /// The edge has no further runs.
    pub(super) fn end(&mut self, seen: EdgeSeen, level: Option<u32>, struck: bool) {
        if !self.dull {
            self.turns_dull();
        }
        let dulling = match seen {
            EdgeSeen::Exact { .. } => Dulling::Exact,
            EdgeSeen::Right { .. } => Dulling::Not,
            // Sharp at the end of runs without hours says nothing.
            _ if self.sharp == 0 => Dulling::Before,
            _ => Dulling::Between,
        };
        let hours = &mut self.hours;
        hours.dulling.push(dulling);
        hours.sharp.push(self.sharp as u32);
        hours.moment.push(self.last);
        hours.level.extend(level);
        hours.ends.push(hours.segment_rows.len());
        hours.strikes += usize::from(struck);
        self.edge = hours.segment_rows.len();
        (self.phase, self.sharp, self.last, self.dull) = (self.edge, 0, 0, false);
    }

    /// A whole edge.
    pub(super) fn push(&mut self, edge: &EdgeWithRuns) {
        let looks = looks(edge.seen);
        for (number, run) in (1..).zip(&edge.runs) {
            let row = self.hours.rows.number(&run.covariates);
            self.run(number, row, run.hours.get(), looks);
        }
        self.end(edge.seen, edge.level.map(|level| level as u32), edge.struck);
    }

    pub(super) fn done(self) -> EdgeHours {
        self.hours
    }
}

/// Last run known sharp and first known dull, 0 where there is none.
pub(super) fn looks(seen: EdgeSeen) -> (usize, usize) {
    let (sharp, dull) = ends(seen);
    (sharp, dull.unwrap_or(0))
}
