//! The whole hierarchical model against a posterior drawn elsewhere: three machines, 120 edges, 484 runs.
//!
//! Source: tests/reference/changing_exposure/posterior.json, two million weighted draws whose answers agree
//! with two other samplers; its README says how they were made.

use crate::reference::{json, number, path};
use crate::replacement::costs;
use keenspan::decisions::{Evidence, Question, recommend};
use keenspan::lives::run_lives;
use keenspan::logbook::read_edge_runs;
use keenspan::quantities::Level;
use keenspan::wear::{
    Draw, DrawUnderConditions, EdgeRecords, Family, LifeDistribution, LifeLaw, Method,
    SampleSettings, StrikesMet, WholeFit, WholePriors, seeded,
};
use rand_distr::{Distribution, StandardNormal};
use serde_json::Value;

/// The priors that the reference was made with.
const PRIORS: &str = include_str!("../reference/changing_exposure/priors.toml");

fn fit(method: Method, seed: u64) -> WholeFit {
    let file = |name: &str| path(&format!("tests/reference/changing_exposure/{name}.csv"));
    let table = read_edge_runs(
        file("edges").as_ref(),
        file("runs").as_ref(),
        Some("machine"),
    );
    let lives = run_lives(&table.expect("tables"));
    let (records, seen) = EdgeRecords::from_run_lives(&lives);
    let met = StrikesMet {
        strikes: lives.strikes,
        hours: lives.hours,
    };
    let priors = WholePriors::parse(PRIORS)
        .and_then(|priors| priors.in_order_of(&records.rate_names))
        .expect("priors");
    let settings = SampleSettings {
        method,
        seed,
        ..SampleSettings::default()
    };
    WholeFit::new(&records, &seen, met, &priors, settings, &|_| {}).expect("a fit")
}

fn reference() -> Value {
    json("tests/reference/changing_exposure/posterior.json")["importance_sampling"].clone()
}

const KEYS: [&str; 4] = ["mean", "q5", "q50", "q95"];

/// Mean and three quantiles within four Monte-Carlo errors, theirs and ours together.
fn agrees(name: &str, found: [f64; 4], errors: [f64; 4], theirs: &Value) {
    for ((found, error), key) in found.into_iter().zip(errors).zip(KEYS) {
        let wanted = number(&theirs[key]);
        let room = 4.0 * error.hypot(number(&theirs[format!("mcse_{key}")]));
        assert!(
            (found - wanted).abs() <= room,
            "{name} {key}: {found} for {wanted}, room {room}"
        );
    }
}

fn every_parameter_agrees(fit: &WholeFit) {
    let reference = reference();
    let rows = fit.rows();
    assert_eq!(rows.len(), 10);
    for (name, summary) in rows {
        // Theirs are called b[1], b[2], b[3].
        let key = match name.strip_prefix("b_") {
            Some(level) => format!("b[{level}]"),
            None => name.clone(),
        };
        let [low, middle, high] = summary.quantiles;
        let found = [summary.mean, low, middle, high];
        agrees(&name, found, summary.errors, &reference["posterior"][&key]);
    }
}

#[test]
fn weighted_draws_agree_with_the_reference() {
    let fit = fit(Method::Laplace, 1);
    assert!(fit.health().is_trustworthy(), "{:?}", fit.health());
    every_parameter_agrees(&fit);
}

#[test]
fn chains_agree_with_the_reference() {
    let fit = fit(Method::Nuts, 1);
    assert_eq!(fit.health().doubts, []);
    every_parameter_agrees(&fit);
    // In coordinates that do not follow the spread, of which three machines tell little, some quantity is worth fewer than
    // 1,700 of the 4,000 draws, and where paths are lost on the way fewer than 800.
    for (name, summary) in fit.rows() {
        assert!(summary.effective > 2200.0, "{name}: {}", summary.effective);
    }
}

/// Without weights the normal approximation puts the shape well above the reference; what is shown must not.
#[test]
fn the_shape_shown_is_not_that_of_the_mode() {
    let theirs = &reference()["posterior"]["log_kappa"];
    let (mean, spread) = (number(&theirs["mean"]), number(&theirs["sd"]));
    let fit = fit(Method::Auto, 2);
    let rows = fit.rows();
    let (_, shown) = rows
        .iter()
        .find(|(name, _)| name == "log_kappa")
        .expect("the shape");
    let mode = -fit.mode_of_shared()[5];
    assert!(
        mode > mean + 0.3 * spread,
        "{mode} against {mean}, {spread}"
    );
    assert!(
        (shown.mean - mean).abs() < 0.1 * spread,
        "{} for {mean}",
        shown.mean
    );
}

/// Wood of the reference's answers: covariates hard, dirt, frozen.
const PLAIN: [f64; 3] = [0.0, 0.0, 0.0];
const OTHER: [f64; 3] = [0.5, 1.0, 0.0];
/// The schedule of runs that an edge is to outlast.
const SCHEDULE: [(f64, [f64; 3]); 3] = [
    (3.0, [0.0, 0.0, 0.0]),
    (3.0, [0.8, 0.0, 1.0]),
    (2.0, [0.3, 1.0, 0.0]),
];
/// Places of the coefficients and of the log spread among the shared parameters.
const COEFFICIENTS: std::ops::Range<usize> = 1..4;
const LOG_SIGMA: usize = 5;

fn rate(draw: &Draw, wood: &[f64; 3]) -> f64 {
    let terms = draw.shared[COEFFICIENTS].iter().zip(wood);
    terms.map(|(beta, x)| beta * x).sum::<f64>().exp()
}

fn law(draw: &Draw, effect: f64, wood: &[f64; 3]) -> LifeLaw {
    let sigma = draw.shared[LOG_SIGMA].exp();
    LifeLaw {
        family: Family::Weibull,
        log_median: draw.shared[0] + effect + sigma * Family::Weibull.median()
            - rate(draw, wood).ln(),
        sigma,
    }
}

/// Hours by which a tenth is dull.
fn tenth(law: &LifeLaw) -> f64 {
    (law.location() + law.sigma * Family::Weibull.quantile(0.1)).exp()
}

fn still_sharp(draw: &Draw, effect: f64, exposure: f64) -> f64 {
    1.0 - law(draw, effect, &PLAIN).chance_dull_by(exposure)
}

#[test]
fn what_follows_from_the_draws_agrees_too() {
    let derived = &reference()["derived"];
    let fit = fit(Method::Laplace, 3);
    let scores: Vec<f64> = StandardNormal
        .sample_iter(seeded(9))
        .take(fit.sample().len())
        .collect();
    let draws: Vec<&Draw> = fit
        .sample()
        .weighted_draws()
        .map(|(draw, _)| draw)
        .collect();
    let compare = |name: String, value: &dyn Fn(usize, &Draw) -> f64| {
        let values: Vec<f64> = draws
            .iter()
            .enumerate()
            .map(|(i, draw)| value(i, draw))
            .collect();
        let summary = fit.sample().summary_of(&values);
        let [low, middle, high] = summary.quantiles;
        agrees(
            &name,
            [summary.mean, low, middle, high],
            summary.errors,
            &derived[&name],
        );
    };
    for (wood, word) in [(PLAIN, "x_ref"), (OTHER, "x_alt")] {
        for machine in 0..3 {
            let name = format!("B10_hours machine {} at {word}", machine + 1);
            compare(name, &|_, draw| {
                tenth(&law(draw, draw.effects[machine], &wood))
            });
        }
        let new = |i: usize, draw: &Draw| tenth(&law(draw, scores[i] * draw.spreads[0], &wood));
        compare(format!("B10_hours new machine at {word}"), &new);
    }
    let hours: f64 = SCHEDULE.iter().map(|(hours, _)| hours).sum();
    let exposure = |draw: &Draw| {
        SCHEDULE
            .iter()
            .map(|(h, wood)| h * rate(draw, wood))
            .sum::<f64>()
    };
    for machine in 0..3 {
        let sharp = |draw: &Draw, share: f64| {
            still_sharp(draw, draw.effects[machine], share * exposure(draw))
        };
        let number = machine + 1;
        compare(
            format!("P(sharp after schedule) machine {number}"),
            &|_, draw| sharp(draw, 1.0),
        );
        let unstruck = |i: usize| (-hours * fit.log_strike_rates()[i].exp()).exp();
        compare(
            format!("P(sharp and unstruck after schedule) machine {number}"),
            &|i, draw| sharp(draw, 1.0) * unstruck(i),
        );
        compare(
            format!("P(sharp after schedule | sharp at 0.4 of its exposure) machine {number}"),
            &|_, draw| sharp(draw, 1.0) / sharp(draw, 0.4),
        );
    }
}

/// Planned 1, dull 4, strike 6. The Monte-Carlo error of our answers is their spread over eight seeds.
#[test]
fn the_best_ages_to_replace_at_agree_too() {
    const SEEDS: u64 = 8;
    let wanted = &reference()["optimal_replacement"];
    let question = Question {
        rule: None,
        service_every: None,
        hours_per_year: None,
        level: Level::NINETY,
        evidence: Evidence {
            edges_finished: 0,
            edges_graded: 0,
            prior_variance: 1.0,
            posterior_variance: 1.0,
        },
    };
    let costs = costs(1.0, 3.0, 5.0, 0.0, Some(1.0));
    let fits: Vec<WholeFit> = (0..SEEDS).map(|seed| fit(Method::Laplace, seed)).collect();
    for machine in 0..3 {
        let answers: Vec<(f64, f64)> = fits
            .iter()
            .map(|fit| {
                let order = fit.sample().even_order(2000);
                let draws: Vec<&Draw> = fit
                    .sample()
                    .weighted_draws()
                    .map(|(draw, _)| draw)
                    .collect();
                let under = order.into_iter().map(|i| DrawUnderConditions {
                    law: law(draws[i], draws[i].effects[machine], &PLAIN),
                    strikes_per_hour: fit.log_strike_rates()[i].exp(),
                });
                let answer =
                    recommend(&under.collect::<Vec<_>>(), &costs, &question).expect("an age");
                (
                    answer.interval.point.get(),
                    answer.cost_per_hour.point.get(),
                )
            })
            .collect();
        let theirs = &wanted[format!("machine {} at x_ref", machine + 1)];
        let mean_and_error = |of: &dyn Fn(&(f64, f64)) -> f64| {
            let mean = answers.iter().map(of).sum::<f64>() / SEEDS as f64;
            let squares: f64 = answers
                .iter()
                .map(|answer| (of(answer) - mean).powi(2))
                .sum();
            (mean, (squares / (SEEDS * (SEEDS - 1)) as f64).sqrt())
        };
        for (of, key, error_key) in [
            (
                &(|a: &(f64, f64)| a.0) as &dyn Fn(&(f64, f64)) -> f64,
                "T_star_bayes",
                "mcse_T",
            ),
            (&|a: &(f64, f64)| a.1, "min_expected_cost_rate", "mcse_cost"),
        ] {
            let ((mean, error), expected) = (mean_and_error(of), number(&theirs[key]));
            // Four errors of a normal law are 5.6 of one whose spread is known from eight answers.
            let room = 5.6 * error.hypot(number(&theirs[error_key]));
            assert!(
                (mean - expected).abs() <= room,
                "{key}: {mean} for {expected}, room {room}"
            );
        }
    }
}
