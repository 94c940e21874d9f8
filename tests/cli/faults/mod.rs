//! Faults put into a sound log: each is told with its own file, line and column, and costs no row but
//! its own.

mod kinds;
mod sound;
mod written;

use keenspan::logbook::LogFile;
use keenspan::logbook::read::{Reading, read_texts};
use kinds::{FAULTS, Fault, choose};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use sound::{Row, sound_log};
use std::collections::{BTreeMap, BTreeSet};
use written::write;

/// File, line, column.
type Place = (LogFile, u64, String);

#[test]
fn two_hundred_faults_are_all_told_and_every_other_row_is_used() {
    for seed in 0..25 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let rows = sound_log(&mut random);
        let faulty = choose(&rows, &mut random);
        let (texts, lines) = write(&rows, &faulty, &mut random);
        let expected: BTreeSet<Place> = faulty
            .iter()
            .map(|(at, fault)| (rows[*at].file, lines[*at], fault.column.to_owned()))
            .collect();
        let reading = read_texts(&texts);
        let told: BTreeSet<Place> = reading
            .problems
            .iter()
            .map(|problem| (problem.file, problem.line.0, problem.column.clone()))
            .collect();
        let missed: Vec<&Place> = expected.difference(&told).collect();
        let invented: Vec<&Place> = told.difference(&expected).collect();
        assert!(
            missed.is_empty() && invented.is_empty(),
            "seed {seed}: missed {missed:?}, invented {invented:?}"
        );
        assert_eq!(reading.problems.len(), FAULTS, "seed {seed}");
        every_other_row_is_used(&reading, &rows, &faulty, &lines);
    }
}

fn every_other_row_is_used(
    reading: &Reading,
    rows: &[Row],
    faulty: &BTreeMap<usize, Fault>,
    lines: &[u64],
) {
    assert_eq!(reading.set_aside(), FAULTS);
    for count in &reading.files {
        let in_file = |at: &&usize| rows[**at].file == count.file;
        let total = rows.iter().filter(|row| row.file == count.file).count();
        assert_eq!(count.rows, total, "{}", count.file);
        assert_eq!(
            count.set_aside,
            faulty.keys().filter(in_file).count(),
            "{}",
            count.file
        );
    }
    let expected: Vec<u64> = (0..rows.len())
        .filter(|at| rows[*at].file == LogFile::Runs && !faulty.contains_key(at))
        .map(|at| lines[at])
        .collect();
    let used: Vec<u64> = reading.logbook.runs.iter().map(|run| run.line.0).collect();
    assert_eq!(used, expected);
}

#[test]
fn the_sound_log_is_sound() {
    for seed in 0..25 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let rows = sound_log(&mut random);
        let (texts, _) = write(&rows, &BTreeMap::new(), &mut random);
        assert_eq!(read_texts(&texts).problems, [], "seed {seed}");
    }
}
