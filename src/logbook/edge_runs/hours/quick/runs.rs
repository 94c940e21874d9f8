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
        let mut piece = RunPiece {
            edges: Vec::new(),
            runs: Vec::with_capacity(text.len() / 24),
            rows: CovariateRows::new(self.covariates),
        };
        let mut covariates = vec![0.0; self.covariates];
        let mut last = "";
        while cells.skip_blank_lines() {
            let (name, number, mut run) = self.row(&mut cells, &mut covariates)?;
            if covariates.iter().any(|x| !x.is_finite()) {
                return None;
            }
            run.row = piece.rows.number(&covariates);
            piece.runs.push(run);
            match piece.edges.last_mut().filter(|_| name == last) {
                Some(edge) if number == edge.first + edge.count => edge.count += 1,
                Some(_) => return None,
                None => piece.edges.push(Together {
                    name: name_hash(name),
                    first: number,
                    count: 1,
                }),
            }
            last = name;
        }
        Some(piece)
    }

    #[inline]
    fn row<'a>(
        &self,
        cells: &mut Cells<'a>,
        covariates: &mut [f64],
    ) -> Option<(&'a str, u32, QuickRun)> {
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
        let fits =
            ended && !name.is_empty() && number >= 1 && (0.0..f64::INFINITY).contains(&hours);
        fits.then_some((
            name,
            number,
            QuickRun {
                hours,
                row: 0,
                decimals,
            },
        ))
    }
}
