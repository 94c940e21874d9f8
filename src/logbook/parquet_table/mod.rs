//! Tables in Parquet files, some rows at a time: a table of a fleet's runs does not fit into memory.
//!
//! What the columns mean is not known here. A small table, or one with a fault, is read as rows of text like a CSV file
//! ([`crate::logbook::text_rows`]); a large one feeds the same pieces as plain CSV does, cell by cell.

mod cell;
mod column;
mod error;
mod kind;
mod shared_file;

pub use cell::{Cell, decimals};
pub use column::{Cells, Column, Spot};
pub use error::ParquetFault;
pub use kind::Kind;

use ::parquet::basic::Compression;
use ::parquet::column::reader::ColumnReader;
use ::parquet::file::reader::{FileReader, SerializedFileReader};
use rayon::prelude::*;
use shared_file::SharedFile;
use std::fs::File;
use std::io::Read;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// The first bytes of every Parquet file.
const MARK: &[u8; 4] = b"PAR1";
/// Rows that are read together: enough to be worth handing to threads, few megabytes.
const BATCH: usize = 1 << 16;

/// Whether a file begins as Parquet files do, whatever it is called.
pub fn is_parquet(file: &Path) -> bool {
    let mut first = [0; 4];
    let read = File::open(file).and_then(|mut it| it.read_exact(&mut first));
    read.is_ok() && first == *MARK
}

/// A file whose columns are known and whose rows are not read yet.
pub struct ParquetTable {
    reader: SerializedFileReader<SharedFile>,
    columns: Vec<TableColumn>,
    rows: u64,
}

/// A column of the table.
#[derive(Debug, Clone)]
pub struct TableColumn {
    /// What it is called.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
    /// Where it is stored, and whether values may be missing.
    leaf: usize,
    nullable: bool,
}

impl ParquetTable {
    /// Reads what the file says of itself.
    pub fn open(file: &Path) -> Result<Self, ParquetFault> {
        guarded(|| Self::opened(file))
    }

    fn opened(file: &Path) -> Result<Self, ParquetFault> {
        let file = File::open(file).and_then(SharedFile::of);
        let reader = SerializedFileReader::new(file.map_err(ParquetFault::System)?)?;
        let metadata = reader.metadata().file_metadata();
        let schema = metadata.schema_descr();
        let leaf_of = |field: usize| {
            (0..schema.num_columns()).find(|at| schema.get_column_root_idx(*at) == field)
        };
        let fields = schema.root_schema().get_fields().iter().enumerate();
        let columns = fields.filter_map(|(field, column)| {
            let leaf = leaf_of(field)?;
            Some(TableColumn {
                name: column.name().to_string(),
                kind: Kind::of(column),
                leaf,
                nullable: schema.column(leaf).max_def_level() > 0,
            })
        });
        let groups = reader.metadata().row_groups().iter();
        let rows = rows_in(metadata.num_rows(), groups.map(|group| group.num_rows()))?;
        Ok(Self {
            columns: columns.collect(),
            rows,
            reader,
        })
    }

    /// Its columns.
    pub fn columns(&self) -> &[TableColumn] {
        &self.columns
    }

    /// How many rows it says that it has.
    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// The rows, of the columns of these numbers alone; those that cannot be read are refused.
    pub fn batches(self, wanted: &[usize]) -> Result<Batches, ParquetFault> {
        let columns = wanted
            .iter()
            .filter_map(|at| self.columns.get(*at))
            .cloned();
        let batches = Batches {
            columns: columns.collect(),
            reader: self.reader,
            group: 0,
            left: 0,
            open: Vec::new(),
            row: 0,
        };
        batches.packed_as_known()?;
        Ok(batches)
    }
}

/// Goes through the rows.
pub struct Batches {
    reader: SerializedFileReader<SharedFile>,
    columns: Vec<TableColumn>,
    /// The group of rows to open next, and what is left of the one that is open.
    group: usize,
    left: usize,
    open: Vec<ColumnReader>,
    /// Rows read so far.
    row: u64,
}

/// Some rows.
#[derive(Debug)]
pub struct Batch {
    /// Number of the first, from 1.
    pub first: u64,
    /// How many.
    pub rows: usize,
    /// The columns that were asked for, in that order.
    pub columns: Vec<Column>,
}

impl Batches {
    /// The next rows; nothing after the last. After a fault there is nothing more to read.
    pub fn next_batch(&mut self) -> Result<Option<Batch>, ParquetFault> {
        guarded(|| self.next_rows())
    }

    fn next_rows(&mut self) -> Result<Option<Batch>, ParquetFault> {
        while self.left == 0 {
            if !self.open_group()? {
                return Ok(None);
            }
        }
        let rows = self.left.min(BATCH);
        let columns = self.open.par_iter_mut().zip(&self.columns);
        let read = columns.map(|(reader, it)| Column::read(reader, &it.kind, it.nullable, rows));
        let batch = Batch {
            first: self.row + 1,
            rows,
            columns: read.collect::<Result<_, _>>()?,
        };
        for (column, read) in self.columns.iter().zip(&batch.columns) {
            if let Some(at) = read.no_text() {
                return Err(ParquetFault::NotText {
                    row: batch.first + at as u64,
                    column: column.name.clone(),
                });
            }
        }
        self.left -= rows;
        self.row += rows as u64;
        Ok(Some(batch))
    }

    /// Opens the next group of rows, if there is one.
    fn open_group(&mut self) -> Result<bool, ParquetFault> {
        if self.group >= self.reader.num_row_groups() {
            return Ok(false);
        }
        let group = self.reader.get_row_group(self.group)?;
        let open = self
            .columns
            .iter()
            .map(|it| group.get_column_reader(it.leaf));
        self.open = open.collect::<Result<_, _>>()?;
        self.left = group.metadata().num_rows().try_into().unwrap_or(0);
        self.group += 1;
        Ok(true)
    }

    fn packed_as_known(&self) -> Result<(), ParquetFault> {
        for group in self.reader.metadata().row_groups() {
            for column in &self.columns {
                let Some(chunk) = group.columns().get(column.leaf) else {
                    continue;
                };
                // The crate stops the program where it meets these.
                let first = chunk.dictionary_page_offset().unwrap_or(0);
                if first
                    .min(chunk.data_page_offset())
                    .min(chunk.compressed_size())
                    < 0
                {
                    let nowhere = format!("column \"{}\" lies nowhere in it", column.name);
                    return Err(ParquetFault::Damaged(nowhere));
                }
                match chunk.compression() {
                    Compression::UNCOMPRESSED | Compression::SNAPPY | Compression::ZSTD(_) => {}
                    other => {
                        return Err(ParquetFault::Packing {
                            column: column.name.clone(),
                            packing: name(&other),
                        });
                    }
                }
            }
        }
        Ok(())
    }
}

/// The rows of a table, from what it says of itself and of each group: groups that are short would be left out unheard.
fn rows_in(whole: i64, groups: impl Iterator<Item = i64>) -> Result<u64, ParquetFault> {
    let said = u64::try_from(whole).ok();
    let added = groups
        .map(|rows| u64::try_from(rows).ok())
        .sum::<Option<u64>>();
    said.filter(|_| said == added)
        .ok_or_else(|| ParquetFault::Damaged("its rows are not as many as it says".to_string()))
}

/// The crate holds some faults of a file for impossible and stops there; here they are faults like others.
fn guarded<T>(read: impl FnOnce() -> Result<T, ParquetFault>) -> Result<T, ParquetFault> {
    let stopped = "its parts do not go together".to_string();
    catch_unwind(AssertUnwindSafe(read)).unwrap_or(Err(ParquetFault::Damaged(stopped)))
}

/// What a way of packing is called, without its settings.
fn name(packing: &Compression) -> String {
    let words = packing.to_string();
    words.split('(').next().unwrap_or_default().to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::write::{ParquetValues, write_parquet};

    #[test]
    fn groups_that_do_not_add_up_are_damage() {
        assert_eq!(rows_in(7, [3, 4].into_iter()).ok(), Some(7));
        assert_eq!(rows_in(0, [].into_iter()).ok(), Some(0));
        for (whole, groups) in [(7, [3, 3]), (-1, [0, -1]), (3, [4, -1])] {
            assert!(matches!(
                rows_in(whole, groups.into_iter()),
                Err(ParquetFault::Damaged(_))
            ));
        }
    }

    /// Columns are read at once by several threads, from one file.
    #[test]
    fn every_row_of_many_comes_back_once_and_in_order() {
        const ROWS: u64 = 200_000;
        let folder = tempfile::tempdir().expect("a temporary folder");
        let file = folder.path().join("many");
        let value = |row: u64, column: u64| (row * 31 + column * 7919) % 104_729;
        let names: Vec<String> = (0..6).map(|column| format!("c{column}")).collect();
        let column = |(at, name)| {
            let values = (0..ROWS).map(|row| value(row, at) as i64);
            let name: &String = name;
            (name.as_str(), ParquetValues::Counts(values.collect()))
        };
        let columns: Vec<(&str, ParquetValues)> = (0..).zip(&names).map(column).collect();
        write_parquet(&file, &columns).expect("a writable folder");
        assert!(is_parquet(&file));
        let table = ParquetTable::open(&file).expect("a table");
        assert_eq!(table.rows(), ROWS);
        let mut batches = table.batches(&[5, 0, 1, 2, 3, 4]).expect("columns");
        let mut row = 0;
        while let Some(batch) = batches.next_batch().expect("rows") {
            assert_eq!(batch.first, row + 1);
            let mut cells: Vec<Cells> = batch.columns.iter().map(Column::cells).collect();
            for _ in 0..batch.rows {
                for (at, cells) in [5, 0, 1, 2, 3, 4].into_iter().zip(&mut cells) {
                    assert_eq!(cells.next_cell(), Cell::Whole(value(row, at) as i64));
                }
                row += 1;
            }
        }
        assert_eq!(row, ROWS);
    }
}
