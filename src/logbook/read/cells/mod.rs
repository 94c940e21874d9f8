//! From the text of one cell to a value. Each parser answers with the value or with what would be
//! right there, in words that follow "write".

mod amount;
mod date;
mod number;
mod word;

pub(super) use amount::{torque, width};
pub(super) use date::date;
pub(super) use number::{count, hours, loads, money, plain};
pub(super) use word::{nearest, one_of};

use crate::logbook::DateOrder;
use crate::quantities::Units;

/// A value, or what would be right.
pub(super) type Parsed<T> = Result<T, String>;

/// How this file and this shop write things.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ways {
    /// What a bare number means.
    pub(super) units: Units,
    /// How 5/3/2026 is meant.
    pub(super) dates: Option<DateOrder>,
    /// The file parts its cells with semicolons, as spreadsheets do where the comma is the decimal
    /// mark.
    pub(super) comma_decimal: bool,
}
