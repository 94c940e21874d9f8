//! Virtual age against a published data set: six repairable systems, by Kijima's first kind.
//!
//! Source: tests/reference/virtual_age/ (Mettas and Zhao 2005; maximum by scipy and mpmath from the
//! definition, in agreement with surpyval 0.25). Each gap between failures is an edge with a past: as
//! many hours as the system had run, touched up at that very hour, in view from there on. One touch-up
//! of Kijima's second kind, which takes back a share of all wear so far, then leaves the virtual age
//! that the first kind gathers gap by gap; the share taken back is one less the share kept.

use crate::reference::{json, number, numbers, path};
use approx::assert_relative_eq;
use keenspan::lives::Observation;
use keenspan::quantities::MeterHours;
use keenspan::wear::{
    Anchor, DensitySettings, EdgeRecord, EdgeRecords, Family, Laplace, Priors, Stretch, WearDensity,
};
use serde_json::Value;

/// The grader's error is held: nobody looked.
const EYE: f64 = 0.2;

fn answer() -> Value {
    json("tests/reference/virtual_age/maximum_likelihood.json")
}

/// The edge that went from `began`, when its system was last repaired, to `ended`.
fn gap(began: f64, ended: f64) -> EdgeRecord {
    let repaired = began > 0.0;
    EdgeRecord {
        stretches: vec![Stretch {
            start: 0.0,
            stop: ended,
            parts: vec![(1.0, Vec::new())],
        }],
        touch_ups: if repaired { vec![began] } else { Vec::new() },
        entry: repaired.then_some(began),
        weight: 1.0,
        ..EdgeRecord::default()
    }
}

fn density() -> WearDensity {
    let (mut records, mut seen) = (EdgeRecords::default(), Vec::new());
    let mut reader =
        csv::Reader::from_path(path("tests/reference/virtual_age/systems.csv")).expect("systems");
    let (mut system, mut began) = (String::new(), 0.0);
    for row in reader.records().map(|row| row.expect("row")) {
        if row[0] != *system {
            (system, began) = (row[0].to_string(), 0.0);
        }
        let ended: f64 = row[1].parse().expect("hours");
        let at = MeterHours::new(ended).expect("hours");
        seen.push(match &row[2] {
            "0" => Observation::Exact(at),
            "1" => Observation::RightCensored(at),
            other => panic!("neither failed nor censored: {other}"),
        });
        records.edges.push(gap(began, ended));
        began = ended;
    }
    assert_eq!(seen.len(), 33);
    let settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Intercept);
    let priors = Priors::flat(&records).hold_eye(EYE);
    WearDensity::new(&records, &seen, settings, priors).expect("a density")
}

#[test]
fn the_likelihood_at_the_published_maximum_is_theirs_and_flat() {
    let answer = answer();
    let mut theta = numbers(&answer["theta"]);
    theta.push(EYE.ln());
    let at = density().log_likelihood(&theta);
    let theirs = number(&answer["surpyval_0_25"]["log_likelihood"]);
    assert_relative_eq!(at.value, theirs, epsilon = 1e-8);
    assert_relative_eq!(at.value, number(&answer["log_likelihood"]), epsilon = 1e-10);
    for (slope, error) in at.gradient.iter().zip(numbers(&answer["standard_errors"])) {
        // A step of this share of a standard error would lead to the top.
        assert!(slope.abs() * error < 1e-9, "{slope}");
    }
}

#[test]
fn the_fit_finds_their_maximum() {
    let answer = answer();
    let fitted = Laplace::fit(&density(), &[7.0, 1.5, -0.2]).expect("a fit");
    let (theta, errors) = (
        numbers(&answer["theta"]),
        numbers(&answer["standard_errors"]),
    );
    assert_eq!(fitted.mode().len(), 3);
    for (i, error) in errors.iter().enumerate() {
        assert_relative_eq!(fitted.mode()[i], theta[i], epsilon = 1e-5 * error);
        assert_relative_eq!(fitted.spread(i), *error, max_relative = 1e-4);
    }
    let theirs = &answer["surpyval_0_25"];
    let (location, touch_up, log_sigma) = (fitted.mode()[0], fitted.mode()[1], fitted.mode()[2]);
    // As many digits as their own search found: the likelihood hardly knows the share kept.
    assert_relative_eq!(
        location.exp(),
        number(&theirs["scale"]),
        max_relative = 2e-6
    );
    assert_relative_eq!(
        (-log_sigma).exp(),
        number(&theirs["shape"]),
        max_relative = 2e-6
    );
    let kept = 1.0 / (1.0 + touch_up.exp());
    assert_relative_eq!(kept, number(&theirs["kept"]), max_relative = 1e-5);
    assert_relative_eq!(
        fitted.log_density(),
        number(&theirs["log_likelihood"]),
        epsilon = 1e-8
    );
}
