//! The header of a file: which column stands where.

use super::row::{found_in, problem_at};
use crate::logbook::apostrophe::unguarded;
use crate::logbook::sheet::{RawRow, Sheet};
use crate::logbook::{Line, LogFile, Problem};

/// Which column stands where.
#[derive(Debug)]
pub(super) struct Header {
    /// The columns as the file calls them.
    pub(super) names: Vec<String>,
    /// Where the known columns stand, in the order of [`LogFile::columns`].
    places: Vec<Option<usize>>,
}

impl Header {
    /// Reads the header. What is wrong with it makes the whole file unreadable.
    pub(super) fn read(
        file: LogFile,
        sheet: &Sheet<'_>,
        row: &RawRow<'_>,
    ) -> Result<Self, Vec<Problem>> {
        let mut problems = unreadable_cells(file, sheet, row);
        let names: Vec<String> = row.cells.iter().map(|cell| name_in(&cell.bytes)).collect();
        let mut places = Vec::new();
        for column in file.columns() {
            let mut found = (0..names.len())
                .filter(|at| names.get(*at).is_some_and(|name| column.is_called(name)));
            let place = found.next();
            if let Some(again) = found.next() {
                problems.push(named_twice(file, sheet, row, again, column.name));
            }
            places.push(place);
        }
        let strange = strange(&names, &places);
        for (column, place) in file.columns().iter().zip(&places) {
            if place.is_none() && column.required {
                problems.push(missing(file, sheet, row, column.name, &strange));
            }
        }
        if problems.is_empty() {
            Ok(Self { names, places })
        } else {
            Err(problems)
        }
    }

    /// Where a column stands.
    pub(super) fn place(&self, file: LogFile, column: &str) -> Option<usize> {
        let at = file
            .columns()
            .iter()
            .position(|known| known.name == column)?;
        self.places.get(at).copied().flatten()
    }

    /// The places that no known column takes, in order. A column without a name is none.
    pub(super) fn extra_places(&self) -> Vec<usize> {
        strange(&self.names, &self.places)
    }

    /// What the file calls a column.
    pub(super) fn name_of<'n>(&'n self, file: LogFile, column: &'n str) -> &'n str {
        self.place(file, column)
            .and_then(|at| self.names.get(at))
            .map_or(column, String::as_str)
    }
}

fn name_in(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    unguarded(text.trim()).to_owned()
}

fn unreadable_cells(file: LogFile, sheet: &Sheet<'_>, row: &RawRow<'_>) -> Vec<Problem> {
    let unclosed = row.unclosed.then(|| row.cells.last()).flatten();
    let not_utf8 = row
        .cells
        .iter()
        .find(|cell| std::str::from_utf8(&cell.bytes).is_err());
    let wanted = [
        (unclosed, "a closing quote behind the name of the column"),
        (not_utf8, "letters in UTF-8: save the file as \"CSV UTF-8\""),
    ];
    wanted
        .into_iter()
        .filter_map(|(cell, wanted)| cell.map(|cell| (cell, wanted)))
        .map(|(cell, wanted)| {
            let name = name_in(&cell.bytes);
            problem_at(
                file,
                sheet,
                row,
                &cell.place,
                name.clone(),
                name,
                wanted.into(),
            )
        })
        .collect()
}

fn named_twice(
    file: LogFile,
    sheet: &Sheet<'_>,
    row: &RawRow<'_>,
    again: usize,
    name: &str,
) -> Problem {
    let place = row.cells.get(again).map_or(0..0, |cell| cell.place.clone());
    let found = row.cells.get(again).map(found_in).unwrap_or_default();
    let wanted = format!("the column \"{name}\" once: this header has it twice");
    problem_at(file, sheet, row, &place, name.to_owned(), found, wanted)
}

/// The places of names that no known column takes; one that is missing may be among them under another name.
fn strange(names: &[String], places: &[Option<usize>]) -> Vec<usize> {
    let is_named = |at: &usize| names.get(*at).is_some_and(|name| !name.is_empty());
    (0..names.len())
        .filter(|at| !places.contains(&Some(*at)))
        .filter(is_named)
        .collect()
}

fn missing(
    file: LogFile,
    sheet: &Sheet<'_>,
    row: &RawRow<'_>,
    name: &str,
    strange: &[usize],
) -> Problem {
    let cells: Vec<_> = strange.iter().filter_map(|at| row.cells.get(*at)).collect();
    let shown = cells.first().copied().or(row.cells.last());
    let found: Vec<String> = cells.iter().map(|cell| found_in(cell)).collect();
    let wanted = format!("\"{name}\" in the header: the file cannot be read without that column");
    problem_at(
        file,
        sheet,
        row,
        &shown.map_or(0..0, |cell| cell.place.clone()),
        name.to_owned(),
        found.join(", "),
        wanted,
    )
}

/// A file without any row at all.
pub(super) fn empty_file(file: LogFile) -> Problem {
    let names: Vec<&str> = file.columns().iter().map(|column| column.name).collect();
    let first = names.first().copied().unwrap_or_default();
    Problem {
        file,
        line: Line(1),
        column: first.to_owned(),
        found: String::new(),
        wanted: format!("the header, {}", names.join(",")),
        row: String::new(),
        mark: 0..0,
    }
}
