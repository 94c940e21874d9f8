//! The year's budget, added up and by hand.

use crate::replacement::law;
use keenspan::decisions::{
    AgeReplacement, Evidence, KnifeLayout, Question, ShopCosts, YearAhead, YearBudget, recommend,
};
use keenspan::quantities::{Estimate, Level, MeterHours, Money};
use keenspan::wear::{DrawUnderConditions, Family};

const FOUR: KnifeLayout = KnifeLayout {
    knives: 4,
    edges_per_knife: 2,
};

fn hours(hours: f64) -> MeterHours {
    MeterHours::new(hours).unwrap()
}

fn draws() -> Vec<DrawUnderConditions> {
    (0..120)
        .map(|k| DrawUnderConditions {
            law: law(
                Family::Weibull,
                0.2 + 0.02 * f64::from(k % 15),
                3.6 + 0.05 * f64::from(k / 8),
            ),
            strikes_per_hour: 0.001 * f64::from(1 + k % 4),
        })
        .collect()
}

fn parts(year: &YearBudget) -> [Estimate<Money>; 7] {
    [
        year.labour,
        year.sharpening,
        year.knives,
        year.forced_stops,
        year.strikes,
        year.extra_fuel,
        year.waiting,
    ]
}

#[test]
fn the_parts_add_up_to_hours_times_cost_per_hour() {
    let costs = ShopCosts::common_practice().unwrap();
    let year = YearAhead::new(&draws(), &costs, FOUR, hours(420.0), Level::NINETY).unwrap();
    let cycle = costs.cycle(FOUR).unwrap();
    for interval in [Some(20.0), Some(50.0), Some(90.0), None] {
        let budget = year.budget(interval.map(hours)).unwrap();
        let sum: f64 = parts(&budget).iter().map(|part| part.point.get()).sum();
        let rate = |draw: &DrawUnderConditions| {
            let replacement =
                AgeReplacement::new(&draw.law, draw.strikes_per_hour, &cycle).unwrap();
            match interval {
                Some(interval) => replacement.cost_per_hour(hours(interval)).unwrap().get(),
                None => replacement.cost_until_called().unwrap().get(),
            }
        };
        let expected = 420.0 * draws().iter().map(rate).sum::<f64>() / 120.0;
        assert!(
            (sum / expected - 1.0).abs() < 1e-12,
            "{interval:?}: {sum} {expected}"
        );
        assert!((budget.total.point.get() / expected - 1.0).abs() < 1e-12);
        for part in parts(&budget) {
            assert!(part.lower <= part.point && part.point <= part.upper);
            assert!(part.lower < part.upper, "{part:?}");
        }
    }
}

#[test]
fn a_year_more_by_todays_rule_is_the_difference_of_the_two_budgets() {
    let costs = ShopCosts::common_practice().unwrap();
    let question = Question {
        rule: Some(hours(90.0)),
        service_every: None,
        hours_per_year: Some(hours(420.0)),
        level: Level::NINETY,
        evidence: Evidence {
            edges_finished: 30,
            edges_graded: 12,
            prior_variance: 0.16,
            posterior_variance: 0.04,
        },
    };
    let answer = recommend(&draws(), &costs.cycle(FOUR).unwrap(), &question).unwrap();
    let year = YearAhead::new(&draws(), &costs, FOUR, hours(420.0), Level::NINETY).unwrap();
    let by_rule = year.budget(Some(hours(90.0))).unwrap().total.point.get();
    let best = year
        .budget(Some(answer.interval.point))
        .unwrap()
        .total
        .point
        .get();
    let extra = answer.rule.unwrap().extra_per_year.unwrap().point.get();
    assert!(extra > 0.0);
    assert!(
        (by_rule - best - extra).abs() < 1e-8,
        "{by_rule} {best} {extra}"
    );
}

// By hand. Edges that all last (life 400 hours, next to no spread), changed every 50 in 500 hours: 10
// changes. 60 minutes at 100 an hour: 1000. A knife serves 18 edges and is ground 16 times: 40/18
// knives at 60, 640/18 grinds at 8. On the mean an hour is run at 25/400 of what a dull edge costs:
// fuel 1 x 6 x 0.2, waiting 150 x 0.08 x 0.17. Nobody calls and nothing strikes.
#[test]
fn a_plain_year_is_what_it_is_by_hand() {
    let given = [
        ("change_minutes", 60.0),
        ("mechanic_per_hour", 100.0),
        ("grind_per_knife", 8.0),
        ("new_knife", 60.0),
        ("regrinds_per_knife", 8.0),
        ("crew_per_hour", 150.0),
        ("waiting_share", 0.08),
        ("fuel_per_litre", 1.0),
        ("fuel_litres_per_hour", 6.0),
        ("fuel_rise_at_dull", 0.2),
        ("output_loss_at_dull", 0.17),
    ];
    let start = ShopCosts::common_practice().unwrap();
    let with = |costs: ShopCosts, (name, value): &(&str, f64)| costs.with(name, *value);
    let costs = given.iter().try_fold(start, with).unwrap();
    let lasting = DrawUnderConditions {
        law: law(Family::Lognormal, 0.001, 400f64.ln()),
        strikes_per_hour: 0.0,
    };
    let year = YearAhead::new(&[lasting], &costs, FOUR, hours(500.0), Level::NINETY).unwrap();
    let budget = year.budget(Some(hours(50.0))).unwrap();
    let expected = [
        1000.0,
        640.0 / 18.0 * 8.0,
        40.0 / 18.0 * 60.0,
        0.0,
        0.0,
        500.0 * 25.0 / 400.0 * 1.2,
        500.0 * 25.0 / 400.0 * 2.04,
    ];
    for (part, expected) in parts(&budget).iter().zip(expected) {
        // E[1/T] of that law is 400^-1 exp(0.001^2 / 2).
        assert!(
            (part.point.get() - expected).abs() < 1e-5 * expected + 1e-9,
            "{part:?} {expected}"
        );
    }
    assert!((budget.changes.point - 10.0).abs() < 1e-9);
    assert!((budget.edges_ground.point - 640.0 / 18.0).abs() < 1e-8);
    assert!((budget.knives_bought.point - 40.0 / 18.0).abs() < 1e-9);
}
