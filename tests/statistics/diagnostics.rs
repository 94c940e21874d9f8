//! Diagnostics of sampled and weighted posteriors, against ArviZ, against exact sums, against chance.
//!
//! `tests/reference/diagnostics.json` is made by `models/reference/make_diagnostics_cases.py`.

use crate::reference::{json, number, numbers};
use approx::assert_relative_eq;
use keenspan::wear::diagnostics::{
    Chains, WeightedDraws, effective_draws, largest_trusted_shape, smooth, uniform_bands,
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Exp1, StandardNormal};
use serde_json::Value;

/// Rounding alone: both sides do the same sums in doubles, in another order.
const ROUNDING: f64 = 1e-10;

fn cases(kind: &str) -> Vec<Value> {
    let all = json("tests/reference/diagnostics.json");
    let cases = all[kind].as_array().expect("cases").clone();
    assert!(cases.len() >= 5);
    cases
}

fn pairs(list: &Value) -> Vec<(f64, f64)> {
    let pair = |pair: &Value| (number(&pair[0]), number(&pair[1]));
    list.as_array().expect("pairs").iter().map(pair).collect()
}

fn counts(list: &Value) -> Vec<usize> {
    numbers(list).iter().map(|&count| count as usize).collect()
}

#[test]
fn chains_as_arviz_reads_them() {
    for case in cases("chains") {
        let rows = case["chains"].as_array().expect("chains");
        let chains = Chains::new(&rows.iter().map(numbers).collect::<Vec<_>>());
        let name = case["name"].as_str();
        let answers = [
            ("r_hat", chains.r_hat()),
            ("bulk", chains.bulk_effective_draws()),
            ("tail", chains.tail_effective_draws()),
            ("mean_error", chains.mean_error()),
        ];
        for (key, answer) in answers {
            let expected = number(&case[key]);
            assert!(
                (answer / expected - 1.0).abs() < ROUNDING,
                "{name:?} {key}: {answer} {expected}"
            );
        }
        for (p, expected) in pairs(&case["quantile_errors"]) {
            let answer = chains.quantile_error(p);
            assert!(
                (answer / expected - 1.0).abs() < ROUNDING,
                "{name:?} {p}: {answer} {expected}"
            );
        }
    }
}

#[test]
fn weights_as_arviz_smooths_them() {
    for case in cases("pareto") {
        let smoothed = smooth(&numbers(&case["log_weights"]));
        assert_relative_eq!(
            smoothed.k_hat,
            number(&case["k_hat"]),
            max_relative = ROUNDING
        );
        for (answer, expected) in smoothed.log_weights.iter().zip(numbers(&case["smoothed"])) {
            let near = (answer / expected - 1.0).abs() < ROUNDING;
            assert!(near, "{}: {answer} {expected}", case["name"]);
        }
    }
}

#[test]
fn weighted_draws_as_arviz_and_numpy_read_them() {
    for case in cases("weighted") {
        let draws = WeightedDraws::new(&numbers(&case["values"]), &numbers(&case["weights"]));
        let near = |answer: f64, expected: f64| {
            assert_relative_eq!(answer, expected, max_relative = ROUNDING, epsilon = 1e-13);
        };
        near(draws.mean(), number(&case["mean"]));
        near(
            draws.standard_deviation(),
            number(&case["standard_deviation"]),
        );
        for (p, expected) in pairs(&case["quantiles"]) {
            near(draws.quantile(p), expected);
        }
    }
}

#[test]
fn bands_as_the_exact_sums_have_them() {
    for case in cases("bands") {
        let size = |key: &str| number(&case[key]) as usize;
        let bands = uniform_bands(size("sample_size"), size("points"), number(&case["level"]));
        assert_eq!(bands.lower, counts(&case["lower"]), "{case}");
        assert_eq!(bands.upper, counts(&case["upper"]), "{case}");
        assert_relative_eq!(
            bands.coverage,
            number(&case["coverage"]),
            max_relative = 1e-11
        );
        if let Some(simulated) = case["simulated"].as_array() {
            // ArviZ's come from 100,000 samples: a count may fall on the other side of a step.
            for (ours, theirs) in [(&bands.lower, &simulated[0]), (&bands.upper, &simulated[1])] {
                let theirs = counts(theirs);
                assert!(ours.iter().zip(&theirs).all(|(a, b)| a.abs_diff(*b) <= 1));
            }
        }
    }
}

#[test]
fn uniform_samples_stay_inside_as_often_as_the_bands_say() {
    const SAMPLES: usize = 20_000;
    let mut random = ChaCha8Rng::seed_from_u64(20_270_317);
    for (size, points, level) in [(40, 10, 0.9), (200, 50, 0.95), (64, 64, 0.5)] {
        let bands = uniform_bands(size, points, level);
        let mut inside = || bands.inside(&(0..size).map(|_| random.random()).collect::<Vec<f64>>());
        let share = (0..SAMPLES).filter(|_| inside()).count() as f64 / SAMPLES as f64;
        let error = (bands.coverage * (1.0 - bands.coverage) / SAMPLES as f64).sqrt();
        assert!(
            (share - bands.coverage).abs() < 4.0 * error,
            "{share} against {}",
            bands.coverage
        );
        assert!(bands.coverage >= level);
    }
}

#[test]
fn uniform_ranks_stay_inside_as_often_as_the_bands_say() {
    const SAMPLES: usize = 20_000;
    let mut random = ChaCha8Rng::seed_from_u64(20_270_318);
    let bands = uniform_bands(100, 20, 0.95);
    let mut rank = || f64::from(random.random_range(0..100) + 1) / 100.0;
    let mut inside = || bands.inside(&(0..100).map(|_| rank()).collect::<Vec<f64>>());
    let share = (0..SAMPLES).filter(|_| inside()).count() as f64 / SAMPLES as f64;
    let error = (bands.coverage * (1.0 - bands.coverage) / SAMPLES as f64).sqrt();
    assert!(
        (share - bands.coverage).abs() < 4.0 * error,
        "{share} against {}",
        bands.coverage
    );
}

/// Exponential proposals of rate 1 for a target of rate `1 - k`: the ratio is Pareto with shape `k`.
#[test]
fn the_shape_of_a_pareto_tail_is_found() {
    const DRAWS: usize = 100_000;
    let mut random = ChaCha8Rng::seed_from_u64(20_270_319);
    for k in [0.2, 0.5, 0.7, 0.9] {
        let mut exponential = || -> f64 { Exp1.sample(&mut random) };
        let log_weights: Vec<f64> = (0..DRAWS).map(|_| k * exponential()).collect();
        // Standard error of the most likely shape from 948 exceedances: (1 + k) / sqrt(948).
        let error = (1.0 + k) / 948f64.sqrt();
        let k_hat = smooth(&log_weights).k_hat;
        assert!((k_hat - k).abs() < 4.0 * error, "{k_hat} against {k}");
        assert_eq!(k < 0.69, k_hat < largest_trusted_shape(DRAWS) - 0.1);
    }
}

/// Many small importance samples of a normal target from a wider proposal: the spread of their answers is
/// what they say of themselves.
#[test]
fn errors_of_weighted_answers_are_as_stated() {
    const REPEATS: usize = 2000;
    const DRAWS: usize = 400;
    let mut random = ChaCha8Rng::seed_from_u64(20_270_320);
    let mut samples = || {
        let values: Vec<f64> = (0..DRAWS)
            .map(|_| {
                let z: f64 = StandardNormal.sample(&mut random);
                0.5 + 1.4 * z
            })
            .collect();
        let log_weight = |x: &f64| -0.5 * x * x + 0.5 * ((x - 0.5) / 1.4).powi(2);
        let logs: Vec<f64> = values.iter().map(log_weight).collect();
        let weights: Vec<f64> = logs.iter().map(|log| log.exp()).collect();
        let draws = WeightedDraws::new(&values, &weights);
        assert_relative_eq!(
            draws.effective_draws(),
            effective_draws(&logs),
            max_relative = 1e-12
        );
        draws
    };
    let samples: Vec<WeightedDraws> = (0..REPEATS).map(|_| samples()).collect();
    let ratio = |answer: &dyn Fn(&WeightedDraws) -> f64,
                 error: &dyn Fn(&WeightedDraws) -> f64,
                 truth: f64| {
        let squares: f64 = samples
            .iter()
            .map(|draws| (answer(draws) - truth).powi(2))
            .sum();
        let stated: f64 = samples.iter().map(|draws| error(draws).powi(2)).sum();
        (stated / squares).sqrt()
    };
    // The ratio's own standard error is 1 / sqrt(2 x 2000) = 0.016, a little more for quantiles.
    let mean = ratio(&|draws| draws.mean(), &|draws| draws.mean_error(), 0.0);
    assert!((mean - 1.0).abs() < 0.065, "{mean}");
    for (p, truth) in [
        (0.5, 0.0),
        (0.1, -1.281_551_565_544_600_4),
        (0.95, 1.644_853_626_951_472_2),
    ] {
        let quantile = ratio(
            &|draws| draws.quantile(p),
            &|draws| draws.quantile_error(p),
            truth,
        );
        assert!((quantile - 1.0).abs() < 0.1, "{p}: {quantile}");
    }
}
