//! A file of records: header, rows, counts, and the crew's own columns.

use super::cells::Ways;
use super::header::{Header, empty_file};
use super::row::RowReader;
use super::unread::RawUnread;
use crate::logbook::sheet::{RawRow, Sheet};
use crate::logbook::{ExtraColumns, LogFile, Problem, RowKey};
use rayon::prelude::*;

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
    read_table(file, bytes, ways, |table, rows| {
        vec![table.part(rows, &mut build)]
    })
}

/// The same of a file that may be long, a part of its rows beside another.
pub(super) fn read_many_rows<T: Send>(
    file: LogFile,
    bytes: &[u8],
    ways: Ways,
    build: impl Fn(&mut RowReader<'_>) -> Option<(RowKey, T)> + Sync,
) -> (Vec<T>, TableReading) {
    read_table(file, bytes, ways, |table, rows| {
        let parts = rows.par_chunks(A_PART);
        parts.map(|rows| table.part(rows, &mut &build)).collect()
    })
}

/// Rows of a part: as many as are worth a thread's while, a tenth of a millisecond.
const A_PART: usize = 64;

/// A file whose header was read.
struct Table<'a> {
    file: LogFile,
    sheet: &'a Sheet<'a>,
    header: Header,
    ways: Ways,
    /// The crew's own columns.
    extra_places: Vec<usize>,
}

/// What some of its rows hold.
struct Part<T> {
    records: Vec<T>,
    problems: Vec<Problem>,
    unread: Vec<RawUnread>,
    extras: Vec<(RowKey, Vec<String>)>,
}

fn read_table<T>(
    file: LogFile,
    bytes: &[u8],
    ways: Ways,
    read: impl FnOnce(&Table<'_>, &[RawRow<'_>]) -> Vec<Part<T>>,
) -> (Vec<T>, TableReading) {
    let sheet = Sheet::scan(bytes, |header| file.is_one_line(header));
    let mut reading = TableReading::default();
    let mut records = Vec::new();
    let Some((header, rows)) = header_and_rows(file, &sheet, &mut reading) else {
        return (records, reading);
    };
    let table = Table {
        file,
        sheet: &sheet,
        ways: Ways {
            comma_decimal: sheet.separator == b';',
            ..ways
        },
        extra_places: header.extra_places(),
        header,
    };
    reading.extras.names = names_at(&table.header, &table.extra_places);
    for part in read(&table, rows) {
        records.extend(part.records);
        reading.problems.extend(part.problems);
        reading.set_aside += part.unread.len();
        reading.unread.extend(part.unread);
        reading.extras.cells.extend(part.extras);
    }
    (records, reading)
}

impl Table<'_> {
    fn part<T>(
        &self,
        rows: &[RawRow<'_>],
        build: &mut impl FnMut(&mut RowReader<'_>) -> Option<(RowKey, T)>,
    ) -> Part<T> {
        let mut part = Part {
            records: Vec::with_capacity(rows.len()),
            problems: Vec::new(),
            unread: Vec::new(),
            extras: Vec::new(),
        };
        for row in rows {
            let mut reader = RowReader::new(self.file, self.sheet, &self.header, row, self.ways);
            let built = read_row(&mut reader, build);
            part.problems.append(&mut reader.problems);
            let Some((key, record)) = built else {
                part.unread.push(RawUnread::of(&reader));
                continue;
            };
            part.records.push(record);
            if !self.extra_places.is_empty() {
                let extra = self.extra_places.iter();
                let extra = extra.map(|at| reader.text_at(*at).to_owned());
                part.extras.push((key, extra.collect()));
            }
        }
        part
    }
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
