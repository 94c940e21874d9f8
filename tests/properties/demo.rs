//! The demo log: what it holds, and that it is what its seed says.

use keenspan::lives::{EdgeLife, Matter, Observation, edge_lives};
use keenspan::logbook::read::{LogTexts, Reading, read_logbook, read_texts};
use keenspan::logbook::{LogFile, MeterSpan};
use keenspan::simulation::{DEMO_SEED, Truth, demo_files};
use std::fs;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo-riverbank")
}

fn reading(seed: u64) -> Reading {
    let named = |name: &str| LogFile::ALL.into_iter().find(|file| file.name() == name);
    let files = demo_files(seed, &Truth::stated()).into_iter();
    let texts: LogTexts = files
        .map(|(name, text)| (named(&name).expect("a file of a log"), text.into_bytes()))
        .collect();
    read_texts(&texts)
}

#[test]
fn the_demo_folder_is_what_its_seed_says() {
    let anew = std::env::var_os("WRITE_DEMO").is_some();
    for (name, text) in demo_files(DEMO_SEED, &Truth::stated()) {
        if anew {
            fs::create_dir_all(folder()).expect("a folder");
            fs::write(folder().join(&name), &text).expect("written");
        }
        let there = fs::read_to_string(folder().join(&name)).expect("a file of the demo");
        assert_eq!(there, text, "{name}");
    }
}

#[test]
fn another_seed_gives_another_log() {
    let truth = Truth::stated();
    assert_ne!(demo_files(1, &truth), demo_files(2, &truth));
    assert_eq!(demo_files(1, &truth), demo_files(1, &truth));
}

#[test]
fn the_reader_finds_the_mistyped_wood_and_nothing_else() {
    let reading = read_logbook(&folder()).expect("the demo log");
    let found: Vec<_> = reading
        .problems
        .iter()
        .map(|it| it.found.as_str())
        .collect();
    assert_eq!(found, ["wilow"]);
    let hours_only = reading.logbook.runs.iter();
    let hours_only = hours_only.filter(|run| matches!(run.span, MeterSpan::Hours(_)));
    assert_eq!(hours_only.count(), 2);
}

#[test]
fn about_sixty_edges_come_out_of_the_demo_log_with_two_notes() {
    let reading = read_logbook(&folder()).expect("the demo log");
    let lives = edge_lives(&reading.logbook);
    assert!(
        (55..=70).contains(&lives.lives.len()),
        "{}",
        lives.lives.len()
    );
    assert!(lives.tally.set_aside.is_empty());
    let notes: Vec<_> = lives.tally.notes.iter().map(|note| &note.matter).collect();
    assert!(
        matches!(notes[0], Matter::WorkedBeforeLog { .. }),
        "{notes:?}"
    );
    assert!(matches!(notes[1], Matter::PlacedByDate { .. }), "{notes:?}");
    assert_eq!(notes.len(), 2);
}

#[test]
fn the_mess_of_the_demo_log_is_in_it() {
    let lives = edge_lives(&read_logbook(&folder()).expect("the demo log").logbook);
    let tally = &lives.tally;
    assert!(tally.struck > 0 && tally.ungraded_endings > 0 && tally.graded_endings > 0);
    assert_eq!(tally.running, 2);
    // Runs not written, and the row of the mis-typed wood, which is set aside.
    assert!(
        tally
            .hours
            .iter()
            .all(|account| account.unlogged.get() > 0.0)
    );
    assert!(
        tally
            .hours
            .iter()
            .all(|account| account.no_edge.get() == 0.0)
    );
    assert_eq!(
        lives
            .lives
            .iter()
            .filter(|life| life.entry.is_some())
            .count(),
        1
    );
    let touched = lives
        .lives
        .iter()
        .filter(|life| !life.exposure.touch_ups.is_empty());
    assert_eq!(touched.count(), 2);
    // Nettle's meter began again at zero; the axis did not.
    let nettle = lives
        .machines
        .iter()
        .find(|it| it.machine == "Nettle")
        .expect("Nettle");
    let hours = tally
        .hours
        .iter()
        .find(|it| it.machine == "Nettle")
        .expect("Nettle");
    assert!(nettle.meter.expect("a meter").get() < hours.total.get());
}

/// The log must tell what is true, or the demo teaches nothing: the edges noticed dull in the cut
/// have worked, in the true wear hours of what was logged, about as long as the truth says.
#[test]
fn edges_noticed_dull_wore_about_as_long_as_the_truth_says() {
    let truth = Truth::stated();
    let mut logs = Vec::new();
    for seed in 0..12 {
        let lives = edge_lives(&reading(seed).logbook);
        logs.extend(
            lives
                .lives
                .iter()
                .filter_map(|life| log_ratio(life, &truth)),
        );
    }
    let mean = logs.iter().sum::<f64>() / logs.len() as f64;
    // Of a Weibull, ln(T / median) has mean sigma (-0.5772 - ln ln 2) = -0.063 at sigma 0.30 and
    // standard deviation 0.385. Those seen before the rule are the shorter ones, so it lies below
    // that, and above what edges of half the median life would give.
    assert!(logs.len() > 200, "{}", logs.len());
    assert!(mean < -0.063 + 0.05 && mean > 0.5_f64.ln(), "{mean}");
}

fn log_ratio(life: &EdgeLife, truth: &Truth) -> Option<f64> {
    let Observation::Graded {
        noticed: Some(at), ..
    } = &life.observation
    else {
        return None;
    };
    let worn = life.exposure.segments.iter().map(|segment| {
        let stop = segment.stop.get().min(at.at.get());
        truth.rate(&segment.blend) * (stop - segment.start.get()).max(0.0)
    });
    let median = truth.median_of(life.features.rotor, life.features.regrinds);
    Some((worn.sum::<f64>() / median.get()).ln())
}
