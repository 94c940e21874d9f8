//! Rounding and units, in one place.

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
