//! Logs that once broke something: datasets/README.md says what.

use keenspan::logbook::read::{Reading, read_logbook};
use std::path::Path;

fn read(folder: &str) -> Reading {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("datasets/broke-it")
        .join(folder);
    read_logbook(&path).expect("a log")
}

/// Line of the one problem, and rows set aside.
fn only_problem(reading: &Reading) -> (u64, usize) {
    assert_eq!(reading.problems.len(), 1, "{:?}", reading.problems);
    (reading.problems[0].line.0, reading.set_aside())
}

#[test]
fn an_inch_mark_two_rows_down_does_not_close_a_forgotten_quote() {
    let reading = read("inch-mark-closes-a-quote");
    assert_eq!(only_problem(&reading), (2, 1));
    assert_eq!(reading.logbook.events.len(), 3);
}

#[test]
fn an_inch_mark_in_the_same_row_costs_that_row_only() {
    let reading = read("inch-mark-in-the-same-row");
    assert_eq!(only_problem(&reading), (3, 1));
    assert_eq!(reading.logbook.machines.len(), 2);
}
