//! Group effects against a marginal likelihood computed elsewhere, on published data: 76 times of 38
//! patients, two each (tests/reference/shared_frailty/README.md).
//!
//! Groups share nothing but the parameters, so that the integral over all effects is a product of one
//! integral a group. Each is done here by the trapezoid rule over our density as that group's effect moves
//! and the others stand at zero.

use crate::reference::{json, number, numbers, path};
use keenspan::lives::Observation;
use keenspan::quantities::MeterHours;
use keenspan::wear::{
    Anchor, DensitySettings, EdgeRecord, EdgeRecords, Family, Grouping, HalfNormal, LogPosterior,
    Prior, Priors, Stretch, WearDensity,
};

fn density() -> (WearDensity, usize) {
    let answer = json("tests/reference/shared_frailty/log_likelihood.json");
    let theta = numbers(&answer["theta"]);
    let mut records = EdgeRecords {
        feature_names: vec!["female".to_string()],
        ..EdgeRecords::default()
    };
    let (mut seen, mut groups) = (Vec::new(), 0);
    let file = path("tests/reference/shared_frailty/lives.csv");
    for row in csv::Reader::from_path(file).expect("lives").records() {
        let row = row.expect("a row");
        let cell = |i: usize| row[i].parse::<f64>().expect("a number");
        let hours = MeterHours::new(cell(0)).expect("a time");
        seen.push(if cell(1) == 1.0 {
            Observation::Exact(hours)
        } else {
            Observation::RightCensored(hours)
        });
        let group = cell(2) as usize;
        groups = groups.max(group);
        records.edges.push(EdgeRecord {
            features: vec![cell(3)],
            stretches: vec![Stretch {
                start: 0.0,
                stop: cell(0),
                parts: vec![(1.0, Vec::new())],
            }],
            groups: vec![Some(group - 1)],
            weight: 1.0,
            ..EdgeRecord::default()
        });
    }
    records.groupings = vec![Grouping {
        name: "patient".to_string(),
        levels: (1..=groups).map(|group| group.to_string()).collect(),
    }];
    let mut priors = Priors::flat(&records).of_bare_lives();
    for (place, value) in [(0, theta[0]), (1, theta[1]), (3, theta[2])] {
        priors.shared[place] = Prior::Held(value);
    }
    priors.spreads = vec![HalfNormal::new(1.0).expect("a scale")];
    let settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Intercept);
    let density = WearDensity::new(&records, &seen, settings, priors).expect("a density");
    (density.with_spreads(vec![theta[3].exp()]), groups)
}

#[test]
fn the_marginal_likelihood_is_theirs_to_1e_9() {
    let answer = json("tests/reference/shared_frailty/log_likelihood.json");
    let (density, groups) = density();
    assert_eq!(density.dimension(), groups);
    let at = |effects: &[f64]| density.evaluate(effects).value;
    let none = at(&vec![0.0; groups]);
    // The effects' spread is 0.65: seven to each side, in steps far finer than any bend.
    let step = 0.05;
    let mut total = none;
    for group in 0..groups {
        let mut effects = vec![0.0; groups];
        let moved = (-100..=100).map(|i| {
            effects[group] = step * f64::from(i);
            (at(&effects) - none).exp()
        });
        total += (step * moved.sum::<f64>()).ln();
    }
    let wanted = number(&answer["log_likelihood"]);
    assert!((total - wanted).abs() < 1e-9, "{total} for {wanted}");
}
