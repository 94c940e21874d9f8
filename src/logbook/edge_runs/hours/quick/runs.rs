//! Rows of the runs file.

use super::super::super::runs::RunTable;
use super::super::CovariateRows;
use super::name_hash;
use crate::logbook::plain::Cells;

/// Runs that stand together and belong to one edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Together {
    pub(super) name: u64,
    /// The number of the first; those that follow count on.
    pub(super) first: u32,
    pub(super) count: u32,
}

/// One run.
#[derive(Debug, Clone, Copy)]
pub(super) struct QuickRun {
    pub(super) hours: f64,
    /// Its row among those of the piece.
    pub(super) row: u32,
    pub(super) decimals: i32,
}

/// Some rows.
#[derive(Debug)]
pub(super) struct RunPiece {
    pub(super) edges: Vec<Together>,
    pub(super) runs: Vec<QuickRun>,
    pub(super) rows: CovariateRows,
}

/// What a row says of an edge's run besides the covariates.
#[derive(Debug, Clone, Copy)]
pub(super) struct RunCells {
    /// Whether it is an edge with another name than in the row before.
    pub(super) another: bool,
    pub(super) number: u32,
    pub(super) hours: f64,
    pub(super) decimals: i32,
}

impl RunPiece {
    pub(super) fn new(covariates: usize, runs: usize) -> Self {
        Self {
            edges: Vec::new(),
            runs: Vec::with_capacity(runs),
            rows: CovariateRows::new(covariates),
        }
    }

    /// One more row; nothing where it is not plain. `name` is needed of an edge with another name alone.
    #[inline]
    pub(super) fn push(
        &mut self,
        cells: RunCells,
        covariates: &[f64],
        name: impl FnOnce() -> u64,
    ) -> Option<()> {
        let RunCells {
            another,
            number,
            hours,
            decimals,
        } = cells;
        let fits = number >= 1 && (0.0..f64::INFINITY).contains(&hours);
        if !fits || covariates.iter().any(|x| !x.is_finite()) {
            return None;
        }
        let row = self.rows.number(covariates);
        self.runs.push(QuickRun {
            hours,
            row,
            decimals,
        });
        match self.edges.last_mut().filter(|_| !another) {
            Some(edge) if number == edge.first + edge.count => edge.count += 1,
            Some(_) => return None,
            None => self.edges.push(Together {
                name: name(),
                first: number,
                count: 1,
            }),
        }
        Some(())
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Edge,
    Run,
    Hours,
    Covariate(usize),
}

pub(super) struct Plan {
    roles: Vec<Role>,
    covariates: usize,
}

impl Plan {
    pub(super) fn of(table: &RunTable) -> Option<Self> {
        let columns = &table.columns;
        let mut roles = vec![None; table.place.columns()];
        let covariates = columns.covariates.iter().enumerate();
        let parts = [
            (columns.edge_id, Role::Edge),
            (columns.run, Role::Run),
            (columns.hours, Role::Hours),
        ];
        let covariates = covariates.map(|(j, at)| (*at, Role::Covariate(j)));
        for (at, role) in parts.into_iter().chain(covariates) {
            if roles.get_mut(at)?.replace(role).is_some() {
                return None;
            }
        }
        Some(Self {
            roles: roles.into_iter().collect::<Option<_>>()?,
            covariates: columns.covariates.len(),
        })
    }

    /// The rows of whole lines.
    pub(super) fn piece(&self, text: &str) -> Option<RunPiece> {
        let mut cells = Cells::of(text);
        let mut piece = RunPiece::new(self.covariates, text.len() / 24);
        let mut covariates = vec![0.0; self.covariates];
        let mut last = "";
        while cells.skip_blank_lines() {
            let (name, run) = self.row(&mut cells, &mut covariates)?;
            let another = name != last;
            piece.push(RunCells { another, ..run }, &covariates, || name_hash(name))?;
            last = name;
        }
        Some(piece)
    }

    #[inline]
    fn row<'a>(
        &self,
        cells: &mut Cells<'a>,
        covariates: &mut [f64],
    ) -> Option<(&'a str, RunCells)> {
        let (mut name, mut number) = ("", 0);
        let (mut hours, mut decimals) = (f64::NAN, 0);
        let mut ended = false;
        for role in &self.roles {
            if ended {
                return None;
            }
            match role {
                Role::Edge => (name, ended) = cells.text()?,
                Role::Run => {
                    let text;
                    (text, ended) = cells.text()?;
                    number = text.parse().ok()?;
                }
                Role::Hours => (hours, decimals, ended) = cells.number_and_decimals()?,
                Role::Covariate(j) => (*covariates.get_mut(*j)?, ended) = cells.number(None)?,
            }
        }
        let run = RunCells {
            another: false,
            number,
            hours,
            decimals,
        };
        (ended && !name.is_empty()).then_some((name, run))
    }
}
