//! The text of a pack with some of its entries changed, and its comments left alone.

use super::{Learned, LearnedPackError};
use crate::quantities::Basis;
use crate::wear::prior_pack::{PriorEntry, PriorPack};
use toml_edit::{DocumentMut, InlineTable, Item, TableLike, Value};

/// The text with these entries changed, and everything else as it was.
pub fn with_entries(
    text: &str,
    pack: &PriorPack,
    learned: &[Learned],
    source: &str,
) -> Result<String, LearnedPackError> {
    let unfit = |reason: String| LearnedPackError::Text(reason);
    let mut document: DocumentMut = text
        .parse()
        .map_err(|error: toml_edit::TomlError| unfit(error.to_string()))?;
    let entries = pack.entries();
    for Learned {
        table,
        key,
        numbers,
    } in learned
    {
        let before = entries
            .iter()
            .find(|(name, _)| *name == format!("{table}.{key}"));
        let source = match before {
            Some((_, entry)) => format!("{source}; began with {}", told(entry)),
            None => source.to_string(),
        };
        let table = document
            .get_mut(table)
            .and_then(Item::as_table_like_mut)
            .ok_or_else(|| unfit(format!("[{table}] is no table")))?;
        if !table.contains_key(key) {
            table.insert(key, Item::Value(Value::InlineTable(InlineTable::new())));
        }
        let entry = table
            .get_mut(key)
            .and_then(Item::as_table_like_mut)
            .ok_or_else(|| unfit(format!("{key} is no table")))?;
        set(entry, "likely", rounded(numbers.likely).into());
        set(entry, "low", rounded(numbers.low).into());
        set(entry, "high", rounded(numbers.high).into());
        set(entry, "basis", Basis::OwnLog.to_string().into());
        set(entry, "source", source.into());
    }
    Ok(document.to_string())
}

fn told(entry: &PriorEntry) -> String {
    let PriorEntry {
        likely,
        low,
        high,
        basis,
        ..
    } = entry;
    format!("{likely} ({low} to {high}), {basis}")
}

/// Puts a value into an entry, with the blanks that stood about the old one.
fn set(entry: &mut dyn TableLike, key: &str, mut value: Value) {
    if let Some(old) = entry.get(key).and_then(Item::as_value) {
        *value.decor_mut() = old.decor().clone();
    }
    entry.insert(key, Item::Value(value));
}

/// Five digits: a person can read them, and ranges of a few per cent keep their width.
pub fn rounded(x: f64) -> f64 {
    format!("{x:.4e}").parse().unwrap_or(x)
}
