//! How many hours a machine works in a year.

use super::hours;
use crate::logbook::Run;
use crate::quantities::MeterHours;

/// A log must span this many days before its pace says anything of a year. Basis: judged; half a year
/// holds a busy and a quiet season.
const ENOUGH_DAYS: f64 = 180.0;
/// Days in a year.
const YEAR: f64 = 365.25;

/// Meter hours in a year at the pace of `runs`, all of one machine, that stand for `total` hours; `None`
/// where they span less than half a year.
pub(super) fn hours_per_year<'r>(
    runs: impl Iterator<Item = &'r Run>,
    total: MeterHours,
) -> Option<MeterHours> {
    let dates = runs.map(|run| run.date);
    let (first, last) = dates.fold(None, |span, date| {
        let (first, last) = span.unwrap_or((date, date));
        Some((first.min(date), last.max(date)))
    })?;
    let days = f64::from((last - first).get_days()) + 1.0;
    (days >= ENOUGH_DAYS).then(|| hours(total.get() * YEAR / days))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::MeterSpan;
    use jiff::civil::date;

    fn run_on(month: i8) -> Run {
        let span = MeterSpan::Hours(hours(5.0));
        Run::on(date(2025, month, 1), "Otter", span)
    }

    #[test]
    fn a_year_is_reckoned_from_half_a_year_or_more() {
        // 1 January to 1 December is 335 days, both counted.
        let year = hours_per_year([run_on(12), run_on(1)].iter(), hours(100.0));
        assert!((year.map_or(0.0, MeterHours::get) - 100.0 * 365.25 / 335.0).abs() < 1e-9);
        assert_eq!(
            hours_per_year([run_on(1), run_on(3)].iter(), hours(100.0)),
            None
        );
        assert_eq!(hours_per_year([].iter(), hours(100.0)), None);
    }
}
