//! Whole posteriors of edges and runs beside nutpie: 120 edges of 3 machines and 5,000 edges of 50, on the tables in
//! `tests/reference`, under the same priors.
//!
//! ```text
//! cargo bench --bench posteriors          # three rounds
//! cargo bench --bench posteriors -- 1
//! ```
//!
//! What counts is effective draws a second, of the quantity that has fewest. Ours are over the time of the whole process,
//! with reading and saying; theirs over the time of sampling alone, without compiling the model, in the better of two ways
//! of writing the effects of machines. Both run four chains of 1,000 draws after 500 to tune, on two threads. Effective draws
//! of chains are those of ranks in bulk; weighted draws are worth the same for every quantity, by their weights. Everybody
//! runs once in each round. Prints a table; asserts that all agree, and no time.
//!
//! The peer: `python3 -m venv .target/peers/venv && .target/peers/venv/bin/pip install nutpie pymc arviz`.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::disallowed_macros
)] // a bench may stop

#[path = "../measure.rs"]
mod measure;

use measure::{median, said, spread, timed};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// One run of one program.
struct Run {
    version: String,
    /// Seconds over which the draws count.
    seconds: f64,
    /// Effective draws of the quantity that has fewest.
    effective: f64,
    /// Means of the shared quantities, by name.
    means: BTreeMap<String, f64>,
    /// Their standard deviations, where told.
    deviations: BTreeMap<String, f64>,
    /// What else is worth knowing.
    remark: String,
}

fn main() {
    let asked = std::env::args().find_map(|word| word.parse().ok());
    let rounds: u64 = asked.unwrap_or(3);
    println!(
        "| edges, machines | way | seconds | effective draws | each second | times nutpie's | |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- |");
    compare("changing_exposure", "120, 3", rounds);
    compare("fifty_machines", "5,000, 50", rounds);
}

fn compare(table: &str, name: &str, rounds: u64) {
    let scratch = tempfile::tempdir().expect("a temporary folder");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = root.join("tests/reference").join(table);
    let [mut weighted, mut chains, mut theirs] = [const { Vec::new() }; 3];
    for seed in 1..=rounds {
        weighted.push(ours("laplace", seed, &folder, scratch.path()));
        chains.push(ours("nuts", seed, &folder, scratch.path()));
        theirs.extend(nutpie(root, seed, &folder, scratch.path()));
    }
    let peer = (!theirs.is_empty()).then(|| median(theirs.iter().map(Run::each_second)));
    line(name, "weighted draws", &weighted, peer);
    line("", "chains", &chains, peer);
    match theirs.first() {
        Some(first) => line("", &first.version, &theirs, peer),
        None => println!(
            "| | nutpie is missing: its line is at the head of tests/bench/posteriors/main.rs | | | | | |"
        ),
    }
    agree(&weighted[0], chains.iter().chain(&theirs));
}

fn line(name: &str, way: &str, runs: &[Run], peer: Option<f64>) {
    let each_second = median(runs.iter().map(Run::each_second));
    let times = peer.map_or(String::new(), |peer| format!("{:.1}", each_second / peer));
    println!(
        "| {name} | {way} | {} | {:.0} | {} | {times} | {} |",
        spread(runs.iter().map(|run| run.seconds), 1.0),
        median(runs.iter().map(|run| run.effective)),
        spread(runs.iter().map(Run::each_second), 1.0),
        runs.iter()
            .map(|run| run.remark.as_str())
            .collect::<Vec<_>>()
            .join(", "),
    );
}

/// Means within four standard errors of what draws of that number leave, and a hundredth of a deviation.
fn agree<'a>(first: &Run, others: impl Iterator<Item = &'a Run>) {
    for other in others {
        for (name, mean) in &first.means {
            let deviation = first.deviations[name];
            let apart = (mean - other.means[name]).abs() / deviation;
            let error = (1.0 / first.effective + 1.0 / other.effective).sqrt();
            assert!(
                apart < 4.0 * error + 0.01,
                "{name}: {apart} standard deviations between us and {}",
                other.version
            );
        }
    }
}

impl Run {
    fn each_second(&self) -> f64 {
        self.effective / self.seconds
    }
}

fn ours(way: &str, seed: u64, folder: &Path, scratch: &Path) -> Run {
    let tables = folder.parent().expect("a folder of tables");
    let priors = tables.join("changing_exposure/priors.toml");
    let text = |path: PathBuf| path.display().to_string();
    let (edges, runs) = (
        text(folder.join("edges.csv")),
        text(folder.join("runs.csv")),
    );
    let (priors, seed) = (text(priors), seed.to_string());
    let arguments = [
        "lifedata",
        &edges,
        "--segments",
        &runs,
        "--group",
        "machine",
        "--priors",
        &priors,
        "--posterior",
        way,
        "--seed",
        &seed,
        "--json",
    ];
    let program = Path::new(env!("CARGO_BIN_EXE_keenspan"));
    let (output, seconds, _) = timed(program, &arguments, scratch).expect("the program");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let said: Value = serde_json::from_slice(&output.stdout).expect("an answer");
    let quantities: Vec<&Value> = said["posterior"].as_array().into_iter().flatten().collect();
    assert!(!quantities.is_empty(), "no posterior in {said}");
    let number = |of: &Value, key: &str| of[key].as_f64().expect("a number");
    let effective = quantities.iter().map(|quantity| number(quantity, "ess"));
    let by_name = |key: &str| {
        let shared = quantities.iter().filter_map(|quantity| {
            let name = quantity["name"].as_str()?;
            (!name.starts_with("b_")).then(|| (name.to_string(), number(quantity, key)))
        });
        shared.collect::<BTreeMap<String, f64>>()
    };
    Run {
        version: "keenspan".to_string(),
        seconds,
        effective: effective.fold(f64::INFINITY, f64::min),
        means: by_name("mean"),
        deviations: by_name("sd"),
        remark: match said["k_hat"].as_f64() {
            Some(k_hat) => format!("Pareto k {k_hat:.2}"),
            None => format!("{} lost paths", said["divergences"]),
        },
    }
}

fn nutpie(root: &Path, seed: u64, folder: &Path, scratch: &Path) -> Option<Run> {
    let program = root.join(".target/peers/venv/bin/python");
    if !program.exists() {
        return None;
    }
    let text = |path: &Path| path.display().to_string();
    let script = text(&root.join("tests/bench/peers/nutpie_exposure.py"));
    let arguments = [script.as_str(), &text(folder), &seed.to_string()];
    let (output, ..) = timed(&program, &arguments, scratch)?;
    let said = said("nutpie", &output)?;
    let number = |key: &str| said[key].as_f64().expect("a number");
    let means = said["means"].as_object().into_iter().flatten();
    Some(Run {
        version: said["version"].as_str().unwrap_or("nutpie").to_string(),
        seconds: number("seconds"),
        effective: number("effective"),
        means: means
            .map(|(name, mean)| (name.clone(), mean.as_f64().expect("a number")))
            .collect(),
        deviations: BTreeMap::new(),
        remark: format!(
            "{} lost paths ({}; {:.0} s to compile)",
            said["divergences"],
            if said["centred"] == true {
                "centred"
            } else {
                "not centred"
            },
            number("compiling")
        ),
    })
}
