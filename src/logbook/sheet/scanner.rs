//! Goes through the text once, cell by cell.

use super::{Cell, RawRow};
use std::borrow::Cow;

/// Where in the text the scan stands.
#[derive(Debug)]
pub(super) struct Scanner<'a> {
    pub(super) bytes: &'a [u8],
    pub(super) separator: u8,
    pub(super) at: usize,
    pub(super) line: u64,
    /// For each column of the header, whether it never holds several lines; empty before the header.
    pub(super) one_line: Vec<bool>,
}

/// Where a cell starts.
#[derive(Debug, Clone, Copy)]
struct Start {
    index: usize,
    at: usize,
    line: u64,
}

/// How a cell ended.
#[derive(Debug, PartialEq)]
enum CellEnd {
    /// At a separator: another cell follows.
    Separator,
    /// At the end of the row or of the file.
    Row,
    /// With an unclosed quote; the scanner stands at the end of the line that opened it.
    Unclosed,
}

impl<'a> Scanner<'a> {
    /// The next row; `None` at the end of the text.
    pub(super) fn row(&mut self) -> Option<RawRow<'a>> {
        self.peek()?;
        let line = self.line;
        let mut cells = Vec::with_capacity(self.one_line.len());
        let mut spanning = None;
        loop {
            let start = Start {
                index: cells.len(),
                at: self.at,
                line: self.line,
            };
            let (cell, end) = self.cell(start.index);
            if spanning.is_none() && cell.bytes.iter().any(|byte| is_line_end(*byte)) {
                spanning = Some(start);
            }
            cells.push(cell);
            if end == CellEnd::Separator {
                continue;
            }
            let unclosed = end == CellEnd::Unclosed || self.swallowed(&mut cells, spanning);
            return Some(RawRow {
                line,
                cells,
                unclosed,
            });
        }
    }

    /// Whether a cell of several lines made the row too long or too short. Then its quote was never
    /// meant to reach so far: the row ends with the line that opened it, and the rest is read anew.
    fn swallowed(&mut self, cells: &mut Vec<Cell<'a>>, spanning: Option<Start>) -> bool {
        let Some(start) = spanning.filter(|_| self.is_misfit(cells)) else {
            return false;
        };
        cells.truncate(start.index);
        (self.at, self.line) = (start.at, start.line);
        let (cell, _) = self.unclosed(start.at);
        cells.push(cell);
        true
    }

    /// Not the cells of the header; blank ones behind them do not count.
    fn is_misfit(&self, cells: &[Cell<'_>]) -> bool {
        let columns = self.one_line.len();
        let surplus = |cell: &Cell<'_>| !cell.bytes.trim_ascii().is_empty();
        columns > 0 && (cells.len() < columns || cells.iter().skip(columns).any(surplus))
    }

    fn cell(&mut self, index: usize) -> (Cell<'a>, CellEnd) {
        let from = self.at;
        self.skip_blanks();
        if self.peek() == Some(b'"') {
            self.quoted(from, index)
        } else {
            self.at = from;
            self.plain(from)
        }
    }

    /// A quote in the middle of a plain cell is a letter like any other, as in 15/16".
    fn plain(&mut self, from: usize) -> (Cell<'a>, CellEnd) {
        let cell = self.as_it_stands(from, |scanner, byte| scanner.ends_cell(byte));
        (cell, self.end_of_cell())
    }

    /// The text from a place up to the first byte that ends it, or to the end of the file.
    fn as_it_stands(&mut self, from: usize, ends: impl Fn(&Self, u8) -> bool) -> Cell<'a> {
        let rest = self.bytes.get(from..).unwrap_or_default();
        let end = rest.iter().position(|byte| ends(self, *byte));
        let bytes = rest.get(..end.unwrap_or(rest.len())).unwrap_or_default();
        self.at = from + bytes.len();
        Cell {
            bytes: Cow::Borrowed(bytes),
            place: from..self.at,
        }
    }

    fn quoted(&mut self, from: usize, index: usize) -> (Cell<'a>, CellEnd) {
        let (opened_at, opened_on) = (self.at, self.line);
        self.at += 1;
        let mut bytes = Vec::new();
        while let Some(byte) = self.peek() {
            if byte != b'"' {
                bytes.push(byte);
                self.step();
            } else if self.bytes.get(self.at + 1) == Some(&b'"') {
                bytes.push(byte);
                self.at += 2;
            } else {
                self.at += 1;
                let place = from..self.at;
                self.skip_blanks();
                let fits = self.line == opened_on || self.one_line.get(index) != Some(&true);
                if fits && self.peek().is_none_or(|byte| self.ends_cell(byte)) {
                    let bytes = Cow::Owned(bytes);
                    return (Cell { bytes, place }, self.end_of_cell());
                }
                break;
            }
        }
        (self.at, self.line) = (opened_at, opened_on);
        self.unclosed(from)
    }

    fn unclosed(&mut self, from: usize) -> (Cell<'a>, CellEnd) {
        let cell = self.as_it_stands(from, |_, byte| is_line_end(byte));
        self.end_row();
        (cell, CellEnd::Unclosed)
    }

    fn end_of_cell(&mut self) -> CellEnd {
        match self.peek() {
            Some(byte) if byte == self.separator => {
                self.at += 1;
                CellEnd::Separator
            }
            _ => {
                self.end_row();
                CellEnd::Row
            }
        }
    }

    fn skip_blanks(&mut self) {
        while self
            .peek()
            .is_some_and(|byte| byte == b' ' || (byte == b'\t' && byte != self.separator))
        {
            self.at += 1;
        }
    }

    fn ends_cell(&self, byte: u8) -> bool {
        byte == self.separator || is_line_end(byte)
    }

    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    /// One byte on. CR, LF and CR LF each end one line.
    fn step(&mut self) {
        let Some(byte) = self.peek() else { return };
        self.at += 1;
        if byte == b'\n' || (byte == b'\r' && self.peek() != Some(b'\n')) {
            self.line += 1;
        }
    }

    /// Over the line ending, both halves of it.
    fn end_row(&mut self) {
        let first = self.peek();
        self.step();
        if first == Some(b'\r') && self.peek() == Some(b'\n') {
            self.step();
        }
    }
}

fn is_line_end(byte: u8) -> bool {
    matches!(byte, b'\n' | b'\r')
}
