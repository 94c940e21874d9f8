//! The clock, at which only the front looks.
#![allow(clippy::disallowed_methods)] // here alone

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// Today.
pub fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

/// The last day that it may be anywhere on earth: what lies after it is surely still to come. To read the tables of time
/// zones takes a tenth as long as an answer.
pub fn today_at_latest() -> Date {
    let date = TimeZone::UTC.to_datetime(Timestamp::now()).date();
    date.tomorrow().unwrap_or(date)
}
