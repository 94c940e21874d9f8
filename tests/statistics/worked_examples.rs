//! Worked examples from books, handbooks and manuals, to the digits that they print.
//!
//! Source: tests/reference/worked_examples.json; each example there names its own. Figures marked
//! `rounds_to: false` are misprints, truncations or another method's, each with its reason.

use crate::reference::{distribution, json, numbers};
use keenspan::quantities::Level;
use keenspan::wear::{Bounds, Family, LifeDistribution, LifeTable, LifeTableFit, Lifetime};
use serde_json::Value;

fn table(example: &Value) -> LifeTable {
    let mut table = LifeTable::default();
    for row in example["data"].as_array().expect("rows") {
        table.lives.push(Lifetime {
            lower: row[0].as_f64().expect("lower"),
            upper: row[1].as_f64().unwrap_or(f64::INFINITY),
            weight: row[2].as_f64().expect("weight"),
            entry: 0.0,
        });
        table.covariates.push(Vec::new());
    }
    table
}

/// The figure that an example calls `quantity`.
fn figure(fit: &LifeTableFit, quantity: &str) -> f64 {
    let level = Level::NINETY_FIVE;
    let bound = |bounds, upper: bool| {
        let scale = fit.scale(level, bounds);
        if upper { scale.upper } else { scale.lower }.expect("a bound")
    };
    let location = fit.estimates()[0];
    let log_sigma = fit.estimates().get(1).copied().unwrap_or(0.0);
    let (sigma, shape) = (log_sigma.exp(), (-log_sigma).exp());
    let covariance = fit.covariance();
    match quantity {
        "location" => location,
        "sigma" => sigma,
        "shape" => shape,
        "characteristic_life" => location.exp(),
        "shape_se" => shape * fit.standard_error(1),
        "characteristic_life_se" => location.exp() * fit.standard_error(0),
        // S = exp(-exp(log_rate) t^shape), so log_rate = -shape x location; its error by the delta method.
        "log_rate" => -shape * location,
        "log_rate_se" => {
            let variance = covariance[(0, 0)] - 2.0 * location * covariance[(0, 1)]
                + location * location * covariance[(1, 1)];
            shape * variance.sqrt()
        }
        "likelihood_ratio_lower_95" => bound(Bounds::LikelihoodRatio, false),
        "likelihood_ratio_upper_95" => bound(Bounds::LikelihoodRatio, true),
        "log_normal_lower_95" => bound(Bounds::Wald, false),
        "log_normal_upper_95" => bound(Bounds::Wald, true),
        "covariance_11" => covariance[(0, 0)],
        "covariance_12" => sigma * covariance[(0, 1)],
        "covariance_22" => sigma * sigma * covariance[(1, 1)],
        other => panic!("unknown quantity {other}"),
    }
}

/// `value` rounded to as many decimals as were printed.
fn rounds_to(value: f64, printed: &str) -> bool {
    let decimals = printed
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.len());
    let digits = format!("{value:.decimals$}");
    digits.trim_start_matches('-').trim_start_matches('0')
        == printed.trim_start_matches('-').trim_start_matches('0')
        && digits.starts_with('-') == printed.starts_with('-')
}

#[test]
fn every_published_life_table_fit_comes_out_to_the_printed_digits() {
    let reference = json("tests/reference/worked_examples.json");
    let mut printed = 0;
    let examples = reference["examples"].as_array().expect("examples");
    for example in examples
        .iter()
        .filter(|example| example["kind"] == "life table fit")
    {
        let fit = LifeTableFit::new(
            &table(example),
            distribution(&example["distribution"], &example["fixed_shape"]),
        )
        .unwrap_or_else(|error| panic!("{}: {error}", example["id"]));
        for published in example["published"].as_array().expect("figures") {
            let quantity = published["quantity"].as_str().expect("a name");
            let digits = published["printed"].as_str().expect("digits");
            let ours = figure(&fit, quantity);
            let agrees = rounds_to(ours, digits);
            assert_eq!(
                agrees,
                published["rounds_to"].as_bool().expect("a verdict"),
                "{} {quantity}: {ours} against {digits}",
                example["id"]
            );
            printed += usize::from(agrees);
        }
    }
    assert_eq!(printed, 24);
}

#[test]
fn a_published_weibull_quantile_comes_out() {
    // Public course notes: shape 3, characteristic life 11000, reliability 0.9 gives 5195.
    let reference = json("tests/reference/worked_examples.json");
    let example = reference["examples"]
        .as_array()
        .expect("examples")
        .iter()
        .find(|e| e["id"] == "weibull_quantile");
    let inputs = &example.expect("the example")["inputs"];
    let input = |key: &str| inputs[key].as_f64().expect("a number");
    let w = Family::Weibull.quantile(1.0 - input("survival"));
    let quantile = (input("characteristic_life").ln() + w / input("shape")).exp();
    assert!(rounds_to(quantile, "5195"), "{quantile}");
}

#[test]
fn taylors_tool_life_law_is_our_wear_rate_in_the_log_of_speed() {
    // V T^n = C says ln T = const - (1/n) ln V: a wear-rate coefficient of 1/n on the log of speed.
    // Solved exercise: 180 m/min lasts 4.25 min, 110 lasts 35 min, n = 0.233 (0.2335751 in full).
    let reference = json("tests/reference/worked_examples.json");
    let examples = reference["examples"].as_array().expect("examples");
    let inputs = |id: &str| {
        examples
            .iter()
            .find(|e| e["id"] == id)
            .expect("the example")["inputs"]
            .clone()
    };
    let two = inputs("taylor_two_speeds");
    let (speeds, lives) = (
        numbers(&two["speeds_m_per_min"]),
        numbers(&two["lives_min"]),
    );
    let mut table = LifeTable {
        covariate_names: vec!["log_speed".to_string()],
        ..LifeTable::default()
    };
    for (speed, life) in speeds.iter().zip(&lives) {
        // Two lives a few per cent either way at each speed, so that there is a spread to fit.
        for factor in [0.97, 1.0 / 0.97] {
            table.lives.push(Lifetime {
                lower: life * factor,
                upper: life * factor,
                weight: 1.0,
                entry: 0.0,
            });
            table.covariates.push(vec![speed.ln()]);
        }
    }
    let lognormal = keenspan::wear::Distribution {
        family: Family::Lognormal,
        fixed_sigma: None,
    };
    let fit = LifeTableFit::new(&table, lognormal).expect("a fit");
    let exponent = -1.0 / fit.estimates()[1];
    assert!((exponent - 0.233_575_1).abs() < 1e-7, "{exponent}");
}
