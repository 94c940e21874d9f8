//! Numbers as text that reads back to the very same number.

use crate::quantities::{QuantityError, Torque, Units, Width};

/// Digits after the point that are tried in the shop's own unit before the number is written whole
/// in the unit it is kept in.
const MOST_DIGITS: usize = 6;

/// "0.97 in" or "24.6 mm".
pub(super) fn width(width: Width, units: Units) -> String {
    let inches = (units == Units::Us)
        .then(|| shortest(width.inches(), width, Width::from_inches))
        .flatten();
    match inches {
        Some(number) => format!("{number} in"),
        None => format!("{} mm", width.millimetres()),
    }
}

/// "50 lb-ft" or "68 N m".
pub(super) fn torque(torque: Torque, units: Units) -> String {
    let pound_feet = (units == Units::Us)
        .then(|| shortest(torque.pound_feet(), torque, Torque::from_pound_feet))
        .flatten();
    match pound_feet {
        Some(number) => format!("{number} lb-ft"),
        None => format!("{} N m", torque.get()),
    }
}

/// The shortest decimal that becomes exactly `wanted` again; `None` where rounding in the change of
/// units leaves none.
fn shortest<T: PartialEq>(
    number: f64,
    wanted: T,
    back: impl Fn(f64) -> Result<T, QuantityError>,
) -> Option<String> {
    (0..=MOST_DIGITS)
        .map(|digits| format!("{number:.digits$}"))
        .find(|text| {
            let parsed = text.parse().ok().and_then(|number| back(number).ok());
            parsed.as_ref() == Some(&wanted)
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_written_in_the_units_of_the_shop() -> Result<(), QuantityError> {
        assert_eq!(width(Width::from_inches(0.97)?, Units::Us), "0.97 in");
        assert_eq!(
            width(Width::from_inches(0.97)?, Units::Metric),
            "24.637999999999998 mm"
        );
        assert_eq!(
            width(Width::from_millimetres(24.6)?, Units::Metric),
            "24.6 mm"
        );
        assert_eq!(width(Width::from_millimetres(24.6)?, Units::Us), "24.6 mm");
        assert_eq!(
            torque(Torque::from_pound_feet(50.0)?, Units::Us),
            "50 lb-ft"
        );
        Ok(())
    }
}
