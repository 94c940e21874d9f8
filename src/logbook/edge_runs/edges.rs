//! The edges file.

use super::sheet::{Faults, Place, Row, Sheet, WrittenHours};
use super::{EdgeRunsReadError, EdgeSeen};
use crate::logbook::text_rows::TextRows;
use std::collections::HashSet;
use std::path::Path;

const NEEDED: [&str; 4] = ["edge_id", "kind", "sharp_run", "dull_run"];
/// Says how an edge was watched; it may be there, it may be a group, and the likelihood does not use it.
const REGIME: &str = "regime";
const OPTIONAL: [&str; 3] = ["struck", "n_runs", "hours_total"];

/// The edges, in the order of the file.
#[derive(Debug)]
pub(super) struct EdgeTable {
    pub(super) place: Place,
    pub(super) columns: Columns,
    pub(super) group_name: Option<String>,
    pub(super) unused_columns: Vec<String>,
    pub(super) edges: Vec<EdgeRow>,
}

/// Where things stand in a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Columns {
    pub(super) edge_id: usize,
    pub(super) kind: usize,
    pub(super) sharp_run: usize,
    pub(super) dull_run: usize,
    pub(super) struck: Option<usize>,
    pub(super) n_runs: Option<usize>,
    pub(super) hours_total: Option<usize>,
    pub(super) group: Option<usize>,
}

/// One row.
#[derive(Debug)]
pub(super) struct EdgeRow {
    pub(super) line: u64,
    pub(super) id: String,
    pub(super) group: Option<String>,
    /// `None` where the cells could not be read or contradict each other, which is told already.
    pub(super) seen: Option<EdgeSeen>,
    pub(super) struck: bool,
    pub(super) n_runs: Option<usize>,
    pub(super) hours_total: Option<WrittenHours>,
}

/// Reads the file; `None` where a column is missing.
pub(super) fn read(
    file: &Path,
    group: Option<&str>,
    faults: &mut Faults,
) -> Result<Option<EdgeTable>, EdgeRunsReadError> {
    let sheet = Sheet::open(file, &known())?;
    can_group(&sheet, group)?;
    if !sheet.check(&NEEDED, faults) {
        return Ok(None);
    }
    let mut table = EdgeTable::without_rows(&sheet, group);
    if !sheet.check_kinds(table.columns.used(), faults) {
        return Ok(None);
    }
    let mut ids = HashSet::new();
    for row in &sheet.rows {
        let edge = read_row(&table.place, row, &table.columns, &mut ids, faults);
        table.edges.extend(edge);
    }
    Ok(Some(table))
}

/// The header alone and what stands below; `None` where a column is missing.
pub(super) fn heading(
    file: &Path,
    group: Option<&str>,
    faults: &mut Faults,
) -> Result<Option<(EdgeTable, TextRows)>, EdgeRunsReadError> {
    let (sheet, reader) = Sheet::heading(file, &known())?;
    Ok(checked(&sheet, group, faults)?.map(|table| (table, reader)))
}

fn checked(
    sheet: &Sheet,
    group: Option<&str>,
    faults: &mut Faults,
) -> Result<Option<EdgeTable>, EdgeRunsReadError> {
    can_group(sheet, group)?;
    if !sheet.check_header(&NEEDED, faults) {
        return Ok(None);
    }
    let table = EdgeTable::without_rows(sheet, group);
    let readable = sheet.check_kinds(table.columns.used(), faults);
    Ok(readable.then_some(table))
}

/// Columns whose names may be typed in any case.
fn known() -> Vec<&'static str> {
    [&NEEDED[..], &OPTIONAL[..], &[REGIME]].concat()
}

fn groupable(name: &&String) -> bool {
    let own = [&NEEDED[..], &OPTIONAL[..]].concat();
    !own.contains(&name.as_str()) && !name.is_empty()
}

fn can_group(sheet: &Sheet, group: Option<&str>) -> Result<(), EdgeRunsReadError> {
    match group {
        Some(name) if !sheet.header.iter().filter(groupable).any(|it| it == name) => {
            Err(EdgeRunsReadError::Group {
                file: sheet.file.clone(),
                name: name.to_string(),
                columns: sheet.header.iter().filter(groupable).cloned().collect(),
            })
        }
        _ => Ok(()),
    }
}

impl EdgeTable {
    fn without_rows(sheet: &Sheet, group: Option<&str>) -> Self {
        let unused = |name: &&String| {
            groupable(name) && name.as_str() != REGIME && Some(name.as_str()) != group
        };
        Self {
            place: sheet.place(),
            columns: Columns::find(sheet, group),
            group_name: group.map(str::to_string),
            unused_columns: sheet.header.iter().filter(unused).cloned().collect(),
            edges: Vec::new(),
        }
    }
}

impl Columns {
    fn find(sheet: &Sheet, group: Option<&str>) -> Self {
        let must = |name: &str| sheet.column(name).unwrap_or_default();
        Self {
            edge_id: must("edge_id"),
            kind: must("kind"),
            sharp_run: must("sharp_run"),
            dull_run: must("dull_run"),
            struck: sheet.column("struck"),
            n_runs: sheet.column("n_runs"),
            hours_total: sheet.column("hours_total"),
            group: group.and_then(|name| sheet.column(name)),
        }
    }

    /// All of them.
    pub(super) fn used(&self) -> impl Iterator<Item = usize> {
        let needed = [self.edge_id, self.kind, self.sharp_run, self.dull_run];
        let more = [self.struck, self.n_runs, self.hours_total, self.group];
        needed.into_iter().chain(more.into_iter().flatten())
    }
}

pub(super) fn read_row(
    place: &Place,
    row: &Row,
    columns: &Columns,
    ids: &mut HashSet<String>,
    faults: &mut Faults,
) -> Option<EdgeRow> {
    let named = |text: &str| (!text.is_empty()).then(|| text.to_string());
    let wanted = "a name or number that no other edge has";
    let new = |text: &str| named(text).filter(|id| ids.insert(id.clone()));
    let id = place.cell(row, columns.edge_id, wanted, new, faults);
    let group = columns
        .group
        .and_then(|at| place.cell(row, at, "what the edge belongs to", named, faults));
    let struck = columns.struck.is_some_and(|at| {
        let wanted = "1 where a strike ended the edge, else 0 or nothing";
        place.cell(row, at, wanted, yes_or_no, faults) == Some(true)
    });
    let n_runs = columns.n_runs.and_then(|at| {
        let wanted = "the number of its runs, or nothing";
        place
            .cell(row, at, wanted, or_blank(count), faults)
            .flatten()
    });
    let hours_total = columns.hours_total.and_then(|at| {
        let wanted = "hours, zero or more, or nothing";
        place
            .cell(row, at, wanted, or_blank(place.hours(at)), faults)
            .flatten()
    });
    let seen = seen(place, row, columns, faults);
    Some(EdgeRow {
        line: row.line,
        id: id?,
        group,
        seen,
        struck,
        n_runs,
        hours_total,
    })
}

fn count(text: &str) -> Option<usize> {
    text.parse().ok()
}

fn yes_or_no(text: &str) -> Option<bool> {
    match text {
        "" | "0" => Some(false),
        "1" => Some(true),
        _ => None,
    }
}

/// A blank cell is an answer too.
fn or_blank<T>(read: impl Fn(&str) -> Option<T>) -> impl Fn(&str) -> Option<Option<T>> {
    move |text| {
        if text.is_empty() {
            Some(None)
        } else {
            read(text).map(Some)
        }
    }
}

/// What was seen of an edge, by its three cells. That its runs exist is checked when they are known.
fn seen(place: &Place, row: &Row, columns: &Columns, faults: &mut Faults) -> Option<EdgeSeen> {
    let kind = place.cell(
        row,
        columns.kind,
        "exact, interval, left or right",
        |text| {
            let word = text.to_lowercase();
            ["exact", "interval", "left", "right"]
                .into_iter()
                .find(|kind| *kind == word)
        },
        faults,
    );
    // Without a kind the other two cells can only be read as numbers.
    let Some(kind) = kind else {
        for column in [columns.sharp_run, columns.dull_run] {
            place.cell(
                row,
                column,
                "a run number or nothing",
                or_blank(count),
                faults,
            );
        }
        return None;
    };
    match kind {
        "right" => {
            let wanted =
                "the last run after which it was known to be sharp, 0 where only when fresh";
            let sharp_run = place.cell(row, columns.sharp_run, wanted, count, faults);
            let wanted = "nothing: kind right was never found dull";
            let never = |text: &str| text.is_empty().then_some(());
            let dull = place.cell(row, columns.dull_run, wanted, never, faults);
            dull.and(sharp_run)
                .map(|sharp_run| EdgeSeen::Right { sharp_run })
        }
        "left" => {
            let wanted = "0 or nothing: kind left was found dull at the first look";
            let fresh = |text: &str| matches!(text, "" | "0").then_some(());
            let fresh = place.cell(row, columns.sharp_run, wanted, fresh, faults);
            let dull_run = dull_run(place, row, columns, faults);
            fresh
                .and(dull_run)
                .map(|dull_run| EdgeSeen::Left { dull_run })
        }
        "interval" => {
            let wanted = "1 or more: kind interval was seen sharp before (else it is kind left)";
            let looked = |text: &str| count(text).filter(|run| *run >= 1);
            let sharp_run = place.cell(row, columns.sharp_run, wanted, looked, faults);
            let dull_run = dull_run(place, row, columns, faults);
            let (sharp_run, dull_run) = (sharp_run?, dull_run?);
            before(place, row, columns, sharp_run, dull_run, faults).then_some(EdgeSeen::Interval {
                sharp_run,
                dull_run,
            })
        }
        _ => {
            let wanted = "the run before dull_run, or nothing";
            let sharp_run = place.cell(row, columns.sharp_run, wanted, or_blank(count), faults);
            let dull_run = dull_run(place, row, columns, faults);
            let (sharp_run, dull_run) = (sharp_run?.unwrap_or(0), dull_run?);
            before(place, row, columns, sharp_run, dull_run, faults)
                .then_some(EdgeSeen::Exact { dull_run })
        }
    }
}

fn dull_run(place: &Place, row: &Row, columns: &Columns, faults: &mut Faults) -> Option<usize> {
    let wanted = "the run at whose end it was dull, 1 or more";
    let run = |text: &str| count(text).filter(|run| *run >= 1);
    place.cell(row, columns.dull_run, wanted, run, faults)
}

/// Sharp comes before dull.
fn before(
    place: &Place,
    row: &Row,
    columns: &Columns,
    sharp_run: usize,
    dull_run: usize,
    faults: &mut Faults,
) -> bool {
    if sharp_run < dull_run {
        return true;
    }
    let text = row.text(columns.sharp_run);
    let wanted = format!("a run before dull_run, which is {dull_run}");
    place.fault(row.line, columns.sharp_run, text, wanted, faults);
    false
}
