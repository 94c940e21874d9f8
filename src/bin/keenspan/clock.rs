//! The clock, at which only the front looks.

use jiff::civil::Date;

/// Today.
pub fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}
