//! Value, gradient and Hessian of every kind of observation against the same likelihood written a
//! second time in high precision (models/reference/likelihood.py, differentiated there by truncated
//! Taylor arithmetic), on random edges from the everyday to the absurd: ages from 1e-6 to 1e6 hours,
//! shapes from 0.2 to 50, intervals down to a billionth of their age, errors of the eye from 0.02 to 1,
//! touch-ups before, between, at and after what was seen.

use crate::reference::{family, json, number, numbers};
use keenspan::lives::{Look, Noticed, Observation, Sight};
use keenspan::quantities::{Grade, MeterHours, WearFraction};
use keenspan::wear::{
    Anchor, DensitySettings, EdgeRecord, EdgeRecords, Priors, Quadratic, Stretch, WearDensity,
};
use serde_json::Value;

fn hours(value: &Value) -> MeterHours {
    MeterHours::new(number(value)).expect("hours")
}

fn sight(look: &Value) -> Sight {
    match look["sight"].as_str().expect("a sight") {
        "keen" => Sight::Graded(Grade::Keen),
        "working" => Sight::Graded(Grade::Working),
        "dull" => Sight::Graded(Grade::Dull),
        "overrun" => Sight::Graded(Grade::Overrun),
        "not_called" => Sight::NotCalled,
        "measured" => Sight::Measured(WearFraction::new(number(&look["ratio"])).expect("a ratio")),
        other => panic!("unknown sight {other}"),
    }
}

fn observation(case: &Value) -> Observation {
    let times = &case["times"];
    match case["kind"].as_str().expect("a kind") {
        "exact" => Observation::Exact(hours(&times["at"])),
        "right" => Observation::RightCensored(hours(&times["at"])),
        "left" => Observation::LeftCensored(hours(&times["at"])),
        "interval" => Observation::IntervalCensored {
            after: hours(&times["after"]),
            by: hours(&times["by"]),
        },
        "graded" => Observation::Graded {
            looks: case["looks"]
                .as_array()
                .expect("looks")
                .iter()
                .map(|look| Look {
                    at: hours(&look["at"]),
                    sight: sight(look),
                })
                .collect(),
            noticed: (!case["noticed"].is_null()).then(|| Noticed {
                at: hours(&case["noticed"]["at"]),
                late: case["noticed"]["late"].as_bool().expect("late or not"),
            }),
        },
        other => panic!("unknown kind {other}"),
    }
}

fn record(case: &Value) -> EdgeRecord {
    let part = |part: &Value| (number(&part["share"]), numbers(&part["x"]));
    let stretch = |segment: &Value| Stretch {
        start: number(&segment["start"]),
        stop: number(&segment["stop"]),
        parts: segment["parts"]
            .as_array()
            .expect("parts")
            .iter()
            .map(part)
            .collect(),
    };
    EdgeRecord {
        features: numbers(&case["z"]),
        stretches: case["segments"]
            .as_array()
            .expect("segments")
            .iter()
            .map(stretch)
            .collect(),
        touch_ups: numbers(&case["touch_ups"]),
        entry: case["entry"].as_f64(),
        weight: 1.0,
        ..EdgeRecord::default()
    }
}

fn ours(case: &Value) -> Quadratic {
    let count = |key: &str| case[key].as_u64().expect("a count") as usize;
    let records = EdgeRecords {
        feature_names: (0..count("n_gamma")).map(|i| format!("z{i}")).collect(),
        rate_names: (0..count("n_beta")).map(|i| format!("x{i}")).collect(),
        edges: vec![record(case)],
        ..EdgeRecords::default()
    };
    let settings = DensitySettings {
        family: family(&case["family"]),
        anchor: if case["anchor"] == "median" {
            Anchor::Median
        } else {
            Anchor::Intercept
        },
        called_at: number(&case["called_at"]),
        flat_error: number(&case["flat_error"]),
        flat_exponent: number(&case["flat_exponent"]),
    };
    let priors = Priors::flat(&records);
    let density =
        WearDensity::new(&records, &[observation(case)], settings, priors).expect("a density");
    density.log_likelihood(&numbers(&case["theta"]))
}

/// Largest difference of two lists against the largest entry of the second.
fn off(ours: impl Iterator<Item = f64>, theirs: &[f64]) -> f64 {
    let largest = theirs.iter().fold(1e-6_f64, |most, x| most.max(x.abs()));
    // Not a number must not pass for zero.
    ours.zip(theirs)
        .map(|(a, b)| (a - b).abs() / largest)
        .fold(0.0, |most, x| if x > most || x.is_nan() { x } else { most })
}

#[test]
fn value_gradient_and_hessian_agree_to_1e_8_on_every_kind_of_observation() {
    let reference = json("tests/reference/likelihood.json");
    let cases = reference["cases"].as_array().expect("cases");
    assert!(cases.len() > 700);
    let mut failures = Vec::new();
    for case in cases {
        let at = ours(case);
        let value = number(&case["value"]);
        let hessian: Vec<f64> = case["hessian"]
            .as_array()
            .expect("rows")
            .iter()
            .flat_map(numbers)
            .collect();
        let worst = [
            // The log-likelihood of a near certainty is zero to within 1e-14.
            (at.value - value).abs() / value.abs().max(1e-6),
            off(at.gradient.iter().copied(), &numbers(&case["gradient"])),
            off(at.hessian.iter().copied(), &hessian),
        ];
        if !worst.iter().all(|error| *error < 1e-8) {
            failures.push(format!(
                "{} {}: {:.1e} {:.1e} {:.1e}",
                case["id"], case["regime"], worst[0], worst[1], worst[2]
            ));
        }
    }
    assert!(
        failures.is_empty(),
        "{} of {}:\n{}",
        failures.len(),
        cases.len(),
        failures.join("\n")
    );
}
