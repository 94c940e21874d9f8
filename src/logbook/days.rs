//! Days that cannot be: after today, or with more hours than a day has.

use super::{Line, LogFile, Logbook, MeterSpan, Run};
use crate::quantities::MeterHours;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::fmt;

/// No meter goes further in a day.
const HOURS_OF_A_DAY: f64 = 24.0;
/// Hours are written to hundredths: a day full of them may come out a little above.
const ROUNDING: f64 = 0.05;

/// A row about a day that cannot be.
#[derive(Debug, Clone, PartialEq)]
pub struct ImpossibleDay {
    /// The file.
    pub file: LogFile,
    /// Its line.
    pub line: Line,
    /// The day.
    pub date: Date,
    /// Why it cannot be.
    pub fault: DayFault,
}

/// Why a day cannot be.
#[derive(Debug, Clone, PartialEq)]
pub enum DayFault {
    /// It is still to come.
    ToCome {
        /// Today.
        today: Date,
    },
    /// With this row the machine's runs of the day come to more than 24 hours.
    TooLong {
        /// The machine.
        machine: String,
        /// The runs of the day up to this one.
        hours: MeterHours,
    },
}

impl fmt::Display for ImpossibleDay {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let date = self.date;
        match &self.fault {
            DayFault::ToCome { today } => {
                write!(to, "{date} is still to come, today is {today}")
            }
            DayFault::TooLong { machine, hours } => write!(
                to,
                "with it the runs of {machine} on {date} come to {:.1} hours, and a day has 24",
                hours.get()
            ),
        }
    }
}

/// Every row about a day that cannot be, in the order of files and lines.
pub fn impossible_days(log: &Logbook, today: Date) -> Vec<ImpossibleDay> {
    let to_come = |file, line, date| {
        (date > today).then_some(ImpossibleDay {
            file,
            line,
            date,
            fault: DayFault::ToCome { today },
        })
    };
    let runs = log.runs.iter();
    let runs = runs.filter_map(|run| to_come(LogFile::Runs, run.line, run.date));
    let events = log.events.iter();
    let events = events.filter_map(|event| to_come(LogFile::Events, event.line, event.date));
    let mut found: Vec<ImpossibleDay> = runs.chain(too_long(&log.runs)).collect();
    found.sort_by_key(|day| day.line);
    found.extend(events);
    found
}

/// Runs with which a machine's day grows longer than it is.
fn too_long(runs: &[Run]) -> Vec<ImpossibleDay> {
    let mut days: BTreeMap<(&str, Date), f64> = BTreeMap::new();
    let mut found = Vec::new();
    for run in runs {
        let hours = days.entry((&run.machine, run.date)).or_default();
        *hours += length(run);
        let total = MeterHours::new(*hours).ok();
        found.extend(
            total
                .filter(|it| it.get() > HOURS_OF_A_DAY + ROUNDING)
                .map(|hours| ImpossibleDay {
                    file: LogFile::Runs,
                    line: run.line,
                    date: run.date,
                    fault: DayFault::TooLong {
                        machine: run.machine.clone(),
                        hours,
                    },
                }),
        );
    }
    found
}

fn length(run: &Run) -> f64 {
    match run.span {
        MeterSpan::Hours(hours) => hours.get(),
        MeterSpan::Readings { start, end } => end.saturating_sub(start).get(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn run(line: u64, day: i8, span: MeterSpan) -> Run {
        let mut run = Run::on(date(2026, 3, day), "drum", span);
        run.line = Line(line);
        run
    }

    fn hours(hours: f64) -> MeterSpan {
        MeterSpan::Hours(MeterHours::new(hours).unwrap())
    }

    #[test]
    fn a_day_holds_24_hours_of_one_machine_and_is_not_to_come() {
        let readings = MeterSpan::Readings {
            start: MeterHours::new(100.0).unwrap(),
            end: MeterHours::new(113.0).unwrap(),
        };
        let mut other = run(7, 2, hours(20.0));
        other.machine = "disc".into();
        let log = Logbook {
            runs: vec![
                run(2, 2, hours(12.0)),
                run(3, 3, hours(24.0)),
                run(4, 2, readings),
                other,
                run(8, 9, hours(1.0)),
            ],
            ..Logbook::default()
        };
        let found = impossible_days(&log, date(2026, 3, 8));
        let words: Vec<String> = found.iter().map(ToString::to_string).collect();
        assert_eq!(
            words,
            [
                "with it the runs of drum on 2026-03-02 come to 25.0 hours, and a day has 24",
                "2026-03-09 is still to come, today is 2026-03-08"
            ]
        );
        assert_eq!(found[0].line, Line(4));
        assert!(impossible_days(&Logbook::default(), date(2026, 3, 8)).is_empty());
    }
}
