//! Pieces of runs put together with the edges, in the order of the files.

use super::super::super::sheet::WrittenHours;
use super::super::super::summed::Summed;
use super::super::EdgeHours;
use super::super::builder::{Builder, looks};
use super::edges::EdgeFacts;
use super::runs::{QuickRun, RunPiece, Together};
use crate::quantities::MeterHours;

pub(super) struct Assembly<'f> {
    facts: std::slice::Iter<'f, EdgeFacts>,
    /// The edge whose runs are coming.
    open: Option<Open<'f>>,
    builder: Builder,
}

struct Open<'f> {
    facts: &'f EdgeFacts,
    looks: (usize, usize),
    count: u32,
    summed: Summed,
    /// Hours up to the sharp look, from there to the dull one, and after.
    phases: [f64; 3],
}

impl<'f> Assembly<'f> {
    pub(super) fn new(facts: &'f [EdgeFacts], covariates: usize) -> Self {
        Self {
            facts: facts.iter(),
            open: None,
            builder: Builder::new(covariates),
        }
    }

    /// The next piece; nothing where edges and runs do not go together.
    pub(super) fn add(&mut self, piece: &RunPiece) -> Option<()> {
        let numbers: Vec<u32> = piece
            .rows
            .iter()
            .map(|row| self.builder.hours.rows.number(row))
            .collect();
        let mut left = piece.runs.as_slice();
        for edge in &piece.edges {
            let (runs, rest) = left.split_at_checked(edge.count as usize)?;
            left = rest;
            self.runs(edge, runs, &numbers)?;
        }
        Some(())
    }

    fn runs(&mut self, edge: &Together, runs: &[QuickRun], numbers: &[u32]) -> Option<()> {
        let goes_on = self
            .open
            .as_ref()
            .is_some_and(|open| open.facts.name == edge.name);
        if !goes_on {
            self.close()?;
            let facts = self.facts.next().filter(|facts| facts.name == edge.name)?;
            self.open = Some(Open {
                facts,
                looks: looks(facts.seen()),
                count: 0,
                summed: Summed::default(),
                phases: [0.0; 3],
            });
        }
        let open = self.open.as_mut()?;
        if edge.first != open.count + 1 {
            return None;
        }
        for run in runs {
            open.count += 1;
            let number = open.count as usize;
            open.summed.add(WrittenHours {
                hours: MeterHours::new(run.hours).ok()?,
                decimals: run.decimals,
            });
            let (sharp, dull) = open.looks;
            open.phases[usize::from(number > sharp) + usize::from(number > sharp.max(dull))] +=
                run.hours;
            let row = *numbers.get(run.row as usize)?;
            self.builder.run(number, row, run.hours, open.looks);
        }
        Some(())
    }

    /// The edge has had its runs: they must be what the edges file says.
    fn close(&mut self) -> Option<()> {
        let Some(open) = self.open.take() else {
            return Some(());
        };
        let facts = open.facts;
        let (sharp, dull) = open.looks;
        let told = facts.n_runs.is_none_or(|told| told == open.count)
            && facts.total().is_none_or(|told| open.summed.agrees(told));
        let possible = match facts.seen() {
            crate::logbook::EdgeSeen::Right { .. } => true,
            crate::logbook::EdgeSeen::Exact { .. } => {
                // From new to dull; a strike at the very moment is none.
                open.phases[1] > 0.0 && !(facts.struck && open.phases[2] <= 0.0)
            }
            _ => open.phases[1] > 0.0,
        };
        let there = sharp.max(dull) <= open.count as usize && open.summed.sum > 0.0;
        if !(told && possible && there) {
            return None;
        }
        self.builder.end(facts.seen(), facts.level, facts.struck);
        Some(())
    }

    pub(super) fn done(mut self) -> Option<EdgeHours> {
        self.close()?;
        let all = self.facts.next().is_none();
        all.then(|| self.builder.done())
    }
}
