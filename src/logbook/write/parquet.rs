//! A table as a Parquet file.

use super::WriteError;
use ::parquet::basic::{Compression, LogicalType, Repetition, Type as Stored};
use ::parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use ::parquet::errors::ParquetError;
use ::parquet::file::properties::WriterProperties;
use ::parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use ::parquet::schema::types::Type;
use std::path::Path;
use std::sync::Arc;

/// The values of a column, none missing.
#[derive(Debug, Clone, PartialEq)]
pub enum ParquetValues {
    /// Texts.
    Texts(Vec<String>),
    /// Whole numbers.
    Counts(Vec<i64>),
    /// Numbers.
    Numbers(Vec<f64>),
}

/// Writes a table, of columns by their names, all of the same length: replaced whole or not at all.
///
/// # Errors
///
/// [`WriteError::File`]; what stood there before stands unharmed.
pub fn write_parquet(path: &Path, columns: &[(&str, ParquetValues)]) -> Result<(), WriteError> {
    let bytes = bytes(columns).map_err(|error| WriteError::File {
        path: path.to_owned(),
        source: std::io::Error::other(error),
    })?;
    super::write_file(path, &bytes)
}

/// One group of rows, packed as most programs do by default.
fn bytes(columns: &[(&str, ParquetValues)]) -> Result<Vec<u8>, ParquetError> {
    let fields: Result<Vec<_>, ParquetError> =
        columns.iter().map(|(name, it)| field(name, it)).collect();
    let schema = Type::group_type_builder("table")
        .with_fields(fields?)
        .build()?;
    let packed = WriterProperties::builder().set_compression(Compression::SNAPPY);
    let mut file =
        SerializedFileWriter::new(Vec::new(), Arc::new(schema), Arc::new(packed.build()))?;
    let mut rows = file.next_row_group()?;
    for (_, values) in columns {
        if let Some(mut column) = rows.next_column()? {
            write(&mut column, values)?;
            column.close()?;
        }
    }
    rows.close()?;
    file.into_inner()
}

fn field(name: &str, values: &ParquetValues) -> Result<Arc<Type>, ParquetError> {
    let (stored, meaning) = match values {
        ParquetValues::Texts(_) => (Stored::BYTE_ARRAY, Some(LogicalType::String)),
        ParquetValues::Counts(_) => (Stored::INT64, None),
        ParquetValues::Numbers(_) => (Stored::DOUBLE, None),
    };
    let field = Type::primitive_type_builder(name, stored)
        .with_repetition(Repetition::REQUIRED)
        .with_logical_type(meaning);
    field.build().map(Arc::new)
}

fn write(column: &mut SerializedColumnWriter, values: &ParquetValues) -> Result<(), ParquetError> {
    match values {
        ParquetValues::Texts(texts) => {
            let bytes: Vec<ByteArray> = texts.iter().map(|it| it.as_str().into()).collect();
            column
                .typed::<ByteArrayType>()
                .write_batch(&bytes, None, None)?;
        }
        ParquetValues::Counts(counts) => {
            column
                .typed::<Int64Type>()
                .write_batch(counts, None, None)?;
        }
        ParquetValues::Numbers(numbers) => {
            column
                .typed::<DoubleType>()
                .write_batch(numbers, None, None)?;
        }
    }
    Ok(())
}
