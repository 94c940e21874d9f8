//! The interval against the same question asked by brute force.

use crate::replacement::{costs, law};
use keenspan::decisions::{
    AgeReplacement, Cheapest, CycleCosts, DecisionError, Evidence, IntervalAnswer, Question,
    recommend,
};
use keenspan::quantities::{Level, MeterHours, WearFraction};
use keenspan::wear::{DrawUnderConditions, Family};

fn hours(hours: f64) -> MeterHours {
    MeterHours::new(hours).unwrap()
}

fn question() -> Question {
    Question {
        rule: Some(hours(70.0)),
        service_every: Some(hours(20.0)),
        hours_per_year: Some(hours(400.0)),
        level: Level::NINETY,
        evidence: Evidence {
            edges_finished: 30,
            edges_graded: 12,
            prior_variance: 0.16,
            posterior_variance: 0.04,
        },
    }
}

fn usual() -> CycleCosts {
    costs(100.0, 120.0, 300.0, 3.0, Some(1.3))
}

/// A spread of laws without any randomness: medians and spreads on a lattice.
fn draws() -> Vec<DrawUnderConditions> {
    (0..240)
        .map(|k| DrawUnderConditions {
            law: law(
                Family::Weibull,
                0.2 + 0.02 * f64::from(k % 15),
                3.6 + 0.05 * f64::from(k / 15),
            ),
            strikes_per_hour: 0.001 * f64::from(1 + k % 4),
        })
        .collect()
}

fn answer() -> IntervalAnswer {
    recommend(&draws(), &usual(), &question()).unwrap()
}

fn each() -> Vec<AgeReplacement> {
    draws()
        .iter()
        .map(|draw| AgeReplacement::new(&draw.law, draw.strikes_per_hour, &usual()).unwrap())
        .collect()
}

fn rates(at: f64) -> Vec<f64> {
    each()
        .iter()
        .map(|draw| draw.cost_per_hour(hours(at)).unwrap().get())
        .collect()
}

fn mean(numbers: &[f64]) -> f64 {
    numbers.iter().sum::<f64>() / numbers.len() as f64
}

#[test]
fn the_interval_is_where_mean_cost_is_least_on_a_fine_grid() {
    let found = answer();
    let best = found.interval.point.get();
    let least = (2000..12000)
        .step_by(5)
        .map(|k| f64::from(k) / 100.0)
        .min_by(|a, b| mean(&rates(*a)).total_cmp(&mean(&rates(*b))))
        .unwrap();
    // The grid's own step is 0.05 h.
    assert!((best - least).abs() <= 0.05, "{best} against {least}");
    assert!((found.cost_per_hour.point.get() / mean(&rates(best)) - 1.0).abs() < 1e-12);
}

#[test]
fn bounds_are_the_spread_of_each_draws_own_best() {
    let mut own: Vec<f64> = each()
        .iter()
        .map(|draw| match draw.cheapest().unwrap() {
            Cheapest::ChangeAt { interval, .. } => interval.get(),
            Cheapest::RunUntilCalled { .. } => panic!("none of these laws runs until called"),
        })
        .collect();
    own.sort_by(f64::total_cmp);
    let interval = answer().interval;
    // 240 draws: 5 % lies at place 11.95 from either end.
    let at = |low: f64, high: f64, part: f64| low + part * (high - low);
    assert!((interval.lower.get() - at(own[11], own[12], 0.95)).abs() < 1e-9);
    assert!((interval.upper.get() - at(own[227], own[228], 0.05)).abs() < 1e-9);
}

#[test]
fn the_flat_part_ends_where_mean_cost_is_two_per_cent_above_the_least() {
    let found = answer();
    let limit = 1.02 * found.cost_per_hour.point.get();
    for end in [found.flat.from, found.flat.to.unwrap()] {
        // One step of Newton's method from a good start: a thousandth of a thousandth.
        let off = mean(&rates(end.get())) / limit - 1.0;
        assert!(off.abs() < 1e-6, "{off:e}");
    }
    assert!(found.flat.from < found.interval.point);
}

#[test]
fn todays_rule_is_compared_draw_by_draw() {
    let found = answer();
    let rule = found.rule.unwrap();
    let best = rates(found.interval.point.get());
    let extra: Vec<f64> = rates(70.0).iter().zip(&best).map(|(a, b)| a - b).collect();
    let per_hundred = rule.extra_per_100_hours.point.get();
    assert!((per_hundred - 100.0 * mean(&extra)).abs() < 1e-9);
    assert!((rule.extra_per_year.unwrap().point.get() - 4.0 * per_hundred).abs() < 1e-9);
    let dearer = extra.iter().filter(|extra| **extra > 0.0).count();
    assert_eq!(rule.chance_dearer.get(), dearer as f64 / 240.0);
    assert!(per_hundred > 0.0);
}

#[test]
fn the_service_stop_is_the_cheapest_multiple() {
    let service = answer().service.unwrap();
    let cheapest = (1..20)
        .min_by(|a, b| {
            let cost = |stops: &i32| mean(&rates(20.0 * f64::from(*stops)));
            cost(a).total_cmp(&cost(b))
        })
        .unwrap();
    assert_eq!(service.interval.get(), 20.0 * f64::from(cheapest));
    assert_eq!(i64::from(service.every_stops), i64::from(cheapest));
    assert!(service.extra_per_100_hours.point.get() >= 0.0);
}

// Chance dull by t under a Weibull law: 1 - exp(-(t/eta)^k).
#[test]
fn chance_past_dull_is_the_mean_chance_over_the_draws() {
    let found = answer();
    let t = found.interval.point.get();
    let chances = (0..240).map(|k| {
        let sigma = 0.2 + 0.02 * f64::from(k % 15);
        let eta = (3.6 + 0.05 * f64::from(k / 15)).exp();
        1.0 - (-(t / eta).powf(1.0 / sigma)).exp()
    });
    let expected = mean(&chances.collect::<Vec<f64>>());
    assert!((found.past_dull.point.get() - expected).abs() < 1e-12);
}

#[test]
fn a_posterior_of_one_law_answers_with_that_laws_own_best() {
    let one = draws()[100];
    let found = recommend(&[one; 3], &usual(), &question())
        .unwrap()
        .interval;
    let own = AgeReplacement::new(&one.law, one.strikes_per_hour, &usual()).unwrap();
    let Cheapest::ChangeAt { interval, .. } = own.cheapest().unwrap() else {
        panic!("this law has a best age")
    };
    assert!((found.point.get() / interval.get() - 1.0).abs() < 1e-6);
    assert!((found.lower.get() / interval.get() - 1.0).abs() < 1e-6);
}

// One draw in fifty wears a hundred times as fast: far outside the spread of the others, and dear
// enough to pull the best interval down to itself.
#[test]
fn a_few_very_short_lives_may_carry_the_answer() {
    let short = |k: usize, mut draw: DrawUnderConditions| {
        if k.is_multiple_of(50) {
            draw.law.log_median -= 100f64.ln();
        }
        draw
    };
    let mixed: Vec<_> = draws()
        .into_iter()
        .enumerate()
        .map(|(k, draw)| short(k, draw))
        .collect();
    let cheap = costs(1.0, 5000.0, 0.0, 0.0, Some(1.3));
    let found = recommend(&mixed, &cheap, &question()).unwrap();
    let cost = |at: f64| {
        let rate = |draw: &DrawUnderConditions| {
            AgeReplacement::new(&draw.law, draw.strikes_per_hour, &cheap)
                .unwrap()
                .cost_per_hour(hours(at))
                .unwrap()
                .get()
        };
        mean(&mixed.iter().map(rate).collect::<Vec<_>>())
    };
    assert!(found.interval.point.get() < 5.0);
    let best = cost(found.interval.point.get());
    for step in -120..=20 {
        assert!(cost((4.0 + 0.05 * f64::from(step)).exp()) >= best * (1.0 - 1e-9));
    }
}

#[test]
fn where_nothing_is_gained_by_planning_it_says_so() {
    let idle = costs(100.0, 0.0, 0.0, 0.0, Some(1.3));
    assert!(matches!(
        recommend(&draws(), &idle, &question()),
        Err(DecisionError::RunUntilCalled { cost_per_hour }) if cost_per_hour > 0.0
    ));
}

#[test]
fn wrong_questions_are_refused_by_name() {
    assert!(matches!(
        recommend(&[], &usual(), &question()),
        Err(DecisionError::NoDraws)
    ));
    let free = costs(0.0, 100.0, 0.0, 1.0, Some(1.3));
    assert!(matches!(
        recommend(&draws(), &free, &question()),
        Err(DecisionError::CostOutOfRange { found, .. }) if found == 0.0
    ));
    let never = CycleCosts {
        call_at: Some(WearFraction::ZERO),
        ..usual()
    };
    assert!(recommend(&draws(), &never, &question()).is_err());
    let mut wild = draws();
    wild[7].law.sigma = f64::NAN;
    assert!(matches!(
        recommend(&wild, &usual(), &question()),
        Err(DecisionError::ParameterOutOfRange { .. })
    ));
}

#[test]
fn reservations_follow_the_evidence() {
    let said = |question: Question| {
        let answer = recommend(&draws(), &usual(), &question).unwrap();
        answer
            .caveats
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
    };
    assert!(said(question()).is_empty());
    let thin = Question {
        rule: None,
        evidence: Evidence {
            edges_finished: 5,
            edges_graded: 0,
            posterior_variance: 0.12,
            ..question().evidence
        },
        ..question()
    };
    assert_eq!(
        said(thin),
        [
            "75 % of this answer is the default, common practice, not yet your own log",
            "only 5 edges of this machine have finished",
            "5 edges of this machine have finished and none was graded; a grade at each change teaches far more",
            "today's rule is not in the log, so this cannot say what it costs",
        ]
    );
}
