//! What can be wrong with a Parquet file itself, whatever its table means.

use ::parquet::errors::ParquetError;

/// Why a Parquet file cannot be read. Each follows the name of the file.
#[derive(Debug, thiserror::Error)]
pub enum ParquetFault {
    /// The system does not give the file.
    #[error("{0}")]
    System(std::io::Error),
    /// The bytes are not what a Parquet file has.
    #[error("this Parquet file is damaged or was cut off ({0}); write it anew")]
    Damaged(String),
    /// Packed in a way that is not read here.
    #[error(
        "column \"{column}\": found values packed with {packing}; write the table with snappy, zstd or no compression"
    )]
    Packing {
        /// Which column.
        column: String,
        /// How it is packed.
        packing: String,
    },
    /// A text that is none.
    #[error(
        "row {row}, column \"{column}\": found bytes that are no text; write text in UTF-8 or a number"
    )]
    NotText {
        /// Row of the table, from 1.
        row: u64,
        /// Which column.
        column: String,
    },
}

impl From<ParquetError> for ParquetFault {
    fn from(error: ParquetError) -> Self {
        let words = error.to_string();
        let plain = words.trim_start_matches("Parquet error: ");
        Self::Damaged(plain.trim_end_matches('.').to_string())
    }
}
