//! From rows to files, each chosen row with its fault.

use super::kinds::{Deed, Fault};
use super::sound::Row;
use keenspan::logbook::LogFile;
use keenspan::logbook::read::LogTexts;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// The files, and the line of each row.
pub fn write(
    rows: &[Row],
    faulty: &BTreeMap<usize, Fault>,
    random: &mut ChaCha8Rng,
) -> (LogTexts, Vec<u64>) {
    let crlf = random.random_bool(0.5);
    let ending: &[u8] = if crlf { b"\r\n" } else { b"\n" };
    let mut texts: LogTexts = LogFile::ALL
        .map(|file| (file, [header(file).join(",").as_bytes(), ending].concat()))
        .into();
    let mut lines = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let text = texts.get_mut(&row.file).expect("every file");
        lines.push(text.iter().filter(|byte| **byte == b'\n').count() as u64 + 1);
        text.extend(match faulty.get(&at) {
            Some(fault) => with_fault(row, fault),
            None => row
                .cells
                .iter()
                .map(|cell| quoted(cell))
                .collect::<Vec<_>>()
                .join(",")
                .into_bytes(),
        });
        text.extend(ending);
    }
    (texts, lines)
}

fn header(file: LogFile) -> Vec<&'static str> {
    file.columns().iter().map(|column| column.name).collect()
}

/// An inch mark stands as it is, as people type it.
fn quoted(cell: &str) -> String {
    if cell.contains([',', '\n']) || cell.starts_with('"') || cell.contains("\"fine") {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

fn with_fault(row: &Row, fault: &Fault) -> Vec<u8> {
    let header = header(row.file);
    let place = |column: &str| header.iter().position(|name| *name == column);
    let mut cells: Vec<Vec<u8>> = row
        .cells
        .iter()
        .map(|cell| quoted(&cell.replace('\n', " ")).into_bytes())
        .collect();
    let own = place(fault.column);
    match fault.deed {
        Deed::Write(texts) => {
            for (column, text) in texts {
                cells[place(column).expect("a column")] = quoted(text).into_bytes();
            }
        }
        Deed::OpenQuote => cells[own.expect("a column")] = b"\"oak 60%, ash".to_vec(),
        Deed::HalfLetter => cells[own.expect("a column")] = b"Ren\xe9".to_vec(),
        Deed::TooFew => {
            cells.pop();
        }
        Deed::TooMany => cells.push(b"more".to_vec()),
    }
    cells.join(&b',')
}
