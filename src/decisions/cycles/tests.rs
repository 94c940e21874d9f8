//! The tables against the exact sums of [`AgeReplacement`].

use super::*;
use crate::quantities::{Money, WearFraction};
use crate::wear::LifeLaw;
use approx::assert_relative_eq;

/// What is promised, relative.
const CLOSE: f64 = 2e-7;

fn costs(running_at_dull: f64, call_at: f64) -> CycleCosts {
    let money = |amount| Money::new(amount).unwrap();
    CycleCosts {
        planned: money(90.0),
        forced_extra: money(160.0),
        strike_extra: money(210.0),
        running_at_dull: money(running_at_dull),
        call_at: Some(WearFraction::new(call_at).unwrap()),
    }
}

/// Spreads from none to the widest, lives from an hour to 10 000, with and without strikes; and one of another
/// family, which goes by the exact sums.
fn draws() -> Vec<DrawUnderConditions> {
    let sigmas = [1e-3, 0.02, 0.1, 0.2, 0.33, 0.5, 0.74, 0.9];
    let rest = [
        (1.0_f64, 0.01),
        (40.0, 0.0),
        (60.0, 0.004),
        (75.0, 0.05),
        (1e4, 1e-4),
    ];
    let laws = sigmas
        .iter()
        .flat_map(|sigma| rest.map(|(median, strikes)| (*sigma, median, strikes)));
    let draw = |family, (sigma, median, strikes): (f64, f64, f64)| DrawUnderConditions {
        law: LifeLaw {
            family,
            log_median: median.ln(),
            sigma,
        },
        strikes_per_hour: strikes,
    };
    let mut draws: Vec<DrawUnderConditions> = laws.map(|law| draw(Family::Weibull, law)).collect();
    draws.insert(3, draw(Family::Lognormal, (0.4, 50.0, 0.002)));
    draws
}

fn both(costs: &CycleCosts) -> (Cycles, Vec<AgeReplacement>) {
    let draws = draws();
    let exact = draws.iter().map(|draw| exactly(draw, costs).unwrap());
    (Cycles::new(&draws, costs).unwrap(), exact.collect())
}

#[test]
fn cycles_at_any_hours_are_those_of_the_exact_sums() {
    for costs in [costs(3.0, 1.3), costs(0.0, 1.0), costs(40.0, 2.0)] {
        let (tables, exact) = both(&costs);
        for step in 0..120 {
            let hours = (f64::from(step) * 0.1 - 3.0).exp();
            let cycles = tables.at(hours);
            let (rates, slopes) = (tables.rates(&cycles), tables.slopes(&cycles));
            for (k, exact) in exact.iter().enumerate() {
                let cycle = exact.cycle(hours);
                let rate = exact.rate_of(&cycle);
                let slope = hours * costs.check().unwrap().rate_slope_of(&cycle);
                assert_relative_eq!(rates[k], rate, max_relative = CLOSE);
                assert_relative_eq!(cycles[k].length, cycle.length, max_relative = CLOSE);
                assert_relative_eq!(cycles[k].worn, cycle.worn, max_relative = CLOSE);
                assert!((cycles[k].called - cycle.called).abs() < CLOSE);
                assert!((hours * slopes[k] - slope).abs() < CLOSE * (rate + slope.abs()));
            }
        }
    }
}

/// Most crews' draws, at the hours that crews plan with, and further.
#[test]
fn ordinary_work_is_told_closer_still() {
    let draws: Vec<DrawUnderConditions> = (0..96)
        .map(|place| DrawUnderConditions {
            law: LifeLaw {
                family: Family::Weibull,
                log_median: 50.0_f64.ln() + 0.4 * f64::from(place).sin(),
                sigma: 0.2 + 0.3 * f64::from(place) / 96.0,
            },
            strikes_per_hour: 0.004 * f64::from(place % 5) / 4.0,
        })
        .collect();
    let costs = costs(3.0, 1.3);
    let tables = Cycles::new(&draws, &costs).unwrap();
    let (mut worst, mut worst_rate) = (0.0_f64, 0.0_f64);
    for step in 0..60 {
        let hours = (1.0 + 0.07 * f64::from(step)).exp();
        let cycles = tables.at(hours);
        let rates = tables.rates(&cycles);
        for (k, draw) in draws.iter().enumerate() {
            let exact = exactly(draw, &costs).unwrap();
            let cycle = exact.cycle(hours);
            worst = worst
                .max((cycles[k].length / cycle.length - 1.0).abs())
                .max((cycles[k].worn / cycle.worn - 1.0).abs());
            worst_rate = worst_rate.max((rates[k] / exact.rate_of(&cycle) - 1.0).abs());
        }
    }
    assert!(
        worst < 3e-10 && worst_rate < 2e-11,
        "{worst:e} {worst_rate:e}"
    );
}

#[test]
fn running_until_called_and_the_best_age_are_those_of_the_exact_sums() {
    for costs in [
        costs(3.0, 1.3),
        costs(0.0, 1.0),
        costs(40.0, 2.0),
        costs(0.3, 1.1),
    ] {
        let (tables, exact) = both(&costs);
        let until_called = tables.rates_until_called();
        let cycles = tables.until_called();
        let least = tables.least().unwrap();
        for (k, exact) in exact.iter().enumerate() {
            assert_relative_eq!(
                until_called[k],
                exact.rate_until_called(),
                max_relative = CLOSE
            );
            assert_relative_eq!(cycles[k].worn, exact.beyond().worn, max_relative = CLOSE);
            let expected = exact.least();
            assert_relative_eq!(least[k].rate, expected.rate, max_relative = CLOSE);
            assert_eq!(least[k].age.is_some(), expected.age.is_some());
            if let (Some(age), Some(expected)) = (least[k].age, expected.age) {
                assert_relative_eq!(age, expected, max_relative = CLOSE);
            }
        }
    }
}

#[test]
fn draws_beyond_a_tile_keep_their_places() {
    let one = draws()[12];
    let mut many = vec![one; 3 * DRAWS + 5];
    many[2 * DRAWS + 1].law.log_median += 0.3;
    let rates = Cycles::new(&many, &costs(3.0, 1.3)).unwrap();
    let rates = rates.rates(&rates.at(30.0));
    assert_eq!(rates.len(), many.len());
    let other = |k: &usize| rates[*k] != rates[0];
    assert_eq!(
        (0..rates.len()).filter(other).collect::<Vec<_>>(),
        [2 * DRAWS + 1]
    );
    let none = Cycles::new(&[], &costs(3.0, 1.3)).unwrap();
    assert!(none.at(30.0).is_empty() && none.least().unwrap().is_empty());
}

#[test]
fn changes_at_no_hours_at_all_cost_without_end() {
    let (tables, _) = both(&costs(3.0, 1.3));
    assert!(
        tables
            .rates(&tables.at(0.0))
            .iter()
            .all(|rate| *rate == f64::INFINITY)
    );
}
