use crate::lives::Observation;
use crate::numerics::newton::Curvature;
use crate::quantities::MeterHours;
use crate::wear::density::{DensitySettings, LogPosterior, Parameters, WearDensity};
use crate::wear::life_nodes::Precision;
use crate::wear::{
    Anchor, EdgeRecord, EdgeRecords, Family, Grouping, HalfNormal, Prior, Priors, Stretch,
};
use approx::assert_relative_eq;

fn hours(hours: f64) -> MeterHours {
    MeterHours::new(hours).expect("hours")
}

/// Seen in every way that is without error, of all ages, some of them late in life.
fn seen(number: usize) -> Observation {
    let at = 4.0 + (number * 37 % 113) as f64 * 0.5;
    match number % 4 {
        0 => Observation::Exact(hours(at)),
        1 => Observation::RightCensored(hours(at)),
        2 => Observation::LeftCensored(hours(at)),
        _ => Observation::IntervalCensored {
            after: hours(0.9 * at),
            by: hours(at),
        },
    }
}

fn record(number: usize) -> EdgeRecord {
    let covariates = |k: usize| vec![(number + k) as f64 % 3.0, (number * k) as f64 % 2.0];
    let stretch = |k: usize| Stretch {
        start: 12.0 * k as f64,
        stop: 12.0 * (k + 1) as f64,
        parts: vec![(0.7, covariates(k)), (0.3, covariates(k + 1))],
    };
    EdgeRecord {
        features: vec![number as f64 % 2.0],
        stretches: (0..6).map(stretch).collect(),
        entry: number.is_multiple_of(5).then_some(2.0),
        groups: vec![Some(number % 3)],
        weight: 1.0 + (number % 2) as f64,
        ..EdgeRecord::default()
    }
}

fn density(family: Family) -> WearDensity {
    of((0..240).map(record).collect(), family)
}

fn weibull() -> WearDensity {
    density(Family::Weibull)
}

fn of(edges: Vec<EdgeRecord>, family: Family) -> WearDensity {
    let records = EdgeRecords {
        feature_names: vec!["reground".to_string()],
        rate_names: vec!["dirt".to_string(), "frozen".to_string()],
        groupings: vec![Grouping {
            name: "machine".to_string(),
            levels: vec![String::new(); 3],
        }],
        edges,
    };
    let seen: Vec<Observation> = (0..240).map(seen).collect();
    let priors = Priors {
        shared: vec![Prior::Flat; 7],
        spreads: vec![HalfNormal::new(0.3).expect("a scale")],
    };
    let settings = DensitySettings::of_bare_lives(family, Anchor::Intercept);
    WearDensity::new(&records, &seen, settings, priors.of_bare_lives()).expect("a density")
}

/// From the middle to where lives are surely over, or surely not.
fn places(dimension: usize) -> impl Iterator<Item = Vec<f64>> {
    let place = move |step: usize| {
        let coordinate = |i: usize| match i {
            0 => 3.4 + 0.9 * (step as f64 - 3.0),
            i => 0.4 * ((step * 5 + i * 3) % 7) as f64 - 1.0,
        };
        (0..dimension).map(coordinate).collect()
    };
    (0..7).map(place)
}

#[test]
fn columns_say_what_term_by_term_is_said() {
    let density = weibull();
    for point in places(density.dimension()) {
        let at = density.parameters(&point);
        assert!(in_columns(&density, &at));
        let general = density.likelihood_at(&point, Precision::Full);
        let (value, slopes) = density.slope(&at);
        assert_relative_eq!(value, general.value, max_relative = 1e-12);
        for (slope, general) in slopes.iter().zip(&general.gradient) {
            assert_relative_eq!(slope, general, max_relative = 1e-10, epsilon = 1e-10);
        }
        by_edge(&density, &at, general.hessian.diagonal()[0]);
    }
}

fn in_columns(density: &WearDensity, at: &Parameters) -> bool {
    let all = density.at_shared(&at.shared);
    all.known(&at.effects).is_some()
}

/// Every edge alone is reckoned in the general way.
fn by_edge(density: &WearDensity, at: &Parameters, bend: f64) {
    let together = density.log_likelihood_by_edge(at);
    for (edge, together) in together.iter().enumerate() {
        let alone = density.log_likelihood_of(at, &[edge])[0];
        assert_relative_eq!(*together, alone, max_relative = 1e-11, epsilon = 1e-11);
    }
    let curves = density.at_shared(&at.shared).curves(&at.effects, 0.1);
    let bends: f64 = curves.iter().map(|curve| curve.second).sum();
    assert_relative_eq!(bends, bend, max_relative = 1e-10);
}

/// Far out, and under other laws, the general way answers.
#[test]
fn what_columns_do_not_hold_is_still_answered() {
    let laws = [Family::Lognormal, Family::Loglogistic];
    let others = laws.map(density).into_iter();
    let mut far: Vec<(WearDensity, Vec<f64>)> = others
        .map(|density| {
            let middle = vec![0.1; density.dimension()];
            (density, middle)
        })
        .collect();
    let mut touched_up: Vec<EdgeRecord> = (0..240).map(record).collect();
    // Found dull at the first look, some time before or after it was touched up.
    touched_up[6].touch_ups = vec![10.0];
    let touched_up = of(touched_up, Family::Weibull);
    far.push((touched_up, vec![0.1; weibull().dimension()]));
    let weibull = weibull();
    let mut narrow = vec![0.1; weibull.dimension()];
    narrow[0] = 3.4;
    narrow[4] = -7.0;
    far.push((weibull, narrow));
    for (density, point) in far {
        assert!(!in_columns(&density, &density.parameters(&point)));
        let general = density.likelihood_at(&point, Precision::Full);
        let (value, slopes) = density.slope(&density.parameters(&point));
        assert_relative_eq!(value, general.value, max_relative = 1e-6);
        assert_relative_eq!(slopes[0], general.gradient[0], max_relative = 1e-6);
    }
}
