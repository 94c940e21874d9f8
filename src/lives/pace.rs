//! How many hours a machine works in a year.

use super::hours;
use crate::logbook::{Logbook, MeterSpan, Run};
use crate::quantities::MeterHours;
use jiff::civil::Date;
use std::collections::BTreeMap;

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

/// Meter hours that a load takes: by this machine's runs that count loads, else by all the crew's; `None`
/// where none does.
pub fn hours_per_load(log: &Logbook, machine: &str) -> Option<MeterHours> {
    let of = |runs: Vec<&Run>| {
        let counted = runs
            .iter()
            .filter_map(|run| Some((length(run), run.loads?)));
        let counted = counted.filter(|(hours, loads)| *hours > 0.0 && *loads > 0.0);
        let (time, loads) = counted.fold((0.0, 0.0), |sum, run| (sum.0 + run.0, sum.1 + run.1));
        (loads > 0.0).then(|| hours(time / loads))
    };
    let own = log.runs.iter().filter(|run| run.machine == machine);
    of(own.collect()).or_else(|| of(log.runs.iter().collect()))
}

/// Meter hours of a day on which the machine worked, by its runs; `None` without any.
pub fn hours_per_day(log: &Logbook, machine: &str) -> Option<MeterHours> {
    let own = log.runs.iter().filter(|run| run.machine == machine);
    let days: BTreeMap<Date, f64> = own.fold(BTreeMap::new(), |mut days, run| {
        *days.entry(run.date).or_default() += length(run);
        days
    });
    let worked: Vec<f64> = days.into_values().filter(|hours| *hours > 0.0).collect();
    let total: f64 = worked.iter().sum();
    (!worked.is_empty()).then(|| hours(total / worked.len() as f64))
}

fn length(run: &Run) -> f64 {
    match run.span {
        MeterSpan::Readings { start, end } => end.get() - start.get(),
        MeterSpan::Hours(hours) => hours.get(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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

    #[test]
    fn loads_and_days_take_the_hours_that_the_runs_tell() {
        let with_loads = |loads, month| Run {
            loads,
            ..run_on(month)
        };
        let log = Logbook {
            runs: vec![
                with_loads(Some(2.0), 1),
                with_loads(None, 1),
                with_loads(Some(3.0), 2),
            ],
            ..Logbook::default()
        };
        // 10 hours for 5 loads; 10 hours on one day and 5 on another.
        assert_eq!(hours_per_load(&log, "Otter"), Some(hours(2.0)));
        assert_eq!(
            hours_per_load(&log, "another of the crew's"),
            Some(hours(2.0))
        );
        assert_eq!(hours_per_day(&log, "Otter"), Some(hours(7.5)));
        assert_eq!(hours_per_day(&log, "another"), None);
        assert_eq!(hours_per_load(&Logbook::default(), "Otter"), None);
    }
}
