//! The fit sees the same edges however the same work was written down.

use crate::small_logs::{Worked, add_run_like, kept_log, numbered, played, shuffle, split, worked};
use approx::assert_abs_diff_eq;
use keenspan::lives::{Observation, edge_lives};
use keenspan::logbook::read::read_logbook;
use keenspan::logbook::write::write_logbook;
use keenspan::logbook::{Line, Logbook, MeterSpan};
use keenspan::quantities::MeterHours;
use keenspan::wear::{EdgeRecord, EdgeRecords};
use keenspan::wood::{Contamination, WoodMix};
use proptest::prelude::*;

/// Hours in all, by covariate row.
fn hours_by_row(edge: &EdgeRecord) -> Vec<(Vec<f64>, f64)> {
    let mut told: Vec<(Vec<f64>, f64)> = Vec::new();
    for stretch in &edge.stretches {
        for (share, row) in &stretch.parts {
            let hours = share * (stretch.stop - stretch.start);
            match told.iter_mut().find(|(known, _)| known == row) {
                Some((_, sum)) => *sum += hours,
                None => told.push((row.clone(), hours)),
            }
        }
    }
    told.sort_by(|a, b| a.0.partial_cmp(&b.0).expect("finite rows"));
    told
}

fn records(log: &Logbook) -> (EdgeRecords, Vec<Observation>) {
    let (records, seen) = EdgeRecords::from_lives(&edge_lives(log));
    records.check().expect("rows as wide as their names");
    (records, seen)
}

/// The same edges to the fit.
fn assert_same(one: &Logbook, other: &Logbook) {
    let ((one, one_seen), (other, other_seen)) = (records(one), records(other));
    assert_eq!(one_seen, other_seen);
    assert_eq!(one.rate_names, other.rate_names);
    assert_eq!(one.groupings, other.groupings);
    assert_eq!(one.edges.len(), other.edges.len());
    for (a, b) in one.edges.iter().zip(&other.edges) {
        let plain = |edge: &EdgeRecord| (edge.features.clone(), edge.groups.clone(), edge.entry);
        assert_eq!(plain(a), plain(b));
        assert_eq!(a.touch_ups, b.touch_ups);
        let (ours, theirs) = (hours_by_row(a), hours_by_row(b));
        assert_eq!(ours.len(), theirs.len());
        for ((row, hours), (same_row, same_hours)) in ours.iter().zip(&theirs) {
            assert_eq!(row, same_row);
            assert_abs_diff_eq!(hours, same_hours, epsilon = 1e-12);
        }
    }
}

/// The same days with every run written as two meter readings.
fn with_readings(days: &[Worked]) -> Vec<Worked> {
    let mut days = days.to_vec();
    days.iter_mut().for_each(|day| day.hours_only = false);
    days
}

proptest! {
    #[test]
    fn rows_in_another_order(log in kept_log(), seed in any::<u64>()) {
        let mut shuffled = log.clone();
        shuffle(&mut shuffled.runs, seed);
        shuffle(&mut shuffled.events, seed);
        shuffled.machines.reverse();
        shuffled.sets.reverse();
        assert_same(&log, &numbered(shuffled));
    }

    #[test]
    fn a_run_in_two_parts(log in kept_log(), which in any::<usize>(), share in 0.0..1.0f64) {
        assert_same(&log, &split(&log, which, share));
    }

    /// Whatever wood it names.
    #[test]
    fn a_run_of_no_hours(log in kept_log(), which in any::<usize>(), oak in any::<bool>()) {
        let run = &log.runs[which % log.runs.len()];
        let mut empty = run.clone();
        empty.line = Line(run.line.0 + 1);
        empty.span = match run.span {
            MeterSpan::Hours(_) => MeterSpan::Hours(MeterHours::ZERO),
            MeterSpan::Readings { end, .. } => MeterSpan::Readings { start: end, end },
        };
        empty.wood = oak.then(|| WoodMix::parse("black walnut").expect("a wood"));
        empty.contamination = oak.then_some(Contamination::Gritty);
        let mut padded = log.clone();
        add_run_like(&mut padded, run.line, empty);
        assert_same(&log, &padded);
    }

    #[test]
    fn hours_as_two_readings(days in prop::collection::vec(worked(), 1..40)) {
        assert_same(&played(&days), &played(&with_readings(&days)));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Runs of no hours are read as well: 0 is a length, and a reading may stand twice.
    #[test]
    fn through_the_files(log in kept_log(), which in any::<usize>()) {
        let mut log = log;
        let mut empty = log.runs[which % log.runs.len()].clone();
        let like = empty.line;
        empty.line = Line(like.0 + 1);
        empty.span = MeterSpan::Hours(MeterHours::ZERO);
        add_run_like(&mut log, like, empty);
        log.runs.sort_by_key(|run| (run.date, run.line));
        let log = numbered(log);
        let folder = tempfile::tempdir().expect("a temporary folder");
        write_logbook(folder.path(), &log).expect("a written log");
        let reading = read_logbook(folder.path()).expect("a log");
        prop_assert_eq!(&reading.problems, &vec![]);
        prop_assert_eq!(reading.logbook.own_conditions().names.len(), log.own_conditions().names.len());
        assert_same(&log, &reading.logbook);
    }
}
