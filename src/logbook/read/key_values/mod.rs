//! shop.csv and costs.csv: one setting a row.

mod costs;
mod shop;

pub(super) use costs::costs;
pub(super) use shop::shop;

use super::cells::one_of;
use super::row::RowReader;
use std::collections::BTreeSet;

/// The key of the row, if it is one of these and new; the problem is noted where it is not.
fn key<T: Copy + Ord>(
    row: &mut RowReader<'_>,
    choices: &[(&str, T)],
    seen: &mut BTreeSet<T>,
) -> Option<T> {
    let key = row.required("key", "the name of a setting", |text| one_of(text, choices))?;
    if seen.insert(key) {
        return Some(key);
    }
    row.fault(
        "key",
        "each setting once: an earlier row has this one".into(),
    );
    None
}
