//! Whose log it is, and how this shop writes dates and lengths.

use crate::quantities::Units;

/// Which way round this shop writes a date such as 5/3/2026. A date with the year first
/// (2026-03-05) or with the month in letters (5 Mar 2026) is understood always.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateOrder {
    /// 5/3/2026 is the fifth of March.
    DayFirst,
    /// 5/3/2026 is the third of May.
    MonthFirst,
    /// Only dates that start with the year.
    YearFirst,
}

impl DateOrder {
    /// Every order.
    pub const ALL: [DateOrder; 3] = [
        DateOrder::DayFirst,
        DateOrder::MonthFirst,
        DateOrder::YearFirst,
    ];

    /// The words for it in shop.csv.
    pub fn words(self) -> &'static str {
        match self {
            DateOrder::DayFirst => "day first",
            DateOrder::MonthFirst => "month first",
            DateOrder::YearFirst => "year first",
        }
    }
}

/// What shop.csv holds beside the currency and the flat at which an edge is called dull, which stand
/// with the costs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ShopSettings {
    /// What the shop calls itself; may be blank.
    pub name: String,
    /// Units of bare numbers for widths and torque.
    pub units: Units,
    /// Which way round dates are written; where blank, a date that could be read two ways is a
    /// problem.
    pub dates: Option<DateOrder>,
}
