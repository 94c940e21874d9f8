//! Some rows of one column.

use super::cell::Cell;
use super::error::ParquetFault;
use super::kind::Kind;
use ::parquet::column::reader::{ColumnReader, ColumnReaderImpl};
use ::parquet::data_type::{ByteArray, DataType};

/// Values of some rows, those that are there packed together.
#[derive(Debug)]
pub struct Column {
    /// For each row whether a value is there; blank where all are.
    there: Vec<i16>,
    values: Values,
}

#[derive(Debug)]
enum Values {
    Whole(Vec<i64>),
    Counts(Vec<u64>),
    Double(Vec<f64>),
    Single(Vec<f32>),
    Flags(Vec<bool>),
    Texts(Vec<ByteArray>),
}

impl Column {
    /// The next `rows` rows.
    pub fn read(
        reader: &mut ColumnReader,
        kind: &Kind,
        nullable: bool,
        rows: usize,
    ) -> Result<Self, ParquetFault> {
        use ColumnReader as R;
        let mut there = Vec::new();
        let levels = nullable.then_some(&mut there);
        let counts = *kind == Kind::Counts;
        let values = match reader {
            R::BoolColumnReader(it) => Values::Flags(values(it, levels, rows)?),
            R::Int32ColumnReader(it) => {
                let stored = values(it, levels, rows)?.into_iter();
                if counts {
                    Values::Counts(stored.map(|number| u64::from(number as u32)).collect())
                } else {
                    Values::Whole(stored.map(i64::from).collect())
                }
            }
            R::Int64ColumnReader(it) => {
                let stored = values(it, levels, rows)?;
                if counts {
                    Values::Counts(stored.into_iter().map(|number| number as u64).collect())
                } else {
                    Values::Whole(stored)
                }
            }
            R::FloatColumnReader(it) => Values::Single(values(it, levels, rows)?),
            R::DoubleColumnReader(it) => Values::Double(values(it, levels, rows)?),
            R::ByteArrayColumnReader(it) => Values::Texts(values(it, levels, rows)?),
            R::Int96ColumnReader(_) | R::FixedLenByteArrayColumnReader(_) => {
                let unread = "a column changes its type".to_string();
                return Err(ParquetFault::Damaged(unread));
            }
        };
        Ok(Self { there, values })
    }

    /// The first row at which a text is none.
    pub fn no_text(&self) -> Option<usize> {
        let Values::Texts(texts) = &self.values else {
            return None;
        };
        let packed = texts.iter().position(|text| text.as_utf8().is_err())?;
        let mut rows = self.there.iter().enumerate().filter(|(_, it)| **it > 0);
        Some(match self.there.is_empty() {
            true => packed,
            false => rows.nth(packed)?.0,
        })
    }

    /// Its cells from the first row on.
    pub fn cells(&self) -> Cells<'_> {
        Cells {
            column: self,
            spot: Spot::default(),
        }
    }

    /// The cell at a place, which moves on; blank past the end.
    #[inline]
    pub fn next_cell(&self, spot: &mut Spot) -> Cell<'_> {
        let there = self.there.get(spot.row).is_none_or(|it| *it > 0);
        spot.row += 1;
        if !there {
            return Cell::Blank;
        }
        let at = spot.packed;
        spot.packed += 1;
        let cell = match &self.values {
            Values::Whole(it) => it.get(at).map(|it| Cell::Whole(*it)),
            Values::Counts(it) => it.get(at).map(|it| Cell::Count(*it)),
            Values::Double(it) => it.get(at).map(|it| Cell::Double(*it)),
            Values::Single(it) => it.get(at).map(|it| Cell::Single(*it)),
            Values::Flags(it) => it.get(at).map(|it| Cell::Flag(*it)),
            Values::Texts(it) => it.get(at).and_then(|it| it.as_utf8().ok()).map(trimmed),
        };
        cell.unwrap_or(Cell::Blank)
    }
}

fn values<T: DataType>(
    reader: &mut ColumnReaderImpl<T>,
    levels: Option<&mut Vec<i16>>,
    rows: usize,
) -> Result<Vec<T::T>, ParquetFault> {
    let mut values = Vec::with_capacity(rows);
    let (read, _, _) = reader.read_records(rows, levels, None, &mut values)?;
    if read == rows {
        Ok(values)
    } else {
        let short = format!("a column has {} rows fewer than its table", rows - read);
        Err(ParquetFault::Damaged(short))
    }
}

/// A place in a column.
#[derive(Debug, Clone, Copy, Default)]
pub struct Spot {
    row: usize,
    /// Values before it.
    packed: usize,
}

/// Goes down a column.
#[derive(Debug, Clone)]
pub struct Cells<'c> {
    column: &'c Column,
    spot: Spot,
}

impl<'c> Cells<'c> {
    /// The next cell; blank past the end.
    #[inline]
    pub fn next_cell(&mut self) -> Cell<'c> {
        self.column.next_cell(&mut self.spot)
    }
}

/// A text of blanks alone is nothing, as in a table of text.
fn trimmed(text: &str) -> Cell<'_> {
    match text.trim() {
        "" => Cell::Blank,
        text => Cell::Text(text),
    }
}
