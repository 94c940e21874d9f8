//! The cost of one cycle and its best age, against exact solutions and outside numbers.

use keenspan::decisions::{AgeReplacement, Cheapest, CycleCosts, DecisionError};
use keenspan::quantities::{MeterHours, Money, WearFraction};
use keenspan::wear::{Family, LifeDistribution, LifeLaw};
use serde_json::Value;

/// Costs in plain numbers: planned, forced extra, strike extra, running at dull, called at.
pub fn costs(k: f64, p: f64, s: f64, c_d: f64, call_at: Option<f64>) -> CycleCosts {
    let money = |amount| Money::new(amount).unwrap();
    CycleCosts {
        planned: money(k),
        forced_extra: money(p),
        strike_extra: money(s),
        running_at_dull: money(c_d),
        call_at: call_at.map(|w| WearFraction::new(w).unwrap()),
    }
}

/// A law with `ln T = location + sigma W`.
pub fn law(family: Family, sigma: f64, location: f64) -> LifeLaw {
    LifeLaw {
        family,
        log_median: location + sigma * family.quantile(0.5),
        sigma,
    }
}

fn best(replacement: &AgeReplacement) -> (Option<f64>, f64) {
    match replacement.cheapest().unwrap() {
        Cheapest::ChangeAt {
            interval,
            cost_per_hour,
        } => (Some(interval.get()), cost_per_hour.get()),
        Cheapest::RunUntilCalled { cost_per_hour } => (None, cost_per_hour.get()),
    }
}

fn relative(found: f64, expected: f64) -> f64 {
    (found / expected - 1.0).abs()
}

fn printed(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// One printed case of age replacement: `c_d = 0`, `w_call = 1`, life in units of the 63.2 % life.
fn printed_case(case: &Value) -> AgeReplacement {
    let number = |name: &str| case[name].as_f64().unwrap();
    let planned = number("c_planned");
    let strike = case["c_strike"].as_f64().unwrap_or(planned);
    let costs = costs(
        planned,
        number("c_failure") - planned,
        strike - planned,
        0.0,
        Some(1.0),
    );
    let law = law(Family::Weibull, 1.0 / number("par"), 0.0);
    AgeReplacement::new(&law, number("strike_rate"), &costs).unwrap()
}

// Source: tests/reference/age_replacement.json, computed to 20 digits outside this project from
// C(T) = (c_p S + c_f F) / integral of S (Barlow and Proschan 1965). 1e-8 relative on the age, which
// sits on a flat minimum; the cost rates agree to 1e-11.
#[test]
fn age_replacement_agrees_with_the_printed_ages_and_cost_rates() {
    let table: Value =
        serde_json::from_str(include_str!("../reference/age_replacement.json")).unwrap();
    let cases = table["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 25);
    for case in cases {
        let replacement = printed_case(case);
        let until_called = replacement.cost_until_called().unwrap().get();
        assert!(
            relative(until_called, printed(&case["run_to_failure_rate"])) < 1e-11,
            "{case}"
        );
        let (age, rate) = best(&replacement);
        if case["finite_optimum"].as_bool().unwrap() {
            let age = age.unwrap();
            assert!(relative(age, printed(&case["T_star"])) < 1e-8, "{case}");
            assert!(
                relative(rate, printed(&case["cost_rate"])) < 1e-11,
                "{case}"
            );
        } else {
            assert_eq!(age, None, "{case}");
        }
    }
}

// Weibull 2.5, 1000 h, planned 1, failure 5: 493.05 in print (an open-source reliability package's
// documentation; 493.0470 remembered from a second source). Weibull 3, 150 h, 2 and 8: inputs from a
// trade article. Both with further digits from 60-digit arithmetic outside this project.
#[test]
fn age_replacement_agrees_with_two_published_examples() {
    for (shape, characteristic, planned, failure, age, rate) in [
        (
            2.5,
            1000.0f64,
            1.0,
            5.0,
            493.046_957_596_634,
            0.003_462_042_738_789_27,
        ),
        (
            3.0,
            150.0,
            2.0,
            8.0,
            83.122_982_488_380_4,
            0.036_850_294_494_739_2,
        ),
    ] {
        let law = law(Family::Weibull, 1.0 / shape, characteristic.ln());
        let costs = costs(planned, failure - planned, 0.0, 0.0, Some(1.0));
        let (found_age, found_rate) = best(&AgeReplacement::new(&law, 0.0, &costs).unwrap());
        assert!(relative(found_age.unwrap(), age) < 1e-8);
        assert!(relative(found_rate, rate) < 1e-11);
    }
}

/// `E[1/T]` where it exists: Weibull `Gamma(1 - sigma) / eta`; lognormal `exp(-mu + sigma^2/2)`;
/// log-logistic `(pi sigma / sin(pi sigma)) / alpha`.
fn mean_reciprocal(family: Family, sigma: f64, location: f64) -> f64 {
    let turn = std::f64::consts::PI * sigma;
    let shape_part = match family {
        Family::Weibull => statrs::function::gamma::gamma(1.0 - sigma),
        Family::Lognormal => (0.5 * sigma * sigma).exp(),
        Family::Loglogistic => turn / turn.sin(),
    };
    shape_part * (-location).exp()
}

#[test]
fn with_no_forced_changes_the_best_age_is_the_square_root_rule() {
    for family in [Family::Weibull, Family::Lognormal, Family::Loglogistic] {
        for sigma in [0.02, 0.2, 1.0 / 3.0, 0.5, 0.9] {
            let replacement = AgeReplacement::new(
                &law(family, sigma, 4.1),
                0.0,
                &costs(110.0, 0.0, 0.0, 7.0, None),
            );
            let age = best(&replacement.unwrap()).0.unwrap();
            let rule = (2.0 * 110.0 / (7.0 * mean_reciprocal(family, sigma, 4.1))).sqrt();
            assert!(
                relative(age, rule) < 1e-8,
                "{family:?} {sigma}: {age} {rule}"
            );
        }
    }
}

#[test]
fn running_cost_without_a_mean_is_refused_where_nobody_calls() {
    let costs = costs(110.0, 0.0, 0.0, 7.0, None);
    for family in [Family::Weibull, Family::Loglogistic] {
        let refused = AgeReplacement::new(&law(family, 1.1, 4.0), 0.0, &costs);
        assert_eq!(refused.err(), Some(DecisionError::UnboundedRunningCost));
    }
}

// Source: tests/reference/cycle_costs.json, made by models/reference/cycle_costs.py: the definition,
// integrated over hours in 20 digits, where the library sums over lives by parts.
#[test]
fn cost_per_hour_is_the_definition_integrated_for_every_family_and_shape() {
    let table: Value = serde_json::from_str(include_str!("../reference/cycle_costs.json")).unwrap();
    let cases = table["cases"].as_array().unwrap();
    assert!(cases.len() >= 40);
    for case in cases {
        let number = |name: &str| case[name].as_f64().unwrap();
        let family = match case["family"].as_str().unwrap() {
            "weibull" => Family::Weibull,
            "lognormal" => Family::Lognormal,
            _ => Family::Loglogistic,
        };
        let costs = costs(
            number("planned"),
            number("forced_extra"),
            number("strike_extra"),
            number("running_at_dull"),
            Some(number("call_at")),
        );
        let law = law(family, number("sigma"), number("location"));
        let replacement = AgeReplacement::new(&law, number("strikes_per_hour"), &costs).unwrap();
        let interval = MeterHours::new(number("interval")).unwrap();
        let found = replacement.cost_per_hour(interval).unwrap().get();
        let error = relative(found, printed(&case["cost_per_hour"]));
        assert!(error < 1e-11, "{error:e} for {case}");
    }
}

/// With strikes, cost per hour is `(K + P (chance not struck and called)) / L + lambda S`, so that
/// dearer strikes lift cost by `lambda` times as much and move nothing.
#[test]
fn dearer_strikes_lift_cost_and_leave_the_best_age() {
    for family in [Family::Weibull, Family::Lognormal, Family::Loglogistic] {
        let law = law(family, 0.3, 4.0);
        let with = |strike| {
            AgeReplacement::new(&law, 0.01, &costs(90.0, 200.0, strike, 3.0, Some(1.3))).unwrap()
        };
        let (cheap, dear) = (best(&with(0.0)), best(&with(1000.0)));
        assert!(relative(dear.0.unwrap(), cheap.0.unwrap()) < 1e-8);
        assert!((dear.1 - cheap.1 - 0.01 * 1000.0).abs() < 1e-10 * dear.1);
    }
}

/// A log-logistic hazard falls at last, and with two turns of the cost curve the cheaper one counts:
/// no age on a fine grid is cheaper than the one found.
#[test]
fn no_age_on_a_fine_grid_is_cheaper() {
    for family in [Family::Weibull, Family::Lognormal, Family::Loglogistic] {
        for sigma in [0.02, 0.3, 0.7, 1.5, 4.0] {
            for running in [0.0, 0.5, 8.0] {
                let costs = costs(60.0, 300.0, 100.0, running, Some(1.3));
                let replacement =
                    AgeReplacement::new(&law(family, sigma, 4.0), 0.002, &costs).unwrap();
                let least = best(&replacement).1;
                for step in -400..=400 {
                    let age = (4.0 + 0.02 * f64::from(step)).exp();
                    let rate = replacement.cost_per_hour(MeterHours::new(age).unwrap());
                    let rate = rate.unwrap().get();
                    assert!(
                        rate >= least * (1.0 - 2e-9),
                        "{family:?} {sigma} {running} {age}"
                    );
                }
            }
        }
    }
}
