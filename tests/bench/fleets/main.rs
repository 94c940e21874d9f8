//! `keenspan lifedata --segments` on invented fleets of growing size, from CSV on disk to the posterior.
//!
//! ```text
//! cargo bench --bench fleets                    # 10,000 to 1,000,000 edges
//! cargo bench --bench fleets -- 5000000         # so many edges: the files are some 2 GB, in the temporary folder
//! ```
//!
//! `-- write FOLDER 5000000` only writes the two tables and the priors.
//!
//! 250 edges a machine, ten runs an edge. Each table is read and fitted by one thread and by two; the answers must be the
//! same to the last bit. Prints seconds, peak memory and how both grow; asserts no time. Needs GNU time.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::disallowed_macros
)] // a bench may stop

use keenspan::logbook::write::EdgeRunsText;
use keenspan::simulation::{FLEET_COVARIATES, FleetPlan};
use rayon::prelude::*;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

const EDGES_PER_MACHINE: usize = 250;
const PRIORS: &str = include_str!("../../reference/changing_exposure/priors.toml");

fn main() {
    let words: Vec<String> = std::env::args().collect();
    if let Some(place) = words.iter().position(|word| word == "write")
        && let [folder, edges, ..] = &words[place + 1..]
    {
        let plan = plan(edges.parse().expect("a number of edges"));
        println!("{} runs", written(&plan, folder.as_ref()));
        return;
    }
    let asked: Vec<usize> = std::env::args()
        .filter_map(|word| word.parse().ok())
        .collect();
    let sizes = match asked.as_slice() {
        [] => vec![10_000, 31_250, 100_000, 312_500, 1_000_000],
        asked => asked.to_vec(),
    };
    println!("   edges       runs  MB of CSV  1 thread  2 threads  peak MB  same bits");
    let mut before: Option<(f64, f64)> = None;
    for edges in sizes {
        let seconds = measured(edges);
        if let Some((edges_before, seconds_before)) = before {
            let exponent = (seconds / seconds_before).ln() / (edges as f64 / edges_before).ln();
            println!("          exponent from {edges_before}: {exponent:.3}");
        }
        before = Some((edges as f64, seconds));
    }
}

fn plan(edges: usize) -> FleetPlan {
    FleetPlan {
        machines: edges / EDGES_PER_MACHINE,
        edges_per_machine: EDGES_PER_MACHINE,
        ..FleetPlan::default()
    }
}

/// Seconds by two threads.
fn measured(edges: usize) -> f64 {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let runs = written(&plan(edges), folder.path());
    let [one, two] = [1, 2].map(|threads| run(folder.path(), threads));
    let size = |name: &str| folder.path().join(name).metadata().map_or(0, |it| it.len());
    println!(
        "{edges:8} {runs:10} {:10.0} {:9.2} {:10.2} {:8.0}  {}",
        (size("edges.csv") + size("runs.csv")) as f64 / 1e6,
        one.seconds,
        two.seconds,
        two.kilobytes / 1e3,
        one.answer == two.answer && one.groups == two.groups
    );
    assert!(one.answer == two.answer && one.groups == two.groups);
    two.seconds
}

struct Run {
    seconds: f64,
    kilobytes: f64,
    answer: Vec<u8>,
    groups: Vec<u8>,
}

fn run(folder: &Path, threads: usize) -> Run {
    let start = Instant::now();
    let output = Command::new("/usr/bin/time")
        .args([
            "-f",
            "%M",
            env!("CARGO_BIN_EXE_keenspan"),
            "lifedata",
            "edges.csv",
        ])
        .args(
            "--segments runs.csv --group machine --priors priors.toml --by-group groups.csv --json"
                .split(' '),
        )
        .env("RAYON_NUM_THREADS", threads.to_string())
        .current_dir(folder)
        .output()
        .expect("GNU time");
    let seconds = start.elapsed().as_secs_f64();
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{told}");
    Run {
        seconds,
        kilobytes: told
            .lines()
            .last()
            .and_then(|line| line.parse().ok())
            .expect("kilobytes"),
        answer: output.stdout,
        groups: std::fs::read(folder.join("groups.csv")).expect("the groups"),
    }
}

/// Writes both tables and the priors; how many runs there are.
fn written(plan: &FleetPlan, folder: &Path) -> usize {
    std::fs::create_dir_all(folder).expect("a folder");
    std::fs::write(folder.join("priors.toml"), PRIORS).expect("a writable folder");
    let file = |name: &str| BufWriter::new(File::create(folder.join(name)).expect("a file"));
    let (mut edges, mut runs) = (file("edges.csv"), file("runs.csv"));
    let mut write = |text: &EdgeRunsText| {
        edges
            .write_all(text.edges.as_bytes())
            .expect("room on the disk");
        runs.write_all(text.runs.as_bytes())
            .expect("room on the disk");
    };
    write(&EdgeRunsText::header("machine", &FLEET_COVARIATES));
    let mut count = 0;
    let machines: Vec<usize> = (0..plan.machines).collect();
    for some in machines.chunks(256) {
        let texts: Vec<(EdgeRunsText, usize)> = some
            .par_iter()
            .map(|number| {
                let machine = plan.machine(*number);
                let mut text = EdgeRunsText::default();
                machine
                    .edges
                    .iter()
                    .for_each(|edge| text.push(&machine.name, edge));
                (text, machine.edges.iter().map(|edge| edge.runs.len()).sum())
            })
            .collect();
        for (text, runs) in &texts {
            write(text);
            count += runs;
        }
    }
    count
}
