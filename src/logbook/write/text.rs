//! Rows put together into the text of a file.

use super::rows::{KeyedRow, rows};
use crate::logbook::apostrophe::guarded;
use crate::logbook::{ExtraColumns, LogFile, Logbook};

/// Tells a spreadsheet that the letters beyond ASCII are UTF-8.
const BYTE_ORDER_MARK: &str = "\u{feff}";

/// A whole file: header, then one row a record.
pub(super) fn whole(file: LogFile, logbook: &Logbook) -> String {
    let none = ExtraColumns::default();
    let extras = logbook.extras.get(&file).unwrap_or(&none);
    let mut text = line(&header(file, extras), b',');
    for row in rows(file, logbook) {
        text.push_str(&line(&with_extras(row, extras), b','));
    }
    if text.is_ascii() {
        text
    } else {
        format!("{BYTE_ORDER_MARK}{text}")
    }
}

/// A file without rows.
pub(super) fn empty(file: LogFile) -> String {
    line(&header(file, &ExtraColumns::default()), b',')
}

fn header(file: LogFile, extras: &ExtraColumns) -> Vec<String> {
    let known = file.columns().iter().map(|column| column.name.to_owned());
    known.chain(extras.names.iter().cloned()).collect()
}

fn with_extras((key, mut cells): KeyedRow, extras: &ExtraColumns) -> Vec<String> {
    let mut extra = extras.cells.get(&key).cloned().unwrap_or_default();
    extra.resize(extras.names.len(), String::new());
    cells.extend(extra);
    cells
}

/// One row with its line ending; cells quoted where they must be.
pub(super) fn line(cells: &[String], separator: u8) -> String {
    let guarded: Vec<String> = cells.iter().map(|cell| guarded(cell.trim())).collect();
    let mut writer = csv::WriterBuilder::new()
        .delimiter(separator)
        .from_writer(Vec::new());
    // Writing to memory cannot fail, and text in gives text out.
    let _ = writer.write_record(&guarded);
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}
