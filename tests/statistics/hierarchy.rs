//! The whole hierarchical model against a posterior drawn elsewhere.

use crate::changing_exposure::edges;
use crate::reference::{json, number};
use keenspan::wear::{
    Anchor, DensitySettings, Draw, Family, Grouping, HalfNormal, Method, NormalPrior, Prior,
    Priors, Sample, SampleSettings, WearDensity,
};
use serde_json::Value;

fn normal(mean: f64, spread: f64) -> Prior {
    Prior::Normal(NormalPrior::new(mean, spread).expect("a prior"))
}

/// Three machines, 120 edges, with the priors that the reference was made with.
fn density() -> WearDensity {
    let (mut records, seen, machines) = edges(false);
    records.groupings = vec![Grouping {
        name: "machine".to_string(),
        levels: (1..=3).map(|machine| machine.to_string()).collect(),
    }];
    for (record, machine) in records.edges.iter_mut().zip(&machines) {
        record.groups = vec![Some(machine - 1)];
    }
    let shared = vec![
        normal(15_f64.ln(), 0.6),
        normal(0.3, 0.2),
        normal(0.7, 0.4),
        normal(0.2, 0.3),
        Prior::Flat,
        normal(-(2_f64.ln()), 0.3),
        Prior::Flat,
    ];
    let priors = Priors {
        shared,
        spreads: vec![HalfNormal::new(0.3).expect("a scale")],
    };
    let settings = DensitySettings::of_bare_lives(Family::Weibull, Anchor::Intercept);
    WearDensity::new(&records, &seen, settings, priors.of_bare_lives()).expect("a density")
}

type Quantity = (&'static str, fn(&Draw) -> f64);

const QUANTITIES: [Quantity; 9] = [
    ("log_eta", |draw| draw.shared[0]),
    ("beta_hard", |draw| draw.shared[1]),
    ("beta_dirt", |draw| draw.shared[2]),
    ("beta_frozen", |draw| draw.shared[3]),
    ("log_kappa", |draw| -draw.shared[5]),
    ("b[1]", |draw| draw.effects[0]),
    ("b[2]", |draw| draw.effects[1]),
    ("b[3]", |draw| draw.effects[2]),
    ("sigma_b", |draw| draw.spreads[0]),
];

fn agrees(sample: &Sample, reference: &Value) {
    for (name, quantity) in QUANTITIES {
        let summary = sample.summary(quantity);
        let theirs = &reference[name];
        let found = [
            summary.mean,
            summary.quantiles[0],
            summary.quantiles[1],
            summary.quantiles[2],
        ];
        for (i, key) in ["mean", "q5", "q50", "q95"].into_iter().enumerate() {
            let (wanted, error) = (number(&theirs[key]), number(&theirs[format!("mcse_{key}")]));
            let room = 4.0 * summary.errors[i].hypot(error);
            println!(
                "{name} {key}: {:.4} {wanted:.4} off {:.2} errors",
                found[i],
                (found[i] - wanted) / room * 4.0
            );
            assert!(
                (found[i] - wanted).abs() <= room,
                "{name} {key}: {} for {wanted}",
                found[i]
            );
        }
    }
}

#[test]
fn weighted_draws_and_chains_agree_with_the_reference() {
    let reference = json("tests/reference/changing_exposure/posterior.json");
    for method in [Method::Laplace, Method::Nuts] {
        let settings = SampleSettings {
            method,
            ..SampleSettings::default()
        };
        let start = std::time::Instant::now();
        let (_, sample) = Sample::of(&density(), settings, &|_| {}).expect("a sample");
        println!("{:?} {:?}", start.elapsed(), sample.health());
        agrees(&sample, &reference["importance_sampling"]["posterior"]);
    }
}
