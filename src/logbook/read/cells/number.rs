//! Numbers, hours, counts and money.

use super::{Parsed, Ways};
use crate::quantities::MeterHours;

/// More hours than any meter counts; keeps a slip of the keyboard from becoming a life.
const MOST_HOURS: f64 = 1e6;

/// What a mark followed by exactly three digits means where the file does not tell: 1,234.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Doubtful {
    /// Thousands: there are no thousandths of money.
    Thousands,
    /// Nobody can know.
    Refused,
}

/// Why a text is no number.
#[derive(Debug, Clone, PartialEq)]
enum NoNumber {
    /// It is something else.
    Other,
    /// It could be two numbers.
    TwoWays(String),
}

/// Hours: "12.5", "12,5", "12.5 h", "12:30", "30 min".
pub(in crate::logbook::read) fn hours(text: &str, ways: Ways) -> Parsed<MeterHours> {
    const WANTED: &str = "hours, zero or more, such as 3.5";
    let (number, unit) = split_unit(text);
    let factor = match unit.to_lowercase().trim_end_matches('.') {
        "" | "h" | "hr" | "hrs" | "hour" | "hours" => 1.0,
        "min" | "mins" | "minute" | "minutes" => 1.0 / 60.0,
        _ => return Err(WANTED.into()),
    };
    let value = match clock(number) {
        Some(hours) => hours,
        None => {
            number_of(number, ways, Doubtful::Refused).map_err(|error| wanted(error, WANTED))?
        }
    };
    Some(value * factor)
        .filter(|hours| *hours <= MOST_HOURS)
        .and_then(|hours| MeterHours::new(hours).ok())
        .ok_or_else(|| WANTED.into())
}

/// "12:30" is twelve hours and a half.
fn clock(text: &str) -> Option<f64> {
    let (hours, minutes) = text.split_once(':')?;
    let digits = |part: &str| part.chars().all(|it| it.is_ascii_digit()) && !part.is_empty();
    if !digits(hours) || !digits(minutes) || minutes.len() != 2 {
        return None;
    }
    let minutes: f64 = minutes.parse().ok().filter(|minutes| *minutes < 60.0)?;
    let hours: f64 = hours.parse().ok()?;
    Some(hours + minutes / 60.0)
}

/// A whole number from `least` to `most`.
pub(in crate::logbook::read) fn count(text: &str, least: u32, most: u32) -> Parsed<u32> {
    text.parse()
        .ok()
        .filter(|number| (least..=most).contains(number))
        .ok_or_else(|| format!("a whole number from {least} to {most}"))
}

/// Loads: a number, zero or more; halves count.
pub(in crate::logbook::read) fn loads(text: &str, ways: Ways) -> Parsed<f64> {
    plain(
        text,
        ways,
        "the number of loads, zero or more, such as 2 or 1.5",
    )
}

/// A plain number, zero or more.
pub(in crate::logbook::read) fn plain(text: &str, ways: Ways, words: &str) -> Parsed<f64> {
    number_of(text, ways, Doubtful::Refused).map_err(|error| wanted(error, words))
}

/// Money: a plain number, with or without the sign or letters of a currency, or marks between the
/// thousands.
pub(in crate::logbook::read) fn money(text: &str, ways: Ways) -> Parsed<f64> {
    const WANTED: &str = "an amount of money, zero or more, such as 125 or 1250.50";
    let is_currency =
        |it: char| it.is_alphabetic() || it.is_whitespace() || "$£€¥₹₽₩₺¢".contains(it);
    let number = text.trim_matches(is_currency).trim_end_matches("kr.");
    number_of(number, ways, Doubtful::Thousands).map_err(|error| wanted(error, WANTED))
}

fn wanted(error: NoNumber, words: &str) -> String {
    match error {
        NoNumber::Other => words.to_owned(),
        NoNumber::TwoWays(two) => format!("{two}, whichever is meant"),
    }
}

/// Cuts "12.5 h" into "12.5" and "h".
pub(super) fn split_unit(text: &str) -> (&str, &str) {
    let is_number = |it: char| {
        it.is_ascii_digit()
            || matches!(it, '.' | ',' | ':' | '/' | '\'' | '-')
            || it.is_whitespace()
    };
    let end = text.find(|it| !is_number(it)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    (number.trim(), unit.trim())
}

/// The number, zero or more; signs and exponents are refused.
fn number_of(text: &str, ways: Ways, doubtful: Doubtful) -> Result<f64, NoNumber> {
    let text = text.trim();
    if is_plain(text) && !ways.comma_decimal {
        let number = text.parse().ok().filter(|number: &f64| number.is_finite());
        return number.ok_or(NoNumber::Other);
    }
    let decimal = decimal_mark(text, ways, doubtful)?;
    let (whole, fraction) = match decimal.and_then(|mark| text.rsplit_once(mark)) {
        Some((whole, fraction)) => (whole, fraction),
        None => (text, ""),
    };
    let digits = without_grouping(whole).ok_or(NoNumber::Other)?;
    let sound = fraction.chars().all(|it| it.is_ascii_digit())
        && !(digits.is_empty() && fraction.is_empty());
    sound
        .then(|| format!("{digits}.{fraction}0").parse::<f64>().ok())
        .flatten()
        .filter(|number| number.is_finite())
        .ok_or(NoNumber::Other)
}

/// Digits with at most one point among them, as nearly every number of a log is written.
fn is_plain(text: &str) -> bool {
    let points = text.bytes().filter(|byte| *byte == b'.').count();
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    digits > 0 && points <= 1 && digits + points == text.len()
}

/// Which mark parts the whole from the fraction, if any does.
fn decimal_mark(text: &str, ways: Ways, doubtful: Doubtful) -> Result<Option<char>, NoNumber> {
    let Some(last) = text.chars().rev().find(|it| ".,".contains(*it)) else {
        return Ok(None);
    };
    let count = text.matches(last).count();
    let other = if last == '.' { ',' } else { '.' };
    if count > 1 {
        return Ok(None);
    }
    let own_mark = if ways.comma_decimal { ',' } else { '.' };
    if text.contains(other) || last == own_mark || !could_be_thousands(text, last) {
        return Ok(Some(last));
    }
    match doubtful {
        Doubtful::Thousands => Ok(None),
        Doubtful::Refused => Err(NoNumber::TwoWays(both_ways(text, last, own_mark))),
    }
}

fn could_be_thousands(text: &str, mark: char) -> bool {
    text.split_once(mark).is_some_and(|(whole, rest)| {
        (1..=3).contains(&whole.len()) && !whole.starts_with('0') && rest.len() == 3
    })
}

fn both_ways(text: &str, mark: char, own_mark: char) -> String {
    let thousands = text.replace(mark, "");
    let decimal = text.replace(mark, &own_mark.to_string());
    format!("{thousands} or {decimal}")
}

/// Takes out marks between groups of three digits; `None` where the groups are not of three.
fn without_grouping(whole: &str) -> Option<String> {
    let is_mark = |it: char| matches!(it, '.' | ',' | '\'' | ' ' | '\u{a0}' | '\u{202f}');
    let groups: Vec<&str> = whole.split(is_mark).collect();
    let all_digits = groups
        .iter()
        .all(|group| group.chars().all(|it| it.is_ascii_digit()));
    let (first, rest) = groups.split_first()?;
    let in_threes = rest.iter().all(|group| group.len() == 3)
        && (rest.is_empty() || (1..=3).contains(&first.len()));
    (all_digits && in_threes).then(|| groups.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    const POINT: Ways = Ways {
        units: crate::quantities::Units::Us,
        dates: None,
        comma_decimal: false,
    };
    const COMMA: Ways = Ways {
        comma_decimal: true,
        ..POINT
    };

    #[test]
    fn hours_are_read_as_people_write_them() {
        let cases = [
            ("12.5", 12.5),
            ("12,5", 12.5),
            ("12.5 h", 12.5),
            ("12:30", 12.5),
            ("12.5hrs.", 12.5),
            ("90 min", 1.5),
            ("1,234.5", 1234.5),
            ("1 234,5", 1234.5),
            ("1,234,567.5", f64::NAN),
            (".5", 0.5),
            ("3.", 3.0),
            ("1.234", 1.234),
            ("0", 0.0),
        ];
        for (text, expected) in cases {
            let found = hours(text, POINT).map_or(f64::NAN, MeterHours::get);
            assert!(
                (found - expected).abs() < 1e-12 || expected.is_nan() && found.is_nan(),
                "{text}"
            );
        }
        assert_eq!(hours("1,234", COMMA).map(MeterHours::get), Ok(1.234));
    }

    #[test]
    fn what_is_no_hours_is_refused() {
        for text in [
            "-2", "+2", "2e3", "x", "", "1.2.3", "12:75", "1;2", "3 days", "99999999", "NaN", "inf",
        ] {
            assert!(hours(text, POINT).is_err(), "{text}");
        }
        assert_eq!(
            hours("1,234", POINT),
            Err("1234 or 1.234, whichever is meant".into())
        );
    }

    #[test]
    fn money_may_carry_its_sign_and_its_thousands() {
        for (text, expected) in [
            ("$1,200.50", 1200.5),
            ("1.200,50 €", 1200.5),
            ("£45", 45.0),
            ("1,200", 1200.0),
            ("USD 45", 45.0),
            ("45", 45.0),
        ] {
            assert_eq!(money(text, POINT), Ok(expected), "{text}");
        }
        assert_eq!(money("1.200", COMMA), Ok(1200.0));
        assert!(money("-5", POINT).is_err());
        assert!(money("$-5", POINT).is_err());
    }
}
