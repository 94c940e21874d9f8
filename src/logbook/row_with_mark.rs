//! Where in a table a fault stands, for tables that are no log.

use super::sheet::{Cell, Sheet};
use std::ops::Range;

/// The line of the file in which the row of number `line` has its cell in `column`, and which letters of it
/// are that cell; the end of the row where it has no such cell. `None` where the text has no such row or
/// column.
pub fn row_with_mark(text: &[u8], line: u64, column: &str) -> Option<(String, Range<usize>)> {
    let sheet = Sheet::scan(text, |_| false);
    let is_named = |cell: &Cell| {
        let name = String::from_utf8_lossy(&cell.bytes);
        name.trim().to_lowercase() == column.to_lowercase()
    };
    let header = sheet.rows.first()?;
    let at = header.cells.iter().position(is_named)?;
    let row = sheet.rows.iter().find(|row| row.line == line)?;
    match (row.cells.get(at), row.cells.last()) {
        (Some(cell), _) => Some(sheet.shown(&cell.place)),
        (None, Some(last)) => Some(sheet.shown(&(last.place.end..last.place.end))),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &[u8] = b"\xef\xbb\xbfLower,upper\n1,2\n\n\"3\",four\n5\n";

    #[test]
    fn the_cell_is_found_in_its_row() {
        let told = row_with_mark(TABLE, 4, "upper");
        assert_eq!(told, Some(("\"3\",four".to_string(), 4..8)));
        let quoted = row_with_mark(TABLE, 4, "lower");
        assert_eq!(quoted, Some(("\"3\",four".to_string(), 0..3)));
    }

    #[test]
    fn a_row_too_short_is_marked_at_its_end_and_nothing_is_made_up() {
        assert_eq!(
            row_with_mark(TABLE, 5, "upper"),
            Some(("5".to_string(), 1..1))
        );
        assert_eq!(row_with_mark(TABLE, 9, "upper"), None);
        assert_eq!(row_with_mark(TABLE, 4, "weight"), None);
    }
}
