//! Rounding and units, in one place.

use crate::quantities::{
    Estimate, MeterHours, Money, Probability, Torque, Units, WearFraction, Width,
};

/// `value` to four significant digits, without an exponent where it can be read without one.
pub fn four_digits(value: f64) -> String {
    significant(value, 4)
}

/// `value` to so many significant digits.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        // Adding zero turns minus nothing into nothing.
        return (value + 0.0).to_string();
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
    let rounded = (share * 1e6).round() / 1e4 + 0.0;
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
    let plain = |amount: Money| plain_whole(amount, currency);
    format!("{} to {}", plain(estimate.lower), plain(estimate.upper))
}

/// Money without cents, nought as a figure.
fn plain_whole(amount: Money, currency: &str) -> String {
    match whole_money(amount, currency).as_str() {
        "nothing" => format!("{}0", prefix(currency)),
        words => words.to_string(),
    }
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

/// The first letter large, as a sentence begins.
pub fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A wear fraction in whole per cent.
pub fn whole_share(fraction: WearFraction) -> String {
    format!("{:.0} %", 100.0 * fraction.get())
}

/// A chance in whole per cent; less than one half of one per cent says so. What no draw shows is no more than that
/// either: some hundreds of draws cannot say never.
pub fn whole_percent(chance: Probability) -> String {
    let whole = (100.0 * chance.get()).round();
    if whole < 1.0 {
        "under 1 %".to_string()
    } else if whole > 99.0 {
        "over 99 %".to_string()
    } else {
        format!("{whole:.0} %")
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

/// How much more something costs than the cheapest: "EUR 36 more (EUR 30 to EUR 41)"; "less" where it saves.
pub fn money_more(estimate: &Estimate<Money>, currency: &str) -> String {
    let Estimate {
        point,
        lower,
        upper,
        ..
    } = *estimate;
    let (word, sign) = match point.get() < 0.0 {
        true => ("less", -1.0),
        false => ("more", 1.0),
    };
    let shown = |amount: Money| {
        let amount = Money::new(sign * amount.get()).unwrap_or(amount);
        plain_whole(amount, currency)
    };
    let (low, high) = if sign < 0.0 {
        (upper, lower)
    } else {
        (lower, upper)
    };
    format!(
        "{} {word} ({} to {})",
        shown(point),
        shown(low),
        shown(high)
    )
}

/// A width: hundredths of a millimetre below one, tenths above; thousandths of an inch.
pub fn width(width: Width, units: Units) -> String {
    width_to(width, units, 0)
}

/// The same to so many decimals more.
fn width_to(width: Width, units: Units, more: usize) -> String {
    let (number, decimals, unit) = match units {
        Units::Us => (width.inches(), 3, "in"),
        Units::Metric if width.millimetres() < 0.995 => (width.millimetres(), 2, "mm"),
        Units::Metric => (width.millimetres(), 1, "mm"),
    };
    format!("{number:.0$} {unit}", decimals + more)
}

/// Most decimals shown beyond the usual ones, where two widths have to be told apart.
const MORE_DECIMALS: usize = 6;

/// Two widths that are compared: to as many decimals as tell them apart.
pub fn widths_apart(one: Width, other: Width, units: Units) -> (String, String) {
    let both = |more| (width_to(one, units, more), width_to(other, units, more));
    let mut told = (0..=MORE_DECIMALS).map(both);
    let apart = told.find(|(one, other)| one != other);
    apart.unwrap_or_else(|| both(0))
}

/// The steel between the width now and the discard width: "6.1 mm above", "0.10 mm below"; to as many decimals
/// as keep it from being nothing.
pub fn steel_beyond(now: Width, discard: Width, units: Units) -> String {
    let (steel, word) = match now < discard {
        true => (discard.saturating_sub(now), "below"),
        false => (now.saturating_sub(discard), "above"),
    };
    format!("{} {word}", widths_apart(steel, Width::ZERO, units).0)
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

    #[test]
    fn nothing_has_no_sign() {
        let chance = |value| Probability::new(value).unwrap();
        assert_eq!(whole_percent(chance(-0.0)), "under 1 %");
        assert_eq!(whole_percent(chance(0.0)), "under 1 %");
        // One draw of two hundred: a format would round half to the even nought.
        assert_eq!(whole_percent(chance(0.005)), "1 %");
        assert_eq!(whole_percent(chance(1.0)), "over 99 %");
        assert_eq!(per_cent(-0.0), "0 %");
        assert_eq!(four_digits(-0.0), "0");
        // The sum of no parts is minus nothing.
        let none: f64 = std::iter::empty::<f64>().sum();
        assert!(none.is_sign_negative());
        assert!(chance(none).get().is_sign_positive());
        assert!(Money::new(none).unwrap().get().is_sign_positive());
        assert!(MeterHours::new(none).unwrap().get().is_sign_positive());
    }

    #[test]
    fn widths_that_differ_are_shown_apart() {
        let inches = |inches| Width::from_inches(inches).unwrap();
        let (now, discard) = widths_apart(inches(3.4997), inches(3.5), Units::Us);
        assert_eq!((now.as_str(), discard.as_str()), ("3.4997 in", "3.5000 in"));
        let (now, discard) = widths_apart(inches(3.45), inches(3.5), Units::Us);
        assert_eq!((now.as_str(), discard.as_str()), ("3.450 in", "3.500 in"));
        let millimetres = |value| Width::new(value).unwrap();
        let beyond = |now| steel_beyond(millimetres(now), millimetres(102.0), Units::Metric);
        assert_eq!(beyond(108.1), "6.1 mm above");
        assert_eq!(beyond(101.9), "0.10 mm below");
        assert_eq!(beyond(101.999), "0.001 mm below");
        assert_eq!(beyond(102.0), "0.00 mm above");
    }

    #[test]
    fn what_costs_more_or_less_says_which() {
        let money = |value| Money::new(value).unwrap();
        let estimate = |point, lower, upper| Estimate {
            point: money(point),
            lower: money(lower),
            upper: money(upper),
            level: crate::quantities::Level::NINETY,
        };
        let dearer = estimate(36.0, 30.0, 41.0);
        assert_eq!(money_more(&dearer, "EUR"), "EUR 36 more (EUR 30 to EUR 41)");
        let cheaper = estimate(-36.0, -50.0, 20.0);
        assert_eq!(
            money_more(&cheaper, "EUR"),
            "EUR 36 less (-EUR 20 to EUR 50)"
        );
        // What is known to tens of euros is not told in cents.
        let about_even = estimate(-1.18, -20.2, 17.2);
        assert_eq!(
            money_more(&about_even, "EUR"),
            "EUR 1 less (-EUR 17 to EUR 20)"
        );
    }
}
