//! One cell of a Parquet table, and what a table of text would have written for it.

use std::fmt::Write;

/// A cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell<'a> {
    /// Nothing stands there.
    Blank,
    Whole(i64),
    Count(u64),
    Double(f64),
    Single(f32),
    Flag(bool),
    /// Without blanks at its ends.
    Text(&'a str),
}

impl<'a> Cell<'a> {
    /// Its text, in `buffer` where it is not stored as one. Numbers with decimals are the shortest that stand for the
    /// stored one, and without decimals where they are whole: other programs store counts so when some are missing.
    pub fn text(self, buffer: &'a mut String) -> &'a str {
        buffer.clear();
        // Writing to a text cannot fail.
        let _ = match self {
            Self::Text(text) => return text,
            Self::Blank => Ok(()),
            Self::Whole(number) => write!(buffer, "{number}"),
            Self::Count(number) => write!(buffer, "{number}"),
            Self::Double(number) => write!(buffer, "{number}"),
            // Digits of a large whole number that its bits hold, not zeros.
            Self::Single(number) if number.fract() == 0.0 => {
                write!(buffer, "{}", f64::from(number))
            }
            Self::Single(number) => write!(buffer, "{number}"),
            Self::Flag(yes) => write!(buffer, "{}", u8::from(yes)),
        };
        buffer
    }

    /// The number that its text would be read as; text by `read`, nothing by `blank`.
    pub fn number(
        self,
        blank: Option<f64>,
        read: impl FnOnce(&'a str) -> Option<f64>,
    ) -> Option<f64> {
        match self {
            Self::Blank => blank,
            Self::Whole(number) => Some(number as f64),
            Self::Count(number) => Some(number as f64),
            Self::Double(number) => (!number.is_nan()).then_some(number),
            Self::Single(number) => as_written(number),
            Self::Flag(yes) => Some(f64::from(u8::from(yes))),
            Self::Text(text) => read(text),
        }
    }

    /// A whole number that is not below zero, if it is one.
    pub fn count(self) -> Option<u32> {
        let whole = |number: f64| {
            let count = number as u32;
            (f64::from(count) == number).then_some(count)
        };
        match self {
            Self::Whole(number) => number.try_into().ok(),
            Self::Count(number) => number.try_into().ok(),
            Self::Double(number) => whole(number),
            Self::Single(number) => whole(f64::from(number)),
            Self::Text(text) => text.parse().ok(),
            Self::Blank | Self::Flag(_) => None,
        }
    }
}

/// The number of 64 bits that reads the same: 0.1 is not the nearest number of 32 bits to it.
fn as_written(number: f32) -> Option<f64> {
    if number.fract() == 0.0 {
        return Some(f64::from(number));
    }
    let written = number.to_string().parse();
    written.ok().filter(|number: &f64| !number.is_nan())
}

/// Decimals of the shortest text that stands for a number.
pub fn decimals(number: f64) -> i32 {
    // Whole numbers below this, over a power of ten that is exact too, are rounded once (Clinger, How to read floating
    // point numbers accurately, 1990): the text with so many decimals is read as just this number.
    const EXACT: f64 = 4_503_599_627_370_496.0;
    let mut ten = 1.0;
    for decimals in 0..=15 {
        let whole = (number * ten).round();
        if whole.abs() > EXACT {
            break;
        }
        if whole / ten == number {
            return decimals;
        }
        ten *= 10.0;
    }
    let text = number.to_string();
    text.split_once('.').map_or(0, |(_, after)| after.len()) as i32
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn by_text(number: f64) -> i32 {
        let text = number.to_string();
        text.split_once('.').map_or(0, |(_, after)| after.len()) as i32
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn decimals_are_those_of_the_shortest_text(bits in any::<u64>(), whole in -10_000_000_000_i64..10_000_000_000, places in 0..12) {
            let short = whole as f64 / 10_f64.powi(places);
            prop_assert_eq!(decimals(short), by_text(short), "{}", short);
            let any = f64::from_bits(bits);
            if any.is_finite() {
                prop_assert_eq!(decimals(any), by_text(any), "{}", any);
            }
        }

        #[test]
        fn a_number_is_the_one_that_its_text_is_read_as(bits in any::<u64>()) {
            let single = f32::from_bits(bits as u32);
            let cells = [Cell::Double(f64::from_bits(bits)), Cell::Single(single), Cell::Whole(bits as i64), Cell::Count(bits)];
            for cell in cells {
                let mut buffer = String::new();
                let read: f64 = cell.text(&mut buffer).parse().map_err(|_| TestCaseError::fail("no number"))?;
                prop_assert_eq!(cell.number(None, |_| None), (!read.is_nan()).then_some(read));
            }
        }
    }

    #[test]
    fn counts_that_were_stored_with_decimals_are_whole_again() {
        assert_eq!(Cell::Double(3.0).text(&mut String::new()), "3");
        assert_eq!(Cell::Double(3.0).count(), Some(3));
        assert_eq!(Cell::Double(3.5).count(), None);
        assert_eq!(Cell::Double(-1.0).count(), None);
        assert_eq!(Cell::Double(f64::NAN).count(), None);
        assert_eq!(Cell::Single(0.1).number(None, |_| None), Some(0.1));
        assert_eq!(Cell::Blank.number(Some(7.0), |_| None), Some(7.0));
    }
}
