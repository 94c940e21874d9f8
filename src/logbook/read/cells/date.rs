//! Dates as people write them.

use super::Parsed;
use crate::logbook::DateOrder;
use jiff::civil::Date;

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// Years that a log can be about; anything else is a slip.
const YEARS: std::ops::RangeInclusive<i16> = 1970..=2199;

/// 2026-03-05, 5 Mar 2026, Mar 5 2026 whatever the order; 5/3/2026, 3/5/26, 5.3.2026 in the order
/// that shop.csv declares, or where only one reading is a day of the calendar.
pub(in crate::logbook::read) fn date(text: &str, order: Option<DateOrder>) -> Parsed<Date> {
    if let Some([year, month, day]) = as_keenspan_writes_it(text) {
        return calendar(year, month, day).ok_or_else(|| no_such_day("2026-03-05"));
    }
    let text = text.to_lowercase();
    match parts(&text).as_slice() {
        [year, month, day] if year.len() == 4 && is_number(year) => {
            calendar(year, month, day).ok_or_else(|| no_such_day("2026-03-05"))
        }
        [first, second, year] if is_number(first) && is_number(second) => {
            by_order(first, second, year, order)
        }
        [day, month, year] if is_number(day) => {
            calendar(year, month, day).ok_or_else(|| no_such_day("5 Mar 2026"))
        }
        [month, day, year] => calendar(year, month, day).ok_or_else(|| no_such_day("5 Mar 2026")),
        _ => Err("a date, such as 2026-03-05".into()),
    }
}

fn no_such_day(example: &str) -> String {
    format!("a day of the calendar, such as {example}")
}

/// Year, month and day of a date in the form of 2026-03-05, in which nearly every log has them: it need
/// not be taken apart with care.
fn as_keenspan_writes_it(text: &str) -> Option<[&str; 3]> {
    let fits = |(at, byte): (usize, u8)| match at {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    };
    let all_fit = text.len() == 10 && text.bytes().enumerate().all(fits);
    all_fit.then_some([text.get(..4)?, text.get(5..7)?, text.get(8..)?])
}

/// The numbers and words of a date in small letters; a time of day, the name of the weekday and the "th" of "5th" say
/// nothing about the day.
fn parts(text: &str) -> Vec<&str> {
    let day = match text.split_once(['t', ' ']) {
        Some((day, time))
            if time.contains(':') && day.starts_with(|it: char| it.is_ascii_digit()) =>
        {
            day
        }
        _ => text,
    };
    day.split(|it: char| !it.is_alphanumeric())
        .filter(|part| !part.is_empty() && !is_weekday(part))
        .map(without_ordinal)
        .collect()
}

fn is_weekday(part: &str) -> bool {
    const WEEKDAYS: [&str; 7] = [
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
    ];
    part.len() >= 3 && WEEKDAYS.iter().any(|weekday| weekday.starts_with(part))
}

fn without_ordinal(part: &str) -> &str {
    ["st", "nd", "rd", "th"]
        .iter()
        .filter_map(|ending| part.strip_suffix(ending))
        .find(|number| is_number(number))
        .unwrap_or(part)
}

fn is_number(part: &str) -> bool {
    !part.is_empty() && part.chars().all(|it| it.is_ascii_digit())
}

/// Both ways round where the order allows; a date that only the other order makes sense of is
/// refused with that said.
fn by_order(first: &str, second: &str, year: &str, order: Option<DateOrder>) -> Parsed<Date> {
    let day_first = calendar(year, second, first);
    let month_first = calendar(year, first, second);
    match order {
        Some(DateOrder::DayFirst) => day_first.ok_or_else(|| other_way("day", month_first)),
        Some(DateOrder::MonthFirst) => month_first.ok_or_else(|| other_way("month", day_first)),
        Some(DateOrder::YearFirst) | None => either(day_first, month_first),
    }
}

fn other_way(first: &str, other: Option<Date>) -> String {
    match other {
        Some(meant) => format!(
            "the {first} first, as shop.csv says dates are written, or the year first, such as {meant}"
        ),
        None => {
            format!("a day of the calendar, {first} first as shop.csv says, or such as 2026-03-05")
        }
    }
}

fn either(day_first: Option<Date>, month_first: Option<Date>) -> Parsed<Date> {
    match (day_first, month_first) {
        (Some(one), Some(other)) if one != other => Err(format!(
            "{one} or {other}, whichever is meant, or say in shop.csv whether dates are day first or \
             month first"
        )),
        (Some(date), _) | (None, Some(date)) => Ok(date),
        (None, None) => Err(no_such_day("2026-03-05")),
    }
}

/// Two digits are a year of this century: the hour meters of this log are.
fn calendar(year: &str, month: &str, day: &str) -> Option<Date> {
    let year: i16 = match year.len() {
        2 => year.parse::<i16>().ok()? + 2000,
        4 => year.parse().ok()?,
        _ => return None,
    };
    if !YEARS.contains(&year) {
        return None;
    }
    Date::new(year, month_number(month)?, day.parse().ok()?).ok()
}

fn month_number(month: &str) -> Option<i8> {
    if is_number(month) {
        return month.parse().ok();
    }
    let short_enough = month.len() >= 3;
    let at = MONTHS
        .iter()
        .position(|name| short_enough && (name.starts_with(month) || month == "sept"))?;
    let at = if month == "sept" { 8 } else { at };
    i8::try_from(at + 1).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, order: Option<DateOrder>) -> Option<String> {
        date(text, order).ok().map(|date| date.to_string())
    }

    #[test]
    fn dates_are_read_as_people_write_them() {
        let day = Some(DateOrder::DayFirst);
        let month = Some(DateOrder::MonthFirst);
        let fifth_of_march = Some("2026-03-05".to_owned());
        for (text, order) in [
            ("2026-03-05", None),
            ("2026-03-05", day),
            ("2026/3/5", None),
            ("2026-03-05 00:00:00", None),
            ("2026-03-05T07:30", day),
            ("5/3/2026", day),
            ("3/5/26", month),
            ("5.3.2026", day),
            ("05-03-26", day),
            ("5 Mar 2026", None),
            ("Mar 5 2026", day),
            ("March 5th, 2026", month),
            ("Thu 5 march 26", None),
        ] {
            assert_eq!(read(text, order), fifth_of_march, "{text}");
        }
        assert_eq!(read("25/3/2026", None), Some("2026-03-25".into()));
        assert_eq!(read("9 Sept 2026", None), Some("2026-09-09".into()));
    }

    #[test]
    fn a_date_that_cannot_be_says_why() {
        let other = date("3/25/2026", Some(DateOrder::DayFirst));
        assert!(
            other
                .is_err_and(|wanted| wanted.contains("day first") && wanted.contains("2026-03-25"))
        );
        assert!(date("5/3/2026", None).is_err_and(|wanted| wanted.contains("whichever is meant")));
        for text in [
            "2026-02-30",
            "2026-13-05",
            "0026-03-05",
            "30/2/2026",
            "",
            "yesterday",
            "5/3",
            "1/1/1",
            "5 Foo 2026",
            "5/3/0026",
            "99999999999/1/1",
        ] {
            assert!(date(text, Some(DateOrder::DayFirst)).is_err(), "{text}");
        }
    }
}
