//! Life tables from the command line, as somebody would who checks the numerics.

use crate::support::{self, keenspan, said, status};
use serde_json::Value;

fn published(name: &str) -> String {
    format!(
        "{}/datasets/published/{name}.csv",
        env!("CARGO_MANIFEST_DIR")
    )
}

fn json(arguments: &[&str]) -> (i32, Value) {
    let output = keenspan(&[&["lifedata"], arguments, &["--json"]].concat());
    (status(&output), support::json(&output))
}

fn table(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lives.csv");
    std::fs::write(&file, text).expect("a writable folder");
    (folder, file.display().to_string())
}

#[test]
fn a_published_table_comes_out_with_every_promised_key() {
    let (status, answer) = json(&[&published("simulated_units_stopped_at_500")]);
    assert_eq!(status, 0);
    assert_eq!(answer["distribution"], "weibull");
    assert_eq!(answer["rows"], 20);
    assert_eq!(answer["weight_total"], 20.0);
    assert_eq!(answer["converged"], true);
    // NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: shape 1.7208.
    let shape = answer["shape"]["estimate"].as_f64().expect("a shape");
    assert_eq!(format!("{shape:.4}"), "1.7208");
    let names: Vec<&Value> = answer["parameters"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|p| &p["name"])
        .collect();
    assert_eq!(names, ["intercept", "log_sigma"]);
    let shares: Vec<f64> = answer["quantiles"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|q| q["p"].as_f64().expect("p"))
        .collect();
    assert_eq!(shares, [0.01, 0.05, 0.1, 0.5, 0.9]);
    for key in [
        "log_likelihood",
        "covariance",
        "scale",
        "warnings",
        "units",
        "keenspan",
    ] {
        assert!(!answer[key].is_null(), "{key} is missing");
    }
}

#[test]
fn a_table_without_failures_ends_in_status_3_without_a_number() {
    let (status, answer) = json(&[&published("no_failures")]);
    assert_eq!(status, 3);
    assert_eq!(answer["converged"], false);
    assert!(answer["scale"].is_null() && answer["log_likelihood"].is_null());
    assert!(answer["parameters"][0]["estimate"].is_null());
    assert_eq!(answer["flat_direction"][0], "intercept");
    assert!(
        answer["warnings"][0]
            .as_str()
            .expect("words")
            .contains("right-censored")
    );
}

#[test]
fn separation_names_the_covariate() {
    let (status, answer) = json(&[&published("separated_covariate"), "--covariates", "x1"]);
    assert_eq!(status, 3);
    assert_eq!(answer["flat_direction"][0], "x1");
    assert!(
        answer["warnings"][0]
            .as_str()
            .expect("words")
            .contains("coefficient of x1 rises without end")
    );
}

#[test]
fn quantiles_are_taken_at_the_covariates_asked_for() {
    let file = published("glass_capacitors");
    let at = [
        "--covariates",
        "temperature,voltage",
        "--at",
        "temperature=175,voltage=250",
    ];
    let (_, answer) = json(&[&[file.as_str()], at.as_slice()].concat());
    // Meeker and Escobar (1998), capacitor data, fitted by R survival 3.5-3: see tests/reference/life_tables.json.
    let median = answer["quantiles"][3]["estimate"].as_f64().expect("an age");
    assert!((median - 843.580_445_673_7).abs() < 1e-6, "{median}");
}

#[test]
fn blank_inf_zero_and_no_weight_mean_what_the_help_says() {
    let spelt_out = "lower,upper,weight\n5,5,1\n8,8,1\n0,4,1\n9,inf,1\n3,7,1\n";
    let (_one, blank) = table("lower,upper\n5,5\n8,8\n,4\n9,\n3,7\n");
    let (_two, full) = table(spelt_out);
    let (first, second) = (json(&[&blank]), json(&[&full]));
    assert_eq!(first.0, 0);
    assert_eq!(first.1["parameters"], second.1["parameters"]);
}

#[test]
fn every_faulty_cell_is_named_with_its_line_and_column() {
    let (_folder, file) = table("lower,upper,weight\n5,4,1\nx,8,1\n3,7,-2\n");
    let output = keenspan(&["lifedata", &file]);
    assert_eq!(status(&output), 4);
    let words = said(&output);
    for part in [
        "line 2, column \"upper\"",
        "line 3, column \"lower\"",
        "line 4, column \"weight\"",
    ] {
        assert!(words.contains(part), "{part} is missing from:\n{words}");
    }
}

#[test]
fn a_column_that_is_not_there_is_a_usage_error_that_lists_those_that_are() {
    let output = keenspan(&[
        "lifedata",
        &published("glass_capacitors"),
        "--covariates",
        "volts",
    ]);
    assert_eq!(status(&output), 2);
    assert!(said(&output).contains("temperature"));
}

#[test]
fn likelihood_ratio_bounds_are_those_that_the_book_prints() {
    // Meeker and Escobar (1998), Example 7.1: likelihood-ratio 95 % interval [498, 662].
    let file = published("binned_inter_arrival_times");
    let (_, answer) = json(&[
        &file,
        "--distribution",
        "exponential",
        "--bounds",
        "likelihood-ratio",
    ]);
    let bound = |side: &str| answer["scale"][side].as_f64().expect("a bound").round();
    assert_eq!((bound("lower"), bound("upper")), (498.0, 662.0));
    assert_eq!(answer["parameters"].as_array().expect("a list").len(), 1);
}

/// Twenty thousand edges of one run each, on two machines whose lives differ by a factor of two.
pub fn large(folder: &std::path::Path, broken: bool) {
    let (mut edges, mut runs) = (
        "edge_id,machine,kind,sharp_run,dull_run\n".to_string(),
        "edge_id,run,hours,dirt\n".to_string(),
    );
    for id in 1..=20_000_u32 {
        let machine = if id <= 10_000 { "otter" } else { "wren" };
        // Quantiles of a Weibull law of shape 2.
        let share = (f64::from(id % 10_000) + 0.5) / 10_000.0;
        let life = (-share.ln()).sqrt() * if id <= 10_000 { 20.0 } else { 10.0 };
        edges.push_str(&format!("{id},{machine},exact,0,1\n"));
        runs.push_str(&format!("{id},1,{life:.4},{}\n", id % 2));
    }
    if broken {
        runs = runs.replacen("\n7,1,", "\n7,1,much", 1);
    }
    let priors = "log_eta = { mean = 2.7, sd = 0.6 }\nlog_kappa = { mean = 0.7, sd = 0.3 }\n\
                  beta = [ { name = \"dirt\", mean = 0.7, sd = 0.4 } ]\nsigma_b = { half_normal = 0.3 }\n\
                  log_lambda = { mean = -4.6, sd = 1.0 }\n";
    for (name, text) in [
        ("edges.csv", edges.as_str()),
        ("runs.csv", &runs),
        ("priors.toml", priors),
    ] {
        std::fs::write(folder.join(name), text).expect("a writable folder");
    }
}

fn fitted(folder: &std::path::Path, more: &[&str]) -> std::process::Output {
    let mut command = support::program();
    let asked = "lifedata edges.csv --segments runs.csv --group machine --priors priors.toml";
    command
        .current_dir(folder)
        .args(asked.split(' '))
        .args(more);
    command.output().expect("the program runs")
}

#[test]
fn a_large_table_is_fitted_without_draws_and_says_so() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    large(folder.path(), false);
    let output = fitted(folder.path(), &["--by-group", "machines.csv"]);
    assert_eq!(status(&output), 0);
    let words = support::answer(&output).replace('\n', " ");
    assert!(
        words.contains("Method: integrated. The computation holds up: two standard"),
        "{words}"
    );
    let table = std::fs::read_to_string(folder.path().join("machines.csv")).expect("the machines");
    let lines: Vec<Vec<&str>> = table
        .lines()
        .map(|line| line.split(',').collect())
        .collect();
    assert_eq!(lines[0][..3], ["machine", "edges", "effect"]);
    let median = |line: usize| lines[line][5].parse::<f64>().expect("hours");
    assert_eq!(
        (lines[1][0], lines[1][1], lines[2][0]),
        ("otter", "10000", "wren")
    );
    // Twice the life; a median of ln(2)^(1/2) times the 63.2 % life. Dirt does nothing to it.
    assert!(
        (median(1) - 20.0 * 0.832_55).abs() < 0.3 && (median(2) - 10.0 * 0.832_55).abs() < 0.15,
        "{table}"
    );
    let answer = support::json(&fitted(folder.path(), &["--json"]));
    assert_eq!(
        (&answer["method"], &answer["edges"]["used"]),
        (&Value::from("integrated"), &Value::from(20_000))
    );
}

#[test]
fn a_fault_in_a_large_table_is_named_by_line_and_column() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    large(folder.path(), true);
    let output = fitted(folder.path(), &[]);
    assert_eq!(status(&output), 4);
    let told = said(&output);
    assert!(
        told.contains("runs.csv: line 8, column \"hours\": found \"much"),
        "{told}"
    );
}

#[test]
fn machines_of_a_small_table_are_told_one_by_one_too() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    large(folder.path(), false);
    for name in ["edges.csv", "runs.csv"] {
        let text = std::fs::read_to_string(folder.path().join(name)).expect("a table");
        let few: Vec<&str> = text.lines().take(201).collect();
        std::fs::write(folder.path().join(name), few.join("\n")).expect("a writable folder");
    }
    let output = fitted(
        folder.path(),
        &["--by-group", "machines.csv", "--posterior", "laplace"],
    );
    assert!(support::answer(&output).contains("Method: laplace"));
    let table = std::fs::read_to_string(folder.path().join("machines.csv")).expect("the machines");
    assert_eq!(table.lines().count(), 2, "{table}");
    assert!(
        table
            .lines()
            .nth(1)
            .is_some_and(|line| line.starts_with("otter,200,")),
        "{table}"
    );
}
