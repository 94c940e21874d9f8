//! CSV text cut into rows and cells, each with its place in the file.
//!
//! The csv crate reads on to the end of the file when a quote is not closed, and one slip of the
//! finger would swallow every row after it. This scanner says where the quote was opened and goes on
//! with the next line; for text without such faults a test holds it to the csv crate's answer.
//!
//! A quote may seem closed by an inch mark some rows below. So a cell of several lines is believed
//! only in a column of free text, and only where the row has the cells of the header. An inch mark
//! further on in the same row still passes for the closing quote; that row then has too few cells.

mod scanner;

use scanner::Scanner;
use std::borrow::Cow;
use std::ops::Range;

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cell<'a> {
    /// Its content, without the quotes.
    pub(super) bytes: Cow<'a, [u8]>,
    /// Its place in the file, with the quotes.
    pub(super) place: Range<usize>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct RawRow<'a> {
    /// Line of the file in which it starts, from 1.
    pub(super) line: u64,
    /// Its cells, blank rows having one blank cell.
    pub(super) cells: Vec<Cell<'a>>,
    /// The last cell opens a quote that is not closed where a cell can end.
    pub(super) unclosed: bool,
}

/// A file's text in rows.
#[derive(Debug)]
pub(super) struct Sheet<'a> {
    /// The whole text.
    pub(super) bytes: &'a [u8],
    /// What parts the cells: comma, semicolon or tab.
    pub(super) separator: u8,
    /// Rows that are not blank, the header first.
    pub(super) rows: Vec<RawRow<'a>>,
}

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

impl<'a> Sheet<'a> {
    /// Cuts the text up. Never fails: a fault is marked on its row. `one_line` says which columns, by
    /// the name in the header, never hold several lines.
    pub(super) fn scan(bytes: &'a [u8], one_line: impl Fn(&str) -> bool) -> Self {
        let mut scanner = Scanner {
            bytes,
            separator: separator(bytes),
            at: start(bytes),
            line: 1,
            one_line: Vec::new(),
        };
        let mut rows: Vec<RawRow<'a>> = Vec::new();
        while let Some(row) = scanner.row() {
            if rows.is_empty() && !row.is_blank() {
                let name = |cell: &Cell<'_>| one_line(&String::from_utf8_lossy(&cell.bytes));
                scanner.one_line = row.cells.iter().map(name).collect();
            }
            if !row.is_blank() {
                rows.push(row);
            }
        }
        Self {
            bytes,
            separator: scanner.separator,
            rows,
        }
    }

    /// The line of the file that holds this place, and which of its letters the place is.
    pub(super) fn shown(&self, place: &Range<usize>) -> (String, Range<usize>) {
        let around = self.line_around(place);
        let letters = |range: Range<usize>| {
            let bytes = self.bytes.get(range).unwrap_or_default();
            String::from_utf8_lossy(bytes).into_owned()
        };
        let before = letters(around.start..place.start.max(around.start));
        let inside = letters(place.start..place.end.min(around.end).max(place.start));
        let from = before.chars().count();
        (letters(around), from..from + inside.chars().count())
    }

    /// The one line of the file that holds this place.
    fn line_around(&self, place: &Range<usize>) -> Range<usize> {
        let is_end = |byte: &u8| matches!(byte, b'\n' | b'\r');
        let before = self.bytes.get(..place.start).unwrap_or_default();
        let after = self.bytes.get(place.start..).unwrap_or_default();
        let from = before
            .iter()
            .rposition(is_end)
            .map_or(start(self.bytes), |at| at + 1);
        let to = after
            .iter()
            .position(is_end)
            .map_or(self.bytes.len(), |at| place.start + at);
        from.min(to)..to
    }
}

impl RawRow<'_> {
    fn is_blank(&self) -> bool {
        !self.unclosed
            && self
                .cells
                .iter()
                .all(|cell| cell.bytes.trim_ascii().is_empty())
    }
}

fn start(bytes: &[u8]) -> usize {
    if bytes.starts_with(BYTE_ORDER_MARK) {
        BYTE_ORDER_MARK.len()
    } else {
        0
    }
}

/// Whatever the first line that is not blank has most of; a comma where it has none.
fn separator(bytes: &[u8]) -> u8 {
    let header = bytes
        .split(|byte| matches!(byte, b'\n' | b'\r'))
        .find(|line| !line.trim_ascii().is_empty())
        .unwrap_or_default();
    let count = |mark: u8| header.iter().filter(|byte| **byte == mark).count();
    let most = |best: u8, next: u8| {
        if count(next) > count(best) {
            next
        } else {
            best
        }
    };
    [b';', b'\t'].into_iter().fold(b',', most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let text_of = |cell: Cell<'_>| String::from_utf8_lossy(&cell.bytes).into_owned();
        let sheet = Sheet::scan(text.as_bytes(), |_| false);
        sheet
            .rows
            .into_iter()
            .map(|row| row.cells.into_iter().map(text_of).collect())
            .collect()
    }

    #[test]
    fn an_unclosed_quote_costs_its_own_row_and_no_other() {
        let sheet = Sheet::scan(b"a,b\n1,\"oak\n2,\"ash, elm\"\n3,x\n", |_| false);
        let unclosed: Vec<(u64, bool)> = sheet
            .rows
            .iter()
            .map(|row| (row.line, row.unclosed))
            .collect();
        assert_eq!(unclosed, [(1, false), (2, true), (3, false), (4, false)]);
    }

    #[test]
    fn an_inch_mark_further_down_does_not_close_a_quote() {
        let unclosed = |text: &str| -> Vec<bool> {
            let sheet = Sheet::scan(text.as_bytes(), |name| name == "flat");
            sheet.rows.iter().map(|row| row.unclosed).collect()
        };
        let same_column = "flat,note\n\"1/32,x\n2,y\n1/32\",z\n";
        assert_eq!(unclosed(same_column), [false, true, false, false]);
        let other_column = "note,flat\n\"x,1\ny,1/32\"\nz,2\n";
        assert_eq!(unclosed(other_column), [false, true, false, false]);
        let sound = "flat,note\n1,\"two\nlines\"\n2,y\n";
        assert_eq!(unclosed(sound), [false, false, false]);
    }

    #[test]
    fn lines_are_counted_through_notes_of_several_lines() {
        let sheet = Sheet::scan(b"a,b\r\n1,\"two\r\nlines\"\r\n\r\n2,x\r\n", |_| false);
        let lines: Vec<u64> = sheet.rows.iter().map(|row| row.line).collect();
        assert_eq!(lines, [1, 2, 5]);
    }

    #[test]
    fn inch_marks_blanks_before_quotes_and_semicolons_are_read() {
        assert_eq!(
            cells("a;b\n15/16\"; \"x; y\" \n"),
            [["a", "b"], ["15/16\"", "x; y"]]
        );
        assert_eq!(cells("\u{feff}a\tb\n1\t2"), [["a", "b"], ["1", "2"]]);
    }

    proptest! {
        // A failure shows its case; no file is left at the top level.
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        // The csv crate is the witness wherever every quote is closed.
        #[test]
        fn sound_text_is_cut_as_the_csv_crate_cuts_it(
            rows in prop::collection::vec(prop::collection::vec("[a-z,\"\n ]{0,5}x", 3), 1..6)
        ) {
            let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).map_err(|error| TestCaseError::fail(error.to_string()))?;
            }
            let text = writer.into_inner().map_err(|error| TestCaseError::fail(error.to_string()))?;
            // A comma must win as the separator, which it does in what the crate writes.
            let by_csv: Vec<Vec<String>> = csv::ReaderBuilder::new()
                .flexible(true)
                .has_headers(false)
                .from_reader(text.as_slice())
                .records()
                .filter_map(Result::ok)
                .map(|record| record.iter().map(str::to_owned).collect())
                .collect();
            prop_assert_eq!(cells(&String::from_utf8_lossy(&text)), by_csv);
        }

        #[test]
        fn any_bytes_are_cut_into_rows_in_order(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            let sheet = Sheet::scan(&bytes, |name| name == "a");
            prop_assert!(sheet.rows.windows(2).all(|pair| pair[0].line < pair[1].line));
            for cell in sheet.rows.iter().flat_map(|row| &row.cells) {
                prop_assert!(sheet.bytes.get(sheet.line_around(&cell.place)).is_some());
            }
        }
    }
}
