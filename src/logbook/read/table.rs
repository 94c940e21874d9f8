//! A file of records: header, rows, counts, and the crew's own columns.

use super::cells::Ways;
use super::header::{Header, empty_file};
use super::row::RowReader;
use super::unread::RawUnread;
use crate::logbook::sheet::{RawRow, Sheet};
use crate::logbook::{ExtraColumns, LogFile, Problem, RowKey};

/// What is common to the reading of every file.
#[derive(Debug, Default)]
pub(super) struct TableReading {
    pub(super) problems: Vec<Problem>,
    pub(super) rows: usize,
    pub(super) set_aside: usize,
    pub(super) extras: ExtraColumns,
    /// The rows set aside, in order.
    pub(super) unread: Vec<RawUnread>,
    /// The header could not be read, so that nothing is known of any row.
    pub(super) unreadable: bool,
}

/// Reads every row with `build`. A row with any problem is set aside, whatever `build` made of it.
pub(super) fn read_rows<T>(
    file: LogFile,
    bytes: &[u8],
    ways: Ways,
    mut build: impl FnMut(&mut RowReader<'_>) -> Option<(RowKey, T)>,
) -> (Vec<T>, TableReading) {
    let sheet = Sheet::scan(bytes, |header| file.is_one_line(header));
    let mut reading = TableReading::default();
    let mut records = Vec::new();
    let Some((header, rows)) = header_and_rows(file, &sheet, &mut reading) else {
        return (records, reading);
    };
    let ways = Ways {
        comma_decimal: sheet.separator == b';',
        ..ways
    };
    let extra_places = header.extra_places();
    reading.extras.names = names_at(&header, &extra_places);
    for row in rows {
        let mut reader = RowReader::new(file, &sheet, &header, row, ways);
        let built = read_row(&mut reader, &mut build);
        reading.problems.append(&mut reader.problems);
        let Some((key, record)) = built else {
            reading.set_aside += 1;
            reading.unread.push(RawUnread::of(&reader));
            continue;
        };
        records.push(record);
        if !extra_places.is_empty() {
            let extra = extra_places.iter().map(|at| reader.text_at(*at).to_owned());
            reading.extras.cells.insert(key, extra.collect());
        }
    }
    (records, reading)
}

fn names_at(header: &Header, places: &[usize]) -> Vec<String> {
    let names = places.iter().filter_map(|at| header.names.get(*at));
    names.cloned().collect()
}

fn read_row<T>(
    reader: &mut RowReader<'_>,
    build: &mut impl FnMut(&mut RowReader<'_>) -> Option<(RowKey, T)>,
) -> Option<(RowKey, T)> {
    reader.check_shape();
    let built = build(reader);
    reader.problems.sort_by_key(|problem| problem.mark.start);
    built.filter(|_| reader.problems.is_empty())
}

fn header_and_rows<'a>(
    file: LogFile,
    sheet: &'a Sheet<'a>,
    reading: &mut TableReading,
) -> Option<(Header, &'a [RawRow<'a>])> {
    let Some((first, rows)) = sheet.rows.split_first() else {
        reading.problems.push(empty_file(file));
        reading.unreadable = true;
        return None;
    };
    reading.rows = rows.len();
    match Header::read(file, sheet, first) {
        Ok(header) => Some((header, rows)),
        Err(problems) => {
            reading.problems = problems;
            reading.set_aside = rows.len();
            reading.unreadable = true;
            None
        }
    }
}
