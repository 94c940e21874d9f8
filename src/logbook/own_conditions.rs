//! The crew's own yes/no columns of runs.csv: conditions that may make edges wear faster or slower.

use super::files::is_same_name;
use super::problem::in_short;
use super::{ExtraColumns, Line, LogFile, Logbook, MeterSpan, RowKey, Run};
use crate::quantities::MeterHours;
use crate::wood::Covariates;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::sync::Arc;

/// Which of the crew's own columns of runs.csv are read, and what each run says in them.
///
/// A column counts as a condition when every cell is blank or says yes or no (yes, y, x, true, 1;
/// no, n, false, 0; case does not count) at least one says yes and not every one does. Blank is no. Rows that were set
/// aside are not asked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OwnConditions {
    /// The columns that are read, in the order of the file.
    pub names: Vec<String>,
    /// The others: kept, and not read.
    pub unread: Vec<UnreadColumn>,
    /// Runs that say yes somewhere, one answer a name.
    yes: BTreeMap<Line, Arc<[bool]>>,
    nowhere: Arc<[bool]>,
}

/// A column of runs.csv that no answer uses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnreadColumn {
    /// Its name in the header.
    pub name: String,
    /// Why it is not read.
    pub reason: UnreadReason,
}

/// Why a column of the crew's own is not read as a condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum UnreadReason {
    /// A cell says something else than yes or no.
    OtherWords {
        /// The first line with such a cell.
        line: Line,
        /// What it says.
        found: String,
    },
    /// Not one row says yes, so that nothing could be learned.
    NoYes,
    /// Every run says yes, so that it cannot be told from the life of edges altogether.
    NoNo,
    /// An effect that keenspan knows by itself has this name.
    Taken,
    /// Another column of the file has the same name.
    Twice,
}

impl fmt::Display for UnreadReason {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            UnreadReason::OtherWords {
                line: Line(line),
                found,
            } => {
                let found = in_short(found);
                write!(to, "line {line} says \"{found}\", neither yes nor no")
            }
            UnreadReason::NoYes => write!(to, "no row says yes"),
            UnreadReason::NoNo => write!(to, "every row says yes, so that nothing can be compared"),
            UnreadReason::Taken => write!(
                to,
                "keenspan has an effect of that name, read from wood, dirt and state"
            ),
            UnreadReason::Twice => write!(to, "the header has that name twice"),
        }
    }
}

impl Logbook {
    /// The crew's own conditions of runs.
    pub fn own_conditions(&self) -> OwnConditions {
        let extras = self.extras.get(&LogFile::Runs);
        extras
            .map(|columns| OwnConditions::of(columns, &self.lines_with_hours()))
            .unwrap_or_default()
    }
}

impl Logbook {
    /// Lines of the runs in which something was chipped. A run of no hours teaches nothing, whatever it says.
    fn lines_with_hours(&self) -> BTreeSet<Line> {
        let chipped = |run: &&Run| match run.span {
            MeterSpan::Hours(hours) => hours > MeterHours::ZERO,
            MeterSpan::Readings { start, end } => end > start,
        };
        self.runs
            .iter()
            .filter(chipped)
            .map(|run| run.line)
            .collect()
    }
}

impl OwnConditions {
    fn of(columns: &ExtraColumns, runs: &BTreeSet<Line>) -> Self {
        let mut own = Self::default();
        let mut read = Vec::new();
        for (at, name) in columns.names.iter().enumerate() {
            match judge(columns, at, name, runs) {
                Ok(()) => read.push(at),
                Err(reason) => own.unread.push(UnreadColumn {
                    name: name.clone(),
                    reason,
                }),
            }
        }
        let named = read.iter().filter_map(|at| columns.names.get(*at));
        own.names = named.cloned().collect();
        own.nowhere = read.iter().map(|_| false).collect();
        own.yes = lines(columns)
            .map(|(line, cells)| {
                let says_yes =
                    |at: &usize| cell(cells, *at).is_some_and(|it| yes_no(it) == Some(true));
                (line, read.iter().map(says_yes).collect::<Arc<[bool]>>())
            })
            .filter(|(_, answers)| answers.contains(&true))
            .collect();
        own
    }

    /// What the run in this line says, one answer a name.
    pub fn of_run(&self, line: Line) -> &Arc<[bool]> {
        self.yes.get(&line).unwrap_or(&self.nowhere)
    }
}

fn judge(
    columns: &ExtraColumns,
    at: usize,
    name: &str,
    runs: &BTreeSet<Line>,
) -> Result<(), UnreadReason> {
    let is_its = |known: &str| is_same_name(known, name);
    if Covariates::NAMES.iter().any(|known| is_its(known)) {
        return Err(UnreadReason::Taken);
    }
    if columns.names.iter().filter(|it| is_its(it)).count() > 1 {
        return Err(UnreadReason::Twice);
    }
    let mut yeses = 0;
    for (line, cells) in lines(columns) {
        let written = cell(cells, at).unwrap_or_default();
        match yes_no(written) {
            Some(yes) => yeses += usize::from(yes && runs.contains(&line)),
            None => {
                let found = written.to_owned();
                return Err(UnreadReason::OtherWords { line, found });
            }
        }
    }
    match yeses {
        0 => Err(UnreadReason::NoYes),
        all if all >= runs.len() => Err(UnreadReason::NoNo),
        _ => Ok(()),
    }
}

/// The rows in order of line.
fn lines(columns: &ExtraColumns) -> impl Iterator<Item = (Line, &[String])> {
    columns.cells.iter().filter_map(|(key, cells)| match key {
        RowKey::Line(line) => Some((*line, cells.as_slice())),
        RowKey::Key(_) => None,
    })
}

fn cell(cells: &[String], at: usize) -> Option<&str> {
    cells.get(at).map(|cell| cell.trim())
}

/// Yes or no; blank is no. `None` for any other words.
fn yes_no(written: &str) -> Option<bool> {
    match written.to_lowercase().as_str() {
        "yes" | "y" | "x" | "true" | "1" => Some(true),
        "" | "no" | "n" | "false" | "0" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::read::{LogTexts, read_texts};

    fn own(runs: &str) -> OwnConditions {
        let files = [
            (LogFile::Machines, "name,rotor,knives\nOtter,drum,2\n"),
            (LogFile::Runs, runs),
        ];
        let texts: LogTexts = files.map(|(file, text)| (file, text.into())).into();
        let reading = read_texts(&texts);
        assert!(reading.problems.is_empty(), "{:?}", reading.problems);
        reading.logbook.own_conditions()
    }

    fn column(cells: &[&str]) -> OwnConditions {
        let rows: Vec<String> = cells
            .iter()
            .map(|cell| format!("2026-03-05,Otter,2,{cell}\n"))
            .collect();
        own(&format!("date,machine,hours,vines\n{}", rows.concat()))
    }

    fn reason(own: &OwnConditions) -> UnreadReason {
        assert!(own.names.is_empty());
        own.unread[0].reason.clone()
    }

    #[test]
    fn every_word_for_yes_and_no_is_read() {
        let words = [
            "Yes", "NO", "y", "N", "x", "True", "false", "1", "0", "", " X ",
        ];
        let says = [
            true, false, true, false, true, true, false, true, false, false, true,
        ];
        let own = column(&words);
        assert_eq!(own.names, ["vines"]);
        for (at, yes) in says.into_iter().enumerate() {
            assert_eq!(
                own.of_run(Line(at as u64 + 2)).as_ref(),
                [yes],
                "{}",
                words[at]
            );
        }
    }

    #[test]
    fn a_column_of_ones_and_zeros_is_a_condition_and_one_of_other_numbers_is_none() {
        assert_eq!(column(&["1", "0", "1"]).names, ["vines"]);
        let tickets = column(&["1", "0", "4711"]);
        assert_eq!(
            reason(&tickets),
            UnreadReason::OtherWords {
                line: Line(4),
                found: "4711".into()
            }
        );
        assert_eq!(tickets.of_run(Line(2)).len(), 0);
    }

    #[test]
    fn a_column_in_which_no_row_says_yes_is_none() {
        assert_eq!(reason(&column(&["", "no", "0"])), UnreadReason::NoYes);
        assert_eq!(reason(&column(&[])), UnreadReason::NoYes);
    }

    #[test]
    fn a_column_in_which_every_row_says_yes_is_none() {
        assert_eq!(reason(&column(&["yes", "x", "1"])), UnreadReason::NoNo);
        assert_eq!(reason(&column(&["yes"])), UnreadReason::NoNo);
    }

    #[test]
    fn names_that_mean_two_things_are_not_read() {
        let frozen = own("date,machine,hours,Frozen\n2026-03-05,Otter,2,yes\n");
        assert_eq!(reason(&frozen), UnreadReason::Taken);
        let twice = own("date,machine,hours,vines,Vines\n2026-03-05,Otter,2,yes,no\n");
        assert_eq!(reason(&twice), UnreadReason::Twice);
        assert_eq!(twice.unread.len(), 2);
    }

    #[test]
    fn several_columns_keep_their_order_and_their_rows() {
        let own = own("date,vines,machine,ticket,hours,creosoted\n\
             2026-03-05,,Otter,88,2,x\n\
             2026-03-06,y,Otter,89,2,x\n\
             2026-03-07,,Otter,,2,\n");
        assert_eq!(own.names, ["vines", "creosoted"]);
        assert_eq!(own.unread[0].name, "ticket");
        let answers = [2, 3, 4].map(|line| own.of_run(Line(line)).to_vec());
        assert_eq!(answers, [[false, true], [true, true], [false, false]]);
    }
}
