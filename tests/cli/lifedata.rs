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
