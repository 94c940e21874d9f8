//! Widths and torques with their units.

use super::number::split_unit;
use super::{Parsed, Ways, plain};
use crate::quantities::{Torque, Units, Width};

/// The unit that somebody wrote behind a width.
#[derive(Debug, Clone, Copy, PartialEq)]
enum LengthUnit {
    Inch,
    /// A thousandth of an inch.
    Thou,
    Millimetre,
    Centimetre,
}

/// No chipper knife is wider, millimetres: whoever writes so meant another unit. Basis: from memory.
const WIDEST: f64 = 300.0;

/// A width or depth: "0.970 in", `15/16"`, "30 thou", "24.6 mm"; a bare number is in the shop's units.
pub(in crate::logbook::read) fn width(text: &str, ways: Ways) -> Parsed<Width> {
    let wanted = match ways.units {
        Units::Us => "a width, zero or more, such as 0.970 in or 15/16\"",
        Units::Metric => "a width, zero or more, such as 24.6 mm",
    };
    let width = read_width(text, ways, wanted)?.ok_or_else(|| wanted.to_owned())?;
    if width.millimetres() > WIDEST {
        return Err(format!(
            "a width of at most {WIDEST:.0} mm (11.8 in), with its unit where that is another than the log's, such as 108 mm or 4.25 in"
        ));
    }
    Ok(width)
}

fn read_width(text: &str, ways: Ways, wanted: &str) -> Parsed<Option<Width>> {
    let text = text.replace("''", "\"");
    let (number, unit) = split_unit(&text);
    let Some(unit) = length_unit(unit, ways.units) else {
        return Ok(None);
    };
    let value = match fraction(number) {
        Some(value) if unit == LengthUnit::Inch => value,
        Some(_) => return Ok(None),
        None => plain(number, ways, wanted)?,
    };
    let width = match unit {
        LengthUnit::Inch => Width::from_inches(value),
        LengthUnit::Thou => Width::from_inches(value / 1000.0),
        LengthUnit::Millimetre => Width::from_millimetres(value),
        LengthUnit::Centimetre => Width::from_millimetres(value * 10.0),
    };
    Ok(width.ok())
}

fn length_unit(unit: &str, bare: Units) -> Option<LengthUnit> {
    match unit.to_lowercase().trim_end_matches('.') {
        "" if bare == Units::Us => Some(LengthUnit::Inch),
        "" | "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => {
            Some(LengthUnit::Millimetre)
        }
        "\"" | "”" | "″" | "in" | "inch" | "inches" => Some(LengthUnit::Inch),
        "thou" | "mil" | "mils" => Some(LengthUnit::Thou),
        "cm" => Some(LengthUnit::Centimetre),
        _ => None,
    }
}

/// "15/16", "1 1/4" or "1-1/4".
fn fraction(text: &str) -> Option<f64> {
    let (front, below) = text.split_once('/')?;
    let (whole, above) = match front.trim().rsplit_once([' ', '-']) {
        Some((whole, above)) => (whole.trim().parse::<u32>().ok()?, above),
        None => (0, front),
    };
    let above: u32 = above.trim().parse().ok()?;
    let below: u32 = below.trim().parse().ok().filter(|below| *below > 0)?;
    Some(f64::from(whole) + f64::from(above) / f64::from(below))
}

/// A torque: "50 lb-ft", "68 N m"; a bare number is in the shop's units.
pub(in crate::logbook::read) fn torque(text: &str, ways: Ways) -> Parsed<Torque> {
    const WANTED: &str = "a torque, zero or more, such as 50 lb-ft or 68 N m";
    let (number, unit) = split_unit(text);
    let letters: String = unit
        .to_lowercase()
        .chars()
        .filter(|it| it.is_alphabetic())
        .collect();
    let value = plain(number, ways, WANTED)?;
    let torque = match (letters.as_str(), ways.units) {
        ("", Units::Us) => Torque::from_pound_feet(value),
        ("" | "nm" | "newtonmetres" | "newtonmeters", _) => Torque::new(value),
        (
            "lbft" | "lbsft" | "ftlb" | "ftlbs" | "lbfft" | "ftlbf" | "footpounds" | "poundfeet",
            _,
        ) => Torque::from_pound_feet(value),
        _ => return Err(WANTED.into()),
    };
    torque.map_err(|_| WANTED.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    const US: Ways = Ways {
        units: Units::Us,
        dates: None,
        comma_decimal: false,
    };
    const METRIC: Ways = Ways {
        units: Units::Metric,
        ..US
    };

    #[test]
    fn widths_are_read_with_their_units() {
        let millimetres = |text: &str, ways| width(text, ways).map(Width::millimetres);
        for (text, inches) in [
            ("0.970 in", 0.97),
            ("15/16\"", 0.9375),
            ("1 1/4 in", 1.25),
            ("1-1/4''", 1.25),
            ("30 thou", 0.03),
            (".97", 0.97),
        ] {
            let found = millimetres(text, US).unwrap_or(f64::NAN);
            assert!((found - inches * 25.4).abs() < 1e-12, "{text}: {found}");
        }
        assert_eq!(millimetres("24.6 mm", US), Ok(24.6));
        assert_eq!(millimetres("24,6", METRIC), Ok(24.6));
        for text in [
            "15/0\"",
            "15/16 mm",
            "wide",
            "-1 mm",
            "3 furlongs",
            "/",
            "1/2/3",
        ] {
            assert!(width(text, US).is_err(), "{text}");
        }
        // Millimetres written into a log that is in inches.
        assert!(width("108", US).is_err_and(|wanted| wanted.contains("108 mm")));
        for text in ["301", "12 in"] {
            assert!(width(text, METRIC).is_err(), "{text}");
        }
    }

    #[test]
    fn torques_are_read_with_their_units() {
        // 1 lbf ft = 1.3558179483 N m.
        for text in ["50 lb-ft", "50 ft-lb", "50 ft lbs", "50 lbf.ft", "50"] {
            let found = torque(text, US).map_or(f64::NAN, Torque::get);
            assert!((found - 67.790_897_4).abs() < 1e-6, "{text}: {found}");
        }
        for text in ["50 N m", "50Nm", "50 N·m", "50"] {
            assert_eq!(torque(text, METRIC).map(Torque::get), Ok(50.0), "{text}");
        }
        assert!(torque("tight", US).is_err());
    }
}
