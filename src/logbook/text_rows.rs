//! The rows of a table as text, whether the file is CSV or Parquet: readers that name every fault need no more.

use super::parquet_table::{
    Batch, Batches, Cell, Kind, ParquetFault, ParquetTable, Spot, is_parquet,
};
use csv::StringRecord;
use std::fs::File;
use std::path::Path;

/// Why a file is no table.
#[derive(Debug, thiserror::Error)]
pub enum TableFault {
    /// A file of text.
    #[error("{0}")]
    Text(#[from] csv::Error),
    /// A Parquet file.
    #[error("{0}")]
    Parquet(#[from] ParquetFault),
}

/// What a row is called where it is told of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RowNames {
    /// Lines of a file of text, the header being line 1.
    #[default]
    Lines,
    /// Rows of a table without a header line: the second line of the same table as text is row 1.
    Rows,
}

impl RowNames {
    /// Line `line` of a table as text, before a column; nothing for the header of a table that has none.
    pub fn before_column(self, line: u64) -> String {
        match self {
            Self::Lines => format!("line {line}, "),
            Self::Rows if line <= 1 => String::new(),
            Self::Rows => format!("row {}, ", line - 1),
        }
    }

    /// Where the names of the columns stand.
    pub fn first(self) -> &'static str {
        match self {
            Self::Lines => "line 1",
            Self::Rows => "the table",
        }
    }

    /// What the names of the columns should be written as.
    pub fn header(self) -> &'static str {
        match self {
            Self::Lines => "a header line",
            Self::Rows => "a table",
        }
    }
}

/// The columns of a table.
#[derive(Debug, Clone, Default)]
pub struct TextColumns {
    /// Their names.
    pub names: Vec<String>,
    /// What the rows are called.
    pub rows: RowNames,
    /// What the columns hold, where the file says so; blank for text.
    kinds: Vec<Kind>,
}

impl TextColumns {
    /// Whether the numbers of a column come from floating ones: zeros at their ends are not written then.
    pub fn is_floating(&self, column: usize) -> bool {
        self.kinds.get(column).is_some_and(Kind::is_floating)
    }

    /// What a column holds, in words, if that cannot be read.
    pub fn unreadable(&self, column: usize) -> Option<&str> {
        match self.kinds.get(column) {
            Some(Kind::Other(what)) => Some(what),
            _ => None,
        }
    }
}

/// What columns of other kinds should hold.
pub const READABLE: &str = "numbers or text";

/// The rows, from the first below the header.
pub enum TextRows {
    /// Of a file of text.
    Text(Box<csv::Reader<File>>),
    /// Of a Parquet file.
    Parquet(Box<ParquetRows>),
}

impl TextRows {
    /// Opens a table.
    pub fn open(file: &Path) -> Result<(TextColumns, Self), TableFault> {
        if is_parquet(file) {
            let table = ParquetTable::open(file)?;
            let columns = parquet_columns(&table);
            let rows = ParquetRows::of(table)?;
            return Ok((columns, Self::Parquet(Box::new(rows))));
        }
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .flexible(true)
            .from_path(file)?;
        let header = reader.headers()?.iter();
        let names = header.map(|name| name.trim_start_matches('\u{feff}').to_string());
        let columns = TextColumns {
            names: names.collect(),
            ..TextColumns::default()
        };
        Ok((columns, Self::Text(Box::new(reader))))
    }

    /// Reads the next row and says which line it is; nothing after the last.
    pub fn next_row(&mut self, record: &mut StringRecord) -> Result<Option<u64>, TableFault> {
        match self {
            Self::Text(reader) => {
                let read = reader.read_record(record)?;
                Ok(read.then(|| record.position().map_or(0, csv::Position::line)))
            }
            Self::Parquet(rows) => Ok(rows.next_row(record)?),
        }
    }
}

/// What a Parquet file says of its columns.
fn parquet_columns(table: &ParquetTable) -> TextColumns {
    let columns = table.columns();
    TextColumns {
        names: columns
            .iter()
            .map(|it| it.name.trim().to_string())
            .collect(),
        rows: RowNames::Rows,
        kinds: columns.iter().map(|it| it.kind.clone()).collect(),
    }
}

/// Rows of a Parquet file, each written out.
pub struct ParquetRows {
    batches: Batches,
    /// For each column of the table whether it can be read; others are blank.
    read: Vec<bool>,
    batch: Option<Batch>,
    /// Rows of the batch that have been written out, and where each of its columns stands.
    done: usize,
    spots: Vec<Spot>,
    /// Holds one cell.
    buffer: String,
}

impl ParquetRows {
    fn of(table: ParquetTable) -> Result<Self, ParquetFault> {
        let kinds = table.columns().iter().map(|it| &it.kind);
        let read: Vec<bool> = kinds.map(|it| !matches!(it, Kind::Other(_))).collect();
        let numbered = read.iter().enumerate().filter(|(_, read)| **read);
        let wanted: Vec<usize> = numbered.map(|(at, _)| at).collect();
        Ok(Self {
            batches: table.batches(&wanted)?,
            read,
            batch: None,
            done: 0,
            spots: Vec::new(),
            buffer: String::new(),
        })
    }

    fn next_row(&mut self, record: &mut StringRecord) -> Result<Option<u64>, ParquetFault> {
        if self.batch.as_ref().is_none_or(|it| self.done == it.rows) {
            self.batch = self.batches.next_batch()?;
            self.done = 0;
            let columns = self.batch.as_ref().map_or(0, |it| it.columns.len());
            self.spots = vec![Spot::default(); columns];
        }
        let Some(batch) = &self.batch else {
            return Ok(None);
        };
        record.clear();
        let mut columns = batch.columns.iter().zip(&mut self.spots);
        for read in &self.read {
            let next = if *read { columns.next() } else { None };
            let cell = next.map_or(Cell::Blank, |(column, spot)| column.next_cell(spot));
            record.push_field(cell.text(&mut self.buffer));
        }
        // The header would be line 1.
        let line = batch.first + self.done as u64 + 1;
        self.done += 1;
        Ok(Some(line))
    }
}
