//! One row, read cell by cell, with everything that is wrong in it.

use super::cells::{Parsed, Ways};
use super::header::Header;
use crate::logbook::apostrophe::unguarded;
use crate::logbook::sheet::{Cell, RawRow, Sheet};
use crate::logbook::{Line, LogFile, Problem};
use std::ops::Range;

/// Reads the cells of one row and gathers its problems.
#[derive(Debug)]
pub(super) struct RowReader<'a> {
    file: LogFile,
    sheet: &'a Sheet<'a>,
    header: &'a Header,
    row: &'a RawRow<'a>,
    pub(super) ways: Ways,
    pub(super) problems: Vec<Problem>,
    /// The row as a whole is out of shape: its cells stand anywhere, so none of them is judged.
    broken: bool,
}

impl<'a> RowReader<'a> {
    pub(super) fn new(
        file: LogFile,
        sheet: &'a Sheet<'a>,
        header: &'a Header,
        row: &'a RawRow<'a>,
        ways: Ways,
    ) -> Self {
        Self {
            file,
            sheet,
            header,
            row,
            ways,
            problems: Vec::new(),
            broken: false,
        }
    }

    /// The line that the row starts in.
    pub(super) fn line(&self) -> Line {
        Line(self.row.line)
    }

    /// Finds what makes a row unreadable as a whole, and letters that are not UTF-8.
    pub(super) fn check_shape(&mut self) {
        if self.row.unclosed {
            self.unclosed_quote();
        } else if self.row.cells.len() < self.header.names.len() {
            self.too_few_cells();
        } else if self.has_surplus() {
            self.too_many_cells();
        } else {
            self.not_utf8();
            return;
        }
        self.broken = true;
    }

    /// Blank cells behind the last column harm nobody: spreadsheets leave them.
    fn has_surplus(&self) -> bool {
        self.row
            .cells
            .iter()
            .skip(self.header.names.len())
            .any(|cell| !cell.bytes.trim_ascii().is_empty())
    }

    fn unclosed_quote(&mut self) {
        let at = self.row.cells.len().saturating_sub(1);
        self.fault_at(
            at,
            "a closing quote, and a quote inside quotes twice".into(),
        );
    }

    fn too_few_cells(&mut self) {
        let wanted = self.cell_count();
        let last = self.row.cells.len().saturating_sub(1);
        let place = self
            .row
            .cells
            .get(last)
            .map_or(0..0, |cell| cell.place.clone());
        let column = self.header.names.get(last + 1).cloned().unwrap_or_default();
        let problem = problem_at(
            self.file,
            self.sheet,
            self.row,
            &place,
            column,
            String::new(),
            wanted,
        );
        self.problems.push(problem);
    }

    fn too_many_cells(&mut self) {
        let wanted = self.cell_count();
        self.fault_at(self.header.names.len(), wanted);
    }

    fn cell_count(&self) -> String {
        format!(
            "{} cells, as the header has; this row has {} (a cell with a comma in it needs quotes)",
            self.header.names.len(),
            self.row.cells.len()
        )
    }

    fn not_utf8(&mut self) {
        for at in 0..self.row.cells.len() {
            if self
                .row
                .cells
                .get(at)
                .is_some_and(|cell| std::str::from_utf8(&cell.bytes).is_err())
            {
                self.fault_at(
                    at,
                    "letters in UTF-8: save the file as \"CSV UTF-8\"".into(),
                );
            }
        }
    }

    /// The text of a cell without blanks around it; blank where the file has no such column.
    pub(super) fn text(&self, column: &str) -> &'a str {
        let place = self.header.place(self.file, column);
        place.map(|at| self.text_at(at)).unwrap_or_default()
    }

    /// The text of the cell at a place.
    pub(super) fn text_at(&self, at: usize) -> &'a str {
        let bytes = self.row.cells.get(at).map_or(&[][..], |cell| &cell.bytes);
        let text = std::str::from_utf8(bytes).unwrap_or_default();
        unguarded(text.trim()).trim()
    }

    /// The text of every cell.
    pub(super) fn texts(&self) -> impl Iterator<Item = &'a str> {
        (0..self.row.cells.len()).map(|at| self.text_at(at))
    }

    /// Whether its cells stand anywhere.
    pub(super) fn is_out_of_shape(&self) -> bool {
        self.broken
    }

    /// A cell that may be blank.
    pub(super) fn optional<T>(
        &mut self,
        column: &'static str,
        parse: impl FnOnce(&str) -> Parsed<T>,
    ) -> Option<T> {
        self.parsed(column, self.text(column), parse)
    }

    fn parsed<T>(
        &mut self,
        column: &'static str,
        text: &str,
        parse: impl FnOnce(&str) -> Parsed<T>,
    ) -> Option<T> {
        if text.is_empty() || self.broken || self.is_faulty(column) {
            return None;
        }
        match parse(text) {
            Ok(value) => Some(value),
            Err(wanted) => {
                self.fault(column, wanted);
                None
            }
        }
    }

    /// A cell that may not be blank; `what` says what belongs there, in words that follow "write".
    pub(super) fn required<T>(
        &mut self,
        column: &'static str,
        what: &str,
        parse: impl FnOnce(&str) -> Parsed<T>,
    ) -> Option<T> {
        let text = self.text(column);
        if text.is_empty() {
            self.fault(column, what.to_owned());
            return None;
        }
        self.parsed(column, text, parse)
    }

    /// Notes that a cell is not right, unless that is known already.
    pub(super) fn fault(&mut self, column: &'static str, wanted: String) {
        if self.broken || self.is_faulty(column) {
            return;
        }
        match self.header.place(self.file, column) {
            Some(at) => self.fault_at(at, wanted),
            None => {
                let place = self
                    .row
                    .cells
                    .last()
                    .map_or(0..0, |cell| cell.place.clone());
                let problem = problem_at(
                    self.file,
                    self.sheet,
                    self.row,
                    &place,
                    column.into(),
                    String::new(),
                    wanted,
                );
                self.problems.push(problem);
            }
        }
    }

    fn is_faulty(&self, column: &str) -> bool {
        let is_its = |problem: &Problem| problem.column == self.header.name_of(self.file, column);
        self.problems.iter().any(is_its)
    }

    fn fault_at(&mut self, at: usize, wanted: String) {
        let cell = self.row.cells.get(at);
        let place = cell.map_or(0..0, |cell| cell.place.clone());
        let found = cell.map(found_in).unwrap_or_default();
        let column = self
            .header
            .names
            .get(at)
            .cloned()
            .unwrap_or_else(|| format!("cell {}", at + 1));
        let problem = problem_at(
            self.file, self.sheet, self.row, &place, column, found, wanted,
        );
        self.problems.push(problem);
    }
}

/// The content of a cell as a problem shows it.
pub(super) fn found_in(cell: &Cell<'_>) -> String {
    unguarded(String::from_utf8_lossy(&cell.bytes).trim()).to_owned()
}

/// A problem with the line of the file that it stands in.
pub(super) fn problem_at(
    file: LogFile,
    sheet: &Sheet<'_>,
    row: &RawRow<'_>,
    place: &Range<usize>,
    column: String,
    found: String,
    wanted: String,
) -> Problem {
    let (shown, mark) = sheet.shown(place);
    Problem {
        file,
        line: Line(row.line),
        column,
        found,
        wanted,
        row: shown,
        mark,
    }
}
