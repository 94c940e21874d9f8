//! What must hold of edge lives whatever a crew writes.

use crate::small_logs::{
    add_run_like, kept_log, kept_log_of_readings, numbered, shuffle, soup, split,
};
use approx::assert_abs_diff_eq;
use keenspan::lives::{EdgeLife, Lives, Observation, edge_lives};
use keenspan::logbook::{Line, Logbook, MeterSpan};
use keenspan::quantities::MeterHours;
use proptest::prelude::*;
use proptest::sample::subsequence;

/// Sums of a few hundred binary fractions.
const ROUNDING: f64 = 1e-6;

fn check_sound(life: &EdgeLife) -> Result<(), TestCaseError> {
    let total = life.exposure.total().get();
    prop_assert!(total > 0.0 && total.is_finite());
    let mut reached = 0.0;
    for segment in &life.exposure.segments {
        prop_assert_eq!(segment.start.get(), reached);
        prop_assert!(segment.stop.get() > reached);
        reached = segment.stop.get();
        let shares: f64 = segment.blend.parts().iter().map(|part| part.share).sum();
        prop_assert!((shares - 1.0).abs() < 1e-12);
    }
    prop_assert!(
        life.exposure
            .touch_ups
            .iter()
            .all(|up| up.at.get() <= total)
    );
    prop_assert!(life.entry.is_none_or(|entry| entry.get() <= total));
    check_observation(&life.observation, total)
}

fn check_observation(observation: &Observation, total: f64) -> Result<(), TestCaseError> {
    let Observation::Graded { looks, noticed } = observation else {
        return Err(TestCaseError::fail(
            "a crew's log gives graded observations",
        ));
    };
    prop_assert!(!looks.is_empty() || noticed.is_some());
    let places: Vec<f64> = looks.iter().map(|look| look.at.get()).collect();
    prop_assert!(places.windows(2).all(|two| two[0] < two[1]));
    let noticed = noticed.iter().map(|noticed| noticed.at.get());
    for at in places.iter().copied().chain(noticed) {
        // A look just after a touch-up stands a hair behind it, be it at the very end.
        prop_assert!(at > 0.0 && at <= total + 0.001, "{} of {}", at, total);
    }
    Ok(())
}

fn check_accounts(lives: &Lives) -> Result<(), TestCaseError> {
    let tally = &lives.tally;
    prop_assert_eq!(tally.edges_found, tally.edges_used + tally.set_aside.len());
    prop_assert_eq!(tally.edges_used, lives.lives.len());
    let endings = tally.graded_endings + tally.ungraded_endings + tally.struck + tally.running;
    prop_assert_eq!(endings, tally.edges_used);
    let mut in_lives = 0.0;
    for account in &tally.hours {
        let told = account.in_lives + account.set_aside + account.after_strike + account.no_edge;
        prop_assert!((told.get() - account.total.get()).abs() < ROUNDING);
        prop_assert!(
            account.unlogged.get() + account.before_log.get() <= account.total.get() + ROUNDING
        );
        in_lives += account.in_lives.get();
    }
    let exposed: f64 = lives
        .lives
        .iter()
        .map(|life| life.exposure.total().get())
        .sum();
    prop_assert!((in_lives - exposed).abs() < ROUNDING);
    Ok(())
}

/// Equal but for rounding: a usual mix is a sum of hours in some order.
fn assert_alike(one: &[EdgeLife], other: &[EdgeLife]) {
    assert_eq!(one.len(), other.len());
    for (a, b) in one.iter().zip(other) {
        assert_eq!(a.observation, b.observation);
        assert_eq!(
            (a.entry, a.ending, &a.features),
            (b.entry, b.ending, &b.features)
        );
        assert_eq!((&a.machine, &a.set, a.edge), (&b.machine, &b.set, b.edge));
        assert_eq!(a.exposure.touch_ups, b.exposure.touch_ups);
        assert_eq!(a.exposure.segments.len(), b.exposure.segments.len());
        for (left, right) in a.exposure.segments.iter().zip(&b.exposure.segments) {
            assert_eq!((left.start, left.stop), (right.start, right.stop));
            for (mine, yours) in left.blend.parts().iter().zip(right.blend.parts()) {
                assert_eq!(mine.covariates, yours.covariates);
                assert_abs_diff_eq!(mine.share, yours.share, epsilon = 1e-12);
            }
        }
    }
}

/// How many runs say yes to a condition is told as it is, runs of no hours among them.
fn but_for_counts_of_runs(log: &Logbook) -> Lives {
    let mut lives = edge_lives(log);
    for condition in &mut lives.tally.conditions {
        condition.runs = 0;
    }
    lives
}

proptest! {
    #[test]
    fn whatever_is_written_edges_and_hours_are_all_accounted_for(log in soup()) {
        let lives = edge_lives(&log);
        check_accounts(&lives)?;
        for life in &lives.lives {
            check_sound(life)?;
        }
        for note in &lives.tally.notes {
            prop_assert!(note.to_string().contains(".csv line "));
        }
    }

    #[test]
    fn the_order_in_which_rows_are_handed_over_changes_nothing(log in soup(), seed in any::<u64>()) {
        let mut shuffled = log.clone();
        shuffle(&mut shuffled.runs, seed);
        shuffle(&mut shuffled.events, seed);
        shuffled.machines.reverse();
        shuffled.sets.reverse();
        prop_assert_eq!(edge_lives(&log), edge_lives(&shuffled));
    }

    #[test]
    fn the_order_of_rows_in_their_files_changes_no_life(
        log in kept_log_of_readings(),
        seed in any::<u64>(),
    ) {
        let mut shuffled = log.clone();
        shuffle(&mut shuffled.runs, seed);
        shuffle(&mut shuffled.events, seed);
        assert_alike(&edge_lives(&log).lives, &edge_lives(&numbered(shuffled)).lives);
    }

    #[test]
    fn splitting_a_run_in_two_changes_no_life(
        log in kept_log(),
        which in any::<usize>(),
        share in 0.0..1.0f64,
    ) {
        let whole = edge_lives(&log);
        let parted = edge_lives(&split(&log, which, share));
        assert_alike(&whole.lives, &parted.lives);
    }

    #[test]
    fn runs_of_no_hours_change_nothing(log in kept_log(), which in subsequence((0..40usize).collect::<Vec<_>>(), 5)) {
        let mut padded = log.clone();
        for index in which {
            let mut empty = log.runs[index % log.runs.len()].clone();
            empty.line = Line(empty.line.0 + 1);
            empty.span = match empty.span {
                MeterSpan::Hours(_) => MeterSpan::Hours(MeterHours::ZERO),
                MeterSpan::Readings { end, .. } => MeterSpan::Readings { start: end, end },
            };
            let like = log.runs[index % log.runs.len()].line;
            add_run_like(&mut padded, like, empty);
        }
        prop_assert_eq!(but_for_counts_of_runs(&log), but_for_counts_of_runs(&padded));
    }

    #[test]
    fn in_a_kept_log_every_hour_on_the_meter_is_some_edges(log in kept_log()) {
        let lives = edge_lives(&log);
        check_accounts(&lives)?;
        let account = &lives.tally.hours[0];
        let (first, last) = ends(&log);
        prop_assert!((account.total.get() - (last - first)).abs() < ROUNDING);
        prop_assert!(account.no_edge.get() < ROUNDING);
    }
}

/// First and last hour by the plain sum of what was worked, from the 1000 h at which the log starts.
fn ends(log: &Logbook) -> (f64, f64) {
    let mut meter = 1000.0;
    for run in &log.runs {
        meter = match run.span {
            MeterSpan::Hours(length) => meter + length.get(),
            MeterSpan::Readings { end, .. } => end.get(),
        };
    }
    (1000.0, meter)
}
