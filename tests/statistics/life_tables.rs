//! Eight life tables fitted elsewhere to twenty digits, and two without a maximum.
//!
//! Source: tests/reference/life_tables.json, whose provenance stands in the file (R survival 3.5-3,
//! lifelines 0.30, surpyval 0.25, scipy 1.17 and a 60-digit Newton iteration, at least two agreeing on
//! each).

use crate::reference::{distribution, json, life_table, number, numbers};
use approx::assert_relative_eq;
use keenspan::lives::Observation;
use keenspan::quantities::{Estimate, Level};
use keenspan::wear::{
    Anchor, Bounds, DensitySettings, Flat, Laplace, LifeTable, LifeTableError, LifeTableFit,
    NormalPrior, Prior, Priors, WearDensity,
};
use serde_json::Value;

/// The published names of the copied tables.
fn table(pair: &Value) -> LifeTable {
    life_table(pair["data"].as_str().expect("a path"))
}

fn fits() -> Vec<(String, Value, LifeTable, LifeTableFit)> {
    let reference = json("tests/reference/life_tables.json");
    let pairs = reference["pairs"].as_object().expect("pairs").clone();
    assert_eq!(pairs.len(), 8);
    pairs
        .into_iter()
        .map(|(id, pair)| {
            let table = table(&pair);
            let fit = LifeTableFit::new(&table, distribution(&pair["dist"], &pair["fixed_shape"]))
                .unwrap_or_else(|error| panic!("{id}: {error}"));
            (id, pair, table, fit)
        })
        .collect()
}

#[test]
fn estimates_agree_to_a_millionth_of_a_standard_error() {
    for (id, pair, _, fit) in fits() {
        let answer = &pair["answer"];
        let errors = numbers(&answer["se"]);
        for (i, truth) in numbers(&answer["theta_20_digits"]).into_iter().enumerate() {
            let off = (fit.estimates()[i] - truth).abs() / errors[i];
            assert!(
                off < 1e-6,
                "{id}: parameter {i} is off by {off:e} standard errors"
            );
            assert_relative_eq!(fit.standard_error(i), errors[i], max_relative = 1e-6);
        }
        let log_likelihood = number(&answer["loglik_20_digits"]);
        assert_relative_eq!(fit.log_likelihood(), log_likelihood, max_relative = 1e-9);
    }
}

fn same_bounds(id: &str, ours: Estimate<Option<f64>>, theirs: &Value) {
    let theirs = numbers(theirs);
    for (ours, theirs) in [(ours.lower, theirs[0]), (ours.upper, theirs[1])] {
        let ours = ours.unwrap_or_else(|| panic!("{id}: a bound is missing"));
        assert_relative_eq!(ours, theirs, max_relative = 1e-6);
    }
}

#[test]
fn quantiles_shape_and_scale_agree_with_both_kinds_of_bounds() {
    let level = Level::NINETY_FIVE;
    let mut compared = 0;
    for (id, pair, _, fit) in fits() {
        let answer = &pair["answer"];
        for (kind, key) in [
            (Bounds::Wald, "wald_log_ci95"),
            (Bounds::LikelihoodRatio, "lr_ci95"),
        ] {
            for (p, name) in [(0.1, "B10"), (0.5, "B50")] {
                let theirs = &answer["quantiles"][name];
                let ours = fit.quantile(p, &numbers(&theirs["x0"]), level, kind);
                assert_relative_eq!(
                    ours.point.expect("a point"),
                    number(&theirs["est"]),
                    max_relative = 1e-6
                );
                same_bounds(&id, ours, &theirs[key]);
                compared += 1;
            }
            for (ours, theirs) in [
                (fit.scale(level, kind), &answer["scale"]),
                (fit.shape(level, kind), &answer["shape"]),
            ] {
                if !theirs[key].is_null() {
                    same_bounds(&id, ours, &theirs[key]);
                    compared += 1;
                }
            }
        }
    }
    assert!(compared >= 55, "only {compared} pairs of bounds compared");
}

/// The mode and covariance of `table` under the priors that the reference states.
fn laplace(table: &LifeTable, pair: &Value) -> Laplace {
    let prior = |value: &Value| {
        let value = numbers(value);
        Prior::Normal(NormalPrior::new(value[0], value[1]).expect("a prior"))
    };
    let stated = &pair["map_laplace"]["prior"];
    let shape = numbers(&stated["log_shape"]);
    let (records, seen): (_, Vec<Observation>) = table.records().expect("records");
    let mut priors = Priors::flat(&records).of_bare_lives();
    priors.shared[0] = prior(&stated["log_scale"]);
    let betas = stated["beta"].as_array().expect("a list");
    for (slot, beta) in priors.shared[1..].iter_mut().zip(betas) {
        *slot = prior(beta);
    }
    // A normal prior on log shape is one on log sigma, mirrored.
    let log_sigma = priors.shared.len() - 2;
    priors.shared[log_sigma] =
        Prior::Normal(NormalPrior::new(-shape[0], shape[1]).expect("a prior"));
    let settings =
        DensitySettings::of_bare_lives(crate::reference::family(&pair["dist"]), Anchor::Intercept);
    let density = WearDensity::new(&records, &seen, settings, priors).expect("a density");
    let start = density.centre();
    Laplace::fit(&density, &start).expect("a mode")
}

#[test]
fn laplace_posteriors_under_stated_priors_agree_to_1e_8() {
    let reference = json("tests/reference/life_tables.json");
    let pairs = reference["pairs"].as_object().expect("pairs").iter();
    let degenerate = reference["degenerate"]
        .as_object()
        .expect("degenerate")
        .iter();
    let mut compared = 0;
    for (id, pair) in pairs
        .chain(degenerate)
        .filter(|(_, pair)| !pair["map_laplace"].is_null())
    {
        let posterior = laplace(&table(pair), pair);
        let answer = &pair["map_laplace"];
        for (i, mode) in numbers(&answer["mode"]).into_iter().enumerate() {
            assert!((posterior.mode()[i] - mode).abs() < 1e-8, "{id}: mode {i}");
            for (j, covariance) in numbers(&answer["laplace_cov"][i]).into_iter().enumerate() {
                assert!(
                    (posterior.covariance()[(i, j)] - covariance).abs() < 1e-8,
                    "{id}: covariance {i} {j}"
                );
            }
        }
        assert_relative_eq!(
            posterior.log_density(),
            number(&answer["log_posterior"]),
            max_relative = 1e-10
        );
        assert_relative_eq!(
            posterior.log_evidence(),
            number(&answer["laplace_log_evidence"]),
            max_relative = 1e-9
        );
        compared += 1;
    }
    assert_eq!(compared, 4, "two tables with a maximum, two without");
}

fn refusal(table: &LifeTable) -> Flat {
    let weibull = distribution(&Value::from("weibull"), &Value::Null);
    match LifeTableFit::new(table, weibull) {
        Err(LifeTableError::NoMaximum(flat)) => flat.flat,
        other => panic!("expected no maximum, found {other:?}"),
    }
}

#[test]
fn tables_without_a_maximum_name_the_direction() {
    let reference = json("tests/reference/life_tables.json");
    let degenerate = &reference["degenerate"];
    assert_eq!(
        refusal(&table(&degenerate["D01_no_failures"])),
        Flat::NothingDull
    );
    let separated = refusal(&table(&degenerate["D02_separation"]));
    assert_eq!(separated, Flat::Separated(vec![("x1".to_string(), true)]));
}

fn rows(rows: &[(f64, f64)]) -> LifeTable {
    let mut table = LifeTable::default();
    for &(lower, upper) in rows {
        table.lives.push(keenspan::wear::Lifetime {
            lower,
            upper,
            weight: 1.0,
            entry: 0.0,
        });
        table.covariates.push(Vec::new());
    }
    table
}

#[test]
fn intervals_that_all_share_one_life_let_the_spread_vanish() {
    assert_eq!(
        refusal(&rows(&[(1.0, 10.0), (5.0, 20.0), (8.0, f64::INFINITY)])),
        Flat::SpreadVanishes
    );
    assert_eq!(
        refusal(&rows(&[(7.0, 7.0), (7.0, 7.0), (3.0, f64::INFINITY)])),
        Flat::SpreadVanishes
    );
}

#[test]
fn early_failures_that_outlast_late_survivors_let_the_spread_grow() {
    let swapped = rows(&[
        (0.0, 2.0),
        (0.0, 3.0),
        (0.0, 2.5),
        (50.0, f64::INFINITY),
        (60.0, f64::INFINITY),
    ]);
    assert_eq!(refusal(&swapped), Flat::SpreadEndless);
}

#[test]
fn a_rise_towards_an_endless_spread_is_seen_in_every_family() {
    let mut table = rows(&[(0.0, 1.0), (2.0, f64::INFINITY), (0.0, 3.0)]);
    table.lives[0].weight = 10.0;
    for word in ["weibull", "lognormal", "loglogistic"] {
        let distribution = distribution(&Value::from(word), &Value::Null);
        let flat = LifeTableFit::new(&table, distribution).expect_err("no maximum");
        assert!(
            flat.to_string().contains("the spread) rises without end"),
            "{word}: {flat}"
        );
    }
}

/// Six hundred lives that ended at g = 0 and five hundred that had not at g = 1: more rows than the linear
/// programme looks at unasked.
#[test]
fn separation_is_found_in_large_tables_too() {
    let mut table = rows(
        &(0..600)
            .map(|i| (5.0 + f64::from(i) * 0.01, 5.0 + f64::from(i) * 0.01))
            .collect::<Vec<_>>(),
    );
    table.covariates = vec![vec![0.0]; 600];
    for i in 0..500 {
        table.lives.push(keenspan::wear::Lifetime {
            upper: f64::INFINITY,
            ..table.lives[i]
        });
        table.covariates.push(vec![1.0]);
    }
    table.covariate_names = vec!["g".to_string()];
    for word in ["weibull", "lognormal", "loglogistic"] {
        let fit = LifeTableFit::new(&table, distribution(&Value::from(word), &Value::Null));
        let error = fit.expect_err("no maximum").to_string();
        assert!(error.contains("coefficient of g rises"), "{word}: {error}");
    }
}

#[test]
fn a_covariate_in_awkward_units_is_fitted_all_the_same() {
    // The same lives against calendar year and against years from 2021 in thirds of a thousandth: the
    // coefficients must agree, and did not settle at all before covariates were standardised.
    let mut table = rows(
        &(0..60)
            .map(|i| (20.0 + f64::from(i % 7) + 0.3 * f64::from(i % 5),))
            .map(|(t,)| (t, t))
            .collect::<Vec<_>>(),
    );
    table.covariate_names = vec!["year".to_string()];
    table.covariates = (0..60).map(|i| vec![2018.0 + f64::from(i % 7)]).collect();
    let weibull = distribution(&Value::from("weibull"), &Value::Null);
    let by_year = LifeTableFit::new(&table, weibull).expect("a fit");
    table
        .covariates
        .iter_mut()
        .for_each(|row| row[0] = (row[0] - 2021.0) * 3e-4);
    let scaled = LifeTableFit::new(&table, weibull).expect("a fit");
    assert_relative_eq!(
        by_year.estimates()[1],
        scaled.estimates()[1] * 3e-4,
        max_relative = 1e-8
    );
    assert_relative_eq!(
        by_year.log_likelihood(),
        scaled.log_likelihood(),
        max_relative = 1e-12
    );
}

#[test]
fn a_row_that_says_nothing_changes_nothing() {
    let told = rows(&[(5.0, 5.0), (7.0, 7.0), (9.0, 9.0)]);
    let mut with = told.clone();
    with.lives.push(keenspan::wear::Lifetime {
        lower: 0.0,
        upper: f64::INFINITY,
        weight: 1.0,
        entry: 0.0,
    });
    with.covariates.push(Vec::new());
    let weibull = distribution(&Value::from("weibull"), &Value::Null);
    let (one, two) = (
        LifeTableFit::new(&told, weibull).expect("a fit"),
        LifeTableFit::new(&with, weibull).expect("a fit"),
    );
    assert_relative_eq!(one.estimates()[0], two.estimates()[0], max_relative = 1e-9);
    assert_eq!(refusal(&rows(&[])), Flat::NothingCounts);
}

#[test]
fn collinear_covariates_are_named() {
    let mut table = rows(&[
        (3.0, 3.0),
        (5.0, 5.0),
        (4.0, f64::INFINITY),
        (9.0, 9.0),
        (2.0, 6.0),
    ]);
    table.covariate_names = vec!["a".to_string(), "b".to_string()];
    table.covariates = [1.0, 2.0, 3.0, 5.0, 4.0]
        .iter()
        .map(|a| vec![*a, 10.0 - 2.0 * a])
        .collect();
    assert_eq!(
        refusal(&table),
        Flat::Collinear(vec!["a".to_string(), "b".to_string()])
    );
}

/// Thirty thousand rows: so many that a sample of them is climbed first.
#[test]
fn tables_that_are_sampled_first_are_refused_all_the_same() {
    let weibull = distribution(&Value::from("weibull"), &Value::Null);
    let ages = (0..30_000).map(|i| 5.0 + f64::from(i % 997) * 0.01);
    let mut table = rows(&ages.map(|age| (age, age)).collect::<Vec<_>>());
    for life in table.lives.iter_mut().skip(1).step_by(2) {
        life.upper = f64::INFINITY;
    }
    table.covariate_names = vec!["g".to_string()];
    table.covariates = (0..30_000).map(|i| vec![f64::from(i % 2)]).collect();
    let parted = Flat::Separated(vec![("g".to_string(), true)]);
    assert_eq!(refusal(&table), parted);
    // The same with a second covariate that is twice the first, then but for one row that no sample need hold.
    let mut doubled = table.clone();
    doubled.covariate_names.push("h".to_string());
    let a = |i: usize| (i * 7919 % 1000) as f64;
    doubled.covariates = (0..30_000).map(|i| vec![a(i), 2.0 * a(i)]).collect();
    let both = ["g", "h"].map(str::to_string).to_vec();
    assert_eq!(refusal(&doubled), Flat::Collinear(both));
    // That row alone tells the two apart: where it had not ended, they part it from the rest.
    let mut alone = doubled.clone();
    alone.covariates[12_345][1] += 500.0;
    assert!(matches!(refusal(&alone), Flat::Separated(_)));
    doubled.covariates[12_344][1] += 500.0;
    assert!(LifeTableFit::new(&doubled, weibull).is_ok());
}
