//! Rows of the edges file.

use super::super::super::edges::EdgeTable;
use super::super::super::sheet::WrittenHours;
use super::super::levels::Levels;
use super::name_hash;
use crate::logbook::EdgeSeen;
use crate::logbook::plain::Cells;
use crate::quantities::MeterHours;
use rayon::prelude::*;

/// What a row says of an edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct EdgeFacts {
    pub(super) name: u64,
    kind: Kind,
    sharp_run: u32,
    dull_run: u32,
    pub(super) struck: bool,
    pub(super) level: Option<u32>,
    /// Decimals of the hours, -1 where no hours are told.
    decimals: i32,
    hours: MeterHours,
    pub(super) n_runs: Option<u32>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Exact,
    Interval,
    Left,
    Right,
}

impl EdgeFacts {
    pub(super) fn seen(&self) -> EdgeSeen {
        let (sharp_run, dull_run) = (self.sharp_run as usize, self.dull_run as usize);
        match self.kind {
            Kind::Exact => EdgeSeen::Exact { dull_run },
            Kind::Left => EdgeSeen::Left { dull_run },
            Kind::Right => EdgeSeen::Right { sharp_run },
            Kind::Interval => EdgeSeen::Interval {
                sharp_run,
                dull_run,
            },
        }
    }

    pub(super) fn total(&self) -> Option<WrittenHours> {
        (self.decimals >= 0).then_some(WrittenHours {
            hours: self.hours,
            decimals: self.decimals,
        })
    }
}

/// Some rows, or all.
#[derive(Debug, Default)]
pub(super) struct EdgePiece {
    pub(super) facts: Vec<EdgeFacts>,
    pub(super) levels: Levels,
}

impl EdgePiece {
    /// Puts a piece behind this one.
    pub(super) fn append(&mut self, piece: Self) {
        let names = piece.levels.names().iter();
        let numbers: Vec<u32> = names.map(|name| self.levels.number(name)).collect();
        self.facts.extend(piece.facts.into_iter().map(|facts| {
            EdgeFacts {
                level: facts
                    .level
                    .and_then(|level| numbers.get(level as usize).copied()),
                ..facts
            }
        }));
    }

    /// Whether two edges may have one name.
    pub(super) fn has_doubles(&self) -> bool {
        let mut names: Vec<u64> = self.facts.iter().map(|facts| facts.name).collect();
        names.par_sort_unstable();
        names.windows(2).any(|pair| pair[0] == pair[1])
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Name,
    Kind,
    SharpRun,
    DullRun,
    Struck,
    Runs,
    Hours,
    Group,
    Nothing,
}

pub(super) struct Plan {
    roles: Vec<Role>,
}

impl Plan {
    /// `None` where one column plays two parts.
    pub(super) fn of(table: &EdgeTable) -> Option<Self> {
        let columns = &table.columns;
        let mut roles = vec![Role::Nothing; table.place.columns()];
        let needed = [
            (Some(columns.edge_id), Role::Name),
            (Some(columns.kind), Role::Kind),
            (Some(columns.sharp_run), Role::SharpRun),
            (Some(columns.dull_run), Role::DullRun),
            (columns.struck, Role::Struck),
            (columns.n_runs, Role::Runs),
            (columns.hours_total, Role::Hours),
            (columns.group, Role::Group),
        ];
        for (at, role) in needed {
            let Some(at) = at else { continue };
            let place = roles.get_mut(at)?;
            if *place != Role::Nothing {
                return None;
            }
            *place = role;
        }
        Some(Self { roles })
    }

    /// The rows of whole lines.
    pub(super) fn piece(&self, text: &str) -> Option<EdgePiece> {
        let mut cells = Cells::of(text);
        let mut piece = EdgePiece::default();
        while cells.skip_blank_lines() {
            let facts = self.row(&mut cells, &mut piece.levels)?;
            piece.facts.push(facts);
        }
        Some(piece)
    }

    fn row(&self, cells: &mut Cells, levels: &mut Levels) -> Option<EdgeFacts> {
        let mut row = EdgeCells::default();
        let mut ended = false;
        for role in &self.roles {
            if ended {
                break;
            }
            let text;
            (text, ended) = cells.text()?;
            match role {
                Role::Name => row.name = text,
                Role::Kind => row.kind = text,
                Role::SharpRun => row.sharp_run = text,
                Role::DullRun => row.dull_run = text,
                Role::Struck => row.struck = text,
                Role::Runs => row.n_runs = text,
                Role::Hours => row.hours = text,
                Role::Group => row.group = text,
                Role::Nothing => {}
            }
        }
        let grouped = self.roles.contains(&Role::Group);
        row.facts(grouped.then_some(levels), 0).filter(|_| ended)
    }
}

/// The cells of a row that count.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct EdgeCells<'a> {
    pub(super) name: &'a str,
    pub(super) kind: &'a str,
    pub(super) sharp_run: &'a str,
    pub(super) dull_run: &'a str,
    pub(super) struck: &'a str,
    pub(super) n_runs: &'a str,
    pub(super) hours: &'a str,
    pub(super) group: &'a str,
}

impl EdgeCells<'_> {
    /// What they say, with the group where one is asked for; hours have at least so many decimals.
    pub(super) fn facts(&self, levels: Option<&mut Levels>, decimals: i32) -> Option<EdgeFacts> {
        if self.name.is_empty() || (levels.is_some() && self.group.is_empty()) {
            return None;
        }
        let struck = match self.struck {
            "" | "0" => false,
            "1" => true,
            _ => return None,
        };
        let (kind, sharp_run, dull_run) = seen(self.kind, self.sharp_run, self.dull_run)?;
        let hours = match self.hours {
            "" => None,
            text => Some(super::super::super::sheet::written_hours(text)?),
        };
        Some(EdgeFacts {
            name: name_hash(self.name),
            kind,
            sharp_run,
            dull_run,
            struck,
            level: levels.map(|levels| levels.number(self.group)),
            decimals: hours.map_or(-1, |it| it.decimals.max(decimals)),
            hours: hours.map_or(MeterHours::ZERO, |it| it.hours),
            n_runs: match self.n_runs {
                "" => None,
                text => Some(text.parse().ok()?),
            },
        })
    }
}

/// What was seen of an edge; nothing where the cells do not go together.
fn seen(kind: &str, sharp: &str, dull: &str) -> Option<(Kind, u32, u32)> {
    let or_none = |text: &str| match text {
        "" => Some(0),
        text => text.parse::<u32>().ok(),
    };
    let kind = match kind {
        "exact" => Kind::Exact,
        "interval" => Kind::Interval,
        "left" => Kind::Left,
        "right" => Kind::Right,
        _ => return None,
    };
    let (sharp_run, dull_run) = (or_none(sharp)?, or_none(dull)?);
    let together = match kind {
        Kind::Exact => sharp_run < dull_run,
        Kind::Interval => sharp_run >= 1 && sharp_run < dull_run,
        Kind::Left => sharp_run == 0 && dull_run >= 1,
        Kind::Right => !sharp.is_empty() && dull.is_empty(),
    };
    together.then_some((kind, sharp_run, dull_run))
}
