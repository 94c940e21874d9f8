//! `keenspan lifedata` beside what else fits such tables: Weibull accelerated-failure-time regression on 100,000 and
//! 1,000,000 rows with five covariates, 40 % exact, 30 % right-censored, 30 % interval-censored, from a CSV on disk.
//!
//! ```text
//! cargo bench --bench life_tables                 # both sizes
//! cargo bench --bench life_tables -- 100000 5     # one size, five rounds
//! ```
//!
//! Everybody runs once in each round, one after the other, on the same file; medians with the range over the rounds. The
//! fit alone is timed by each program itself, from columns in memory (ours too: sorting the rows and taking logs is part of
//! it); the whole process from outside, with reading the file; peak memory is that of the whole process. Prints a table;
//! asserts that all agree, and no time.
//!
//! Peers: R with survival (`apt-get install r-cran-survival`), and Python with lifelines, surpyval and numpy
//! (`python3 -m venv .target/peers/venv && .target/peers/venv/bin/pip install lifelines surpyval`). One that is not there
//! is named as missing. Peak memory needs GNU time.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::disallowed_macros
)] // a bench may stop

mod limit;
#[path = "../measure.rs"]
mod measure;
mod ours;
mod peer;
mod table;

use measure::{median, spread};
use peer::{Peer, Run};

fn main() {
    let numbers: Vec<usize> = std::env::args()
        .filter_map(|word| word.parse().ok())
        .collect();
    let sizes = match numbers.as_slice() {
        [rows, rounds, ..] => vec![(*rows, *rounds)],
        [rows] => vec![(*rows, 3)],
        [] => vec![(100_000, 5), (1_000_000, 3)],
    };
    for (rows, rounds) in sizes {
        compare(rows, rounds);
    }
}

fn compare(rows: usize, rounds: usize) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lives.csv");
    table::write(&file, rows);
    let columns = ours::read(&file);
    let peers = Peer::all();
    let mut limits = Vec::new();
    let mut mine = Vec::new();
    let mut theirs: Vec<Vec<Run>> = vec![Vec::new(); peers.len()];
    for _ in 0..rounds {
        limits.push(limit::seconds(&columns));
        mine.push(ours::run(&columns, &file, folder.path()));
        for (peer, runs) in peers.iter().zip(&mut theirs) {
            runs.extend(peer.run(&file, folder.path()));
        }
    }
    let megabytes = std::fs::metadata(&file).map_or(0, |file| file.len() / 1_000_000);
    println!("\n## {rows} rows ({megabytes} MB of CSV), {rounds} rounds\n");
    println!(
        "| | fit alone, ms | times ours | whole process, ms | times ours | peak memory, MB | standard errors apart |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    let ours: Vec<Run> = mine.iter().map(|own| own.run.clone()).collect();
    line("keenspan", &ours, &ours, &mine[0].errors);
    for (peer, runs) in peers.iter().zip(&theirs) {
        match runs.as_slice() {
            [] => println!("| {} | missing: {} | | | | | |", peer.name, peer.install),
            runs => line(&runs[0].version, runs, &ours, &mine[0].errors),
        }
    }
    parts(&mine, &limits);
}

/// Where our own time goes, and what a bare loop over the same bytes takes.
fn parts(mine: &[ours::Own], limits: &[f64]) {
    let passes = mine[0].passes;
    // The least of all rounds: what is compared is what the processor must do, not who else was at work.
    let least = |seconds: &mut dyn Iterator<Item = f64>| seconds.fold(f64::INFINITY, f64::min);
    let climbing = least(&mut mine.iter().map(|own| own.climbing));
    let bare = least(&mut limits.iter().copied());
    println!(
        "\nOf our fit, at its quickest, sorting and logs take {:.2} ms, the fit itself {:.2} ms with {passes} passes over the whole table. A bare loop \
         over 57 bytes a row with two exponentials and 110 more operations takes {:.2} ms a pass: the fit itself takes {:.2} times \
         {passes} such passes.",
        1e3 * least(&mut mine.iter().map(|own| own.sorting)),
        1e3 * climbing,
        1e3 * bare,
        climbing / (bare * passes as f64),
    );
}

fn line(name: &str, runs: &[Run], ours: &[Run], errors: &[f64]) {
    let ratio = |of: fn(&Run) -> f64| median(runs.iter().map(of)) / median(ours.iter().map(of));
    let apart = runs
        .iter()
        .flat_map(|run| run.estimates.iter().zip(&ours[0].estimates).zip(errors))
        .map(|((theirs, ours), error)| ((theirs - ours) / error).abs())
        .fold(0.0, f64::max);
    let memory = match runs[0].peak_megabytes {
        Some(_) => format!(
            "{:.0}",
            median(runs.iter().filter_map(|run| run.peak_megabytes))
        ),
        None => "not measured".to_string(),
    };
    println!(
        "| {name} | {} | {:.1} | {} | {:.1} | {memory} | {apart:.1e} |",
        spread(runs.iter().map(|run| run.fit), 1e3),
        ratio(|run| run.fit),
        spread(runs.iter().map(|run| run.whole), 1e3),
        ratio(|run| run.whole),
    );
    assert!(apart < 1e-2, "{name} found something else");
}
