//! Edges whose conditions change from run to run, fitted elsewhere to twelve digits.
//!
//! Source: tests/reference/changing_exposure/ (definition and provenance in its README; a Newton
//! iteration in high precision, confirmed by surpyval's fit with time-varying covariates on the edges
//! whose dulling was seen at once).

use crate::reference::{json, number, numbers, path};
use approx::assert_relative_eq;
use keenspan::lives::{Observation, run_lives};
use keenspan::logbook::read_edge_runs;
use keenspan::quantities::MeterHours;
use keenspan::wear::{
    Anchor, DensitySettings, EdgeRecord, EdgeRecords, Family, Laplace, LogPosterior, Priors,
    Stretch, WearDensity,
};
use std::collections::BTreeMap;

fn runs() -> BTreeMap<String, Vec<(f64, Vec<f64>)>> {
    let mut reader =
        csv::Reader::from_path(path("tests/reference/changing_exposure/runs.csv")).expect("runs");
    let mut runs: BTreeMap<String, Vec<(f64, Vec<f64>)>> = BTreeMap::new();
    for row in reader.records().map(|row| row.expect("row")) {
        let number = |i: usize| row[i].parse::<f64>().expect("number");
        runs.entry(row[0].to_string())
            .or_default()
            .push((number(2), vec![number(3), number(4), number(5)]));
    }
    runs
}

/// One edge's stretches, and the hours of life at the end of each run (from zero).
fn stretches(runs: &[(f64, Vec<f64>)]) -> (Vec<Stretch>, Vec<MeterHours>) {
    let mut ends = vec![0.0];
    let mut stretches = Vec::new();
    for (hours, row) in runs {
        let start = ends[ends.len() - 1];
        ends.push(start + hours);
        stretches.push(Stretch {
            start,
            stop: start + hours,
            parts: vec![(1.0, row.clone())],
        });
    }
    (
        stretches,
        ends.into_iter()
            .map(|hours| MeterHours::new(hours).expect("hours"))
            .collect(),
    )
}

/// The edges, what was seen of them, and the number of each one's machine.
pub fn edges(attended_only: bool) -> (EdgeRecords, Vec<Observation>, Vec<usize>) {
    let runs = runs();
    let mut records = EdgeRecords {
        rate_names: ["hard", "dirt", "frozen"].map(String::from).to_vec(),
        ..EdgeRecords::default()
    };
    let (mut seen, mut machines) = (Vec::new(), Vec::new());
    let mut reader =
        csv::Reader::from_path(path("tests/reference/changing_exposure/edges.csv")).expect("edges");
    for row in reader.records().map(|row| row.expect("row")) {
        if attended_only && &row[2] != "attended" {
            continue;
        }
        let (stretches, ends) = stretches(&runs[&row[0]]);
        let end = |column: usize| ends[row[column].parse::<usize>().expect("run number")];
        seen.push(match &row[3] {
            "exact" => Observation::Exact(end(7)),
            "right" => Observation::RightCensored(end(6)),
            "left" => Observation::LeftCensored(end(7)),
            "interval" => Observation::IntervalCensored {
                after: end(6),
                by: end(7),
            },
            other => panic!("unknown kind {other}"),
        });
        machines.push(row[1].parse().expect("a machine"));
        records.edges.push(EdgeRecord {
            stretches,
            weight: 1.0,
            ..EdgeRecord::default()
        });
    }
    (records, seen, machines)
}

fn density(attended_only: bool) -> (WearDensity, usize) {
    let (records, seen, _) = edges(attended_only);
    (whole_density(&records, &seen), seen.len())
}

fn whole_density(records: &EdgeRecords, seen: &[Observation]) -> WearDensity {
    let settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Intercept);
    let priors = Priors::flat(records).of_bare_lives();
    WearDensity::new(records, seen, settings, priors).expect("a density")
}

#[test]
fn the_flat_prior_answer_agrees_to_1e_9() {
    let reference = json("tests/reference/changing_exposure/maximum_likelihood.json");
    for (key, attended_only) in [("attended_only", true), ("all_edges", false)] {
        let answer = &reference[key];
        let (density, edges) = density(attended_only);
        assert_eq!(edges as u64, answer["n_edges"].as_u64().expect("a count"));
        agrees(&density, answer);
    }
}

/// The same through the library's own reader, which merges runs of equal covariates.
#[test]
fn the_tables_read_by_the_library_give_that_answer_too() {
    let file = |name: &str| path(&format!("tests/reference/changing_exposure/{name}.csv"));
    let table =
        read_edge_runs(file("edges").as_ref(), file("runs").as_ref(), None).expect("tables");
    let (records, seen) = EdgeRecords::from_run_lives(&run_lives(&table));
    let reference = json("tests/reference/changing_exposure/maximum_likelihood.json");
    agrees(&whole_density(&records, &seen), &reference["all_edges"]);
}

fn agrees(density: &WearDensity, answer: &serde_json::Value) {
    let fit = Laplace::fit(density, &[2.5, 0.3, 0.3, 0.3, -0.5]).expect("a maximum");
    // Theirs: log eta, log kappa, three betas. Ours: location, three betas, log sigma = -log kappa.
    let theta = numbers(&answer["theta"]);
    let errors = numbers(&answer["se"]);
    let ours = [0, 4, 1, 2, 3];
    for (i, &place) in ours.iter().enumerate() {
        let sign = if place == 4 { -1.0 } else { 1.0 };
        assert_relative_eq!(sign * fit.mode()[place], theta[i], max_relative = 1e-9);
        assert_relative_eq!(fit.spread(place), errors[i], max_relative = 1e-9);
    }
    assert_relative_eq!(
        fit.log_density(),
        number(&answer["loglik"]),
        max_relative = 1e-11
    );
    assert!(density.evaluate(fit.mode()).gradient.amax() < 1e-9);
}
