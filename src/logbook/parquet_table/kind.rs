//! What a column of a Parquet file holds.

use ::parquet::basic::{ConvertedType, LogicalType, Repetition, Type as Stored};
use ::parquet::schema::types::Type;

/// How the values of a column are read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// Whole numbers that may be below zero.
    Whole,
    /// Whole numbers that are not.
    Counts,
    /// Numbers of 64 or 32 bits with decimals.
    Double,
    Single,
    /// True or false.
    Flag,
    Text,
    /// Anything else, in words: such a column is named where it is asked for.
    Other(String),
}

impl Kind {
    /// Of a column of the table, which may be nested.
    pub fn of(column: &Type) -> Self {
        let info = column.get_basic_info();
        let repeated = info.has_repetition() && info.repetition() == Repetition::REPEATED;
        if !column.is_primitive() || repeated {
            return Self::Other("lists or records".to_string());
        }
        let meaning = info.logical_type_ref();
        let older = info.converted_type();
        match (column.get_physical_type(), meaning) {
            (Stored::BOOLEAN, _) => Self::Flag,
            (Stored::FLOAT, _) => Self::Single,
            (Stored::DOUBLE, _) => Self::Double,
            (Stored::INT32 | Stored::INT64, _) => whole(meaning, older),
            (Stored::BYTE_ARRAY, _) => text(meaning, older),
            (Stored::INT96, _) => Self::Other("points in time".to_string()),
            (Stored::FIXED_LEN_BYTE_ARRAY, _) => match (meaning, older) {
                (Some(LogicalType::Decimal { .. }), _) | (_, ConvertedType::DECIMAL) => {
                    Self::Other(DECIMALS.to_string())
                }
                _ => Self::Other("bytes of a fixed number".to_string()),
            },
        }
    }

    /// Whether what is stored has no trailing zeros to tell how far it was rounded.
    pub fn is_floating(&self) -> bool {
        matches!(self, Self::Double | Self::Single)
    }
}

const DECIMALS: &str = "decimal numbers of a fixed scale";

fn whole(meaning: Option<&LogicalType>, older: ConvertedType) -> Kind {
    let unsigned = [
        ConvertedType::UINT_8,
        ConvertedType::UINT_16,
        ConvertedType::UINT_32,
        ConvertedType::UINT_64,
    ];
    let signed = [
        ConvertedType::NONE,
        ConvertedType::INT_8,
        ConvertedType::INT_16,
        ConvertedType::INT_32,
        ConvertedType::INT_64,
    ];
    match meaning {
        // A column of nulls alone is stored as whole numbers of an unknown meaning.
        Some(LogicalType::Unknown) => Kind::Whole,
        _ if unsigned.contains(&older) => Kind::Counts,
        Some(LogicalType::Decimal { .. }) => Kind::Other(DECIMALS.to_string()),
        Some(LogicalType::Integer(_)) => Kind::Whole,
        None if signed.contains(&older) => Kind::Whole,
        None if older == ConvertedType::DECIMAL => Kind::Other(DECIMALS.to_string()),
        _ => Kind::Other("dates or times".to_string()),
    }
}

fn text(meaning: Option<&LogicalType>, older: ConvertedType) -> Kind {
    match (meaning, older) {
        (Some(LogicalType::Decimal { .. }), _) | (_, ConvertedType::DECIMAL) => {
            Kind::Other(DECIMALS.to_string())
        }
        (None | Some(LogicalType::String | LogicalType::Enum | LogicalType::Json), _) => Kind::Text,
        _ => Kind::Other("bytes that are no text".to_string()),
    }
}
