//! Rounding and units, in one place.

use crate::quantities::{Estimate, MeterHours, Money, Probability, Torque, Units, Width};

/// `value` to four significant digits, without an exponent where it can be read without one.
pub fn four_digits(value: f64) -> String {
    significant(value, 4)
}

/// `value` to so many significant digits.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.to_string();
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-5..=7).contains(&magnitude) {
        return format!("{value:.*e}", (digits - 1) as usize);
    }
    let decimals = (digits - 1 - magnitude).max(0) as usize;
    format!("{value:.decimals$}")
}

/// A level in words: `95 %`, `99.9 %`.
pub fn per_cent(share: f64) -> String {
    let rounded = (share * 1e6).round() / 1e4;
    format!("{rounded} %")
}

/// Meter hours: whole from ten up, one decimal below.
pub fn hours(hours: MeterHours) -> String {
    let value = hours.get();
    if value < 9.95 {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    }
}

/// A reading of the hour meter, as the meter shows it: in tenths, or in whole hours.
pub fn reading(at: MeterHours, tenths: bool) -> String {
    if tenths {
        format!("{:.1}", at.get())
    } else {
        format!("{:.0}", at.get())
    }
}

/// The bounds of an estimate of hours: "31 and 86".
pub fn hours_between(estimate: &Estimate<MeterHours>) -> String {
    format!("{} and {}", hours(estimate.lower), hours(estimate.upper))
}

/// An estimate of hours with its bounds: "49 (31 to 86)".
pub fn hours_with_range(estimate: &Estimate<MeterHours>) -> String {
    format!(
        "{} ({} to {})",
        hours(estimate.point),
        hours(estimate.lower),
        hours(estimate.upper)
    )
}

/// Money: whole from twenty up, tenths from two up, hundredths below; never false cents.
pub fn money(amount: Money, currency: &str) -> String {
    let value = amount.get();
    let decimals = match value.abs() {
        large if large >= 19.5 => 0,
        middling if middling >= 1.95 => 1,
        _ => 2,
    };
    let rounded = format!("{:.decimals$}", value.abs());
    let sign = if value < 0.0 && rounded.contains(|digit: char| ('1'..='9').contains(&digit)) {
        "-"
    } else {
        ""
    };
    format!("{sign}{}{rounded}", prefix(currency))
}

/// The bounds of an estimate of money.
pub fn money_range(estimate: &Estimate<Money>, currency: &str) -> String {
    format!(
        "{} to {}",
        money(estimate.lower, currency),
        money(estimate.upper, currency)
    )
}

/// Money without cents, for sums over many hours.
pub fn whole_money(amount: Money, currency: &str) -> String {
    let rounded = Money::new(amount.get().round()).unwrap_or(amount);
    if rounded.get() == 0.0 {
        return "nothing".to_string();
    }
    let sign = if rounded.get() < 0.0 { "-" } else { "" };
    format!("{sign}{}{:.0}", prefix(currency), rounded.get().abs())
}

/// The bounds of an estimate of money, without cents.
pub fn whole_money_range(estimate: &Estimate<Money>, currency: &str) -> String {
    let plain = |amount: Money| match whole_money(amount, currency).as_str() {
        "nothing" => format!("{}0", prefix(currency)),
        words => words.to_string(),
    };
    format!("{} to {}", plain(estimate.lower), plain(estimate.upper))
}

/// An estimate of money as plain numbers without cents, where a heading names the currency:
/// "840 (790 to 910)".
pub fn plain_money_with_range(estimate: &Estimate<Money>) -> String {
    // Adding zero turns minus nothing into nothing.
    let plain = |amount: Money| format!("{:.0}", amount.get().round() + 0.0);
    format!(
        "{} ({} to {})",
        plain(estimate.point),
        plain(estimate.lower),
        plain(estimate.upper)
    )
}

/// So many of something on the mean: whole from ten up, tenths below.
pub fn count_with_range(estimate: &Estimate<f64>) -> String {
    let count = |count: f64| {
        if count < 9.95 {
            format!("{count:.1}")
        } else {
            format!("{count:.0}")
        }
    };
    format!(
        "{} ({} to {})",
        count(estimate.point),
        count(estimate.lower),
        count(estimate.upper)
    )
}

/// The currency as it stands before an amount: a sign touches it, letters do not.
fn prefix(currency: &str) -> String {
    let letters = currency.chars().any(char::is_alphabetic);
    if letters {
        format!("{currency} ")
    } else {
        currency.to_string()
    }
}

/// A chance in whole per cent; less than one half of one per cent says so.
pub fn whole_percent(chance: Probability) -> String {
    // Adding zero turns minus nothing, a sum without a part, into nothing.
    let value = 100.0 * chance.get() + 0.0;
    if value > 0.0 && value < 0.5 {
        "under 1 %".to_string()
    } else if value >= 99.5 {
        "over 99 %".to_string()
    } else {
        format!("{value:.0} %")
    }
}

/// The bounds of an estimate of a chance.
pub fn percent_range(estimate: &Estimate<Probability>) -> String {
    format!(
        "{} to {}",
        whole_percent(estimate.lower),
        whole_percent(estimate.upper)
    )
}

/// A width: hundredths of a millimetre below one, tenths above; thousandths of an inch.
pub fn width(width: Width, units: Units) -> String {
    match units {
        Units::Us => format!("{:.3} in", width.inches()),
        Units::Metric if width.millimetres() < 0.995 => format!("{:.2} mm", width.millimetres()),
        Units::Metric => format!("{:.1} mm", width.millimetres()),
    }
}

/// A torque in whole newton metres or pound-feet.
pub fn torque(torque: Torque, units: Units) -> String {
    match units {
        Units::Us => format!("{:.0} lb ft", torque.pound_feet()),
        Units::Metric => format!("{:.0} N m", torque.get()),
    }
}

/// The sentence about rows that could not be read, by file; none where every row could.
pub fn rows_set_aside(files: &[(String, usize)]) -> Option<String> {
    if files.is_empty() {
        return None;
    }
    let files: Vec<String> = files
        .iter()
        .map(|(file, rows)| format!("{file} {rows}"))
        .collect();
    Some(format!(
        "Rows that could not be read and do not count: {}. keenspan verify shows them.",
        files.join(", ")
    ))
}

/// A label in a column of its own, and a sentence broken into lines beside it.
pub fn wrapped(label: &str, sentence: &str, width: usize) -> String {
    let indent = if matches!(label, "-" | "!") { 4 } else { 16 };
    broken(format!("  {label:<0$}", indent - 2), sentence, width)
}

/// A sentence broken into lines, each set in by two.
pub fn set_in(sentence: &str, width: usize) -> String {
    broken("  ".to_string(), sentence, width)
}

/// `start` and then `sentence`, its further lines set in as far as `start` is long.
fn broken(start: String, sentence: &str, width: usize) -> String {
    let indent = start.chars().count();
    let mut text = start;
    let mut used = indent;
    for word in sentence.split(' ') {
        if used > indent && used + 1 + word.chars().count() > width {
            text.push_str(&format!("\n{}", " ".repeat(indent)));
            used = indent;
        }
        if used > indent {
            text.push(' ');
            used += 1;
        }
        text.push_str(word);
        used += word.chars().count();
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_kept_and_no_more() {
        assert_eq!(four_digits(606.527_558), "606.5");
        assert_eq!(four_digits(-0.542_787), "-0.5428");
        assert_eq!(four_digits(71_690.4), "71690");
        assert_eq!(four_digits(1.5e9), "1.500e9");
        assert_eq!(per_cent(0.95), "95 %");
        assert_eq!(per_cent(0.999), "99.9 %");
    }
}
