//! Two ways side by side.

use crate::replacement::{costs, law};
use keenspan::decisions::{AgeReplacement, Tried, TriedQuestion, Way, compare_ways};
use keenspan::quantities::{Level, MeterHours};
use keenspan::wear::{DrawUnderConditions, Family};

fn hours(hours: f64) -> MeterHours {
    MeterHours::new(hours).unwrap()
}

fn draws(faster: f64) -> Vec<DrawUnderConditions> {
    (0..120)
        .map(|k| DrawUnderConditions {
            law: law(
                Family::Weibull,
                0.2 + 0.02 * f64::from(k % 15),
                3.6 + 0.05 * f64::from(k / 8) - faster.ln(),
            ),
            strikes_per_hour: 0.001 * faster * f64::from(1 + k % 4),
        })
        .collect()
}

fn question() -> TriedQuestion {
    TriedQuestion {
        rule: Some(hours(70.0)),
        interval: Some(hours(40.0)),
        level: Level::NINETY,
    }
}

/// Costs times `dearer` in wood that wears `faster`, against things as they are.
fn tried(dearer: f64, faster: f64) -> Tried {
    let usual = costs(100.0, 120.0, 300.0, 3.0, Some(1.3));
    let other = costs(
        100.0 * dearer,
        120.0 * dearer,
        300.0 * dearer,
        3.0 * dearer,
        Some(1.3),
    );
    let (now, then) = (draws(1.0), draws(faster));
    let way = |draws, costs| Way { draws, costs };
    compare_ways(&way(&now, &usual), &way(&then, &other), &question()).unwrap()
}

#[test]
fn the_same_beside_itself_differs_by_nothing_in_any_draw() {
    let same = tried(1.0, 1.0);
    for more in [
        Some(same.more_at_best),
        same.more_at_rule,
        same.more_at_interval,
    ] {
        let more = more.unwrap();
        assert_eq!(
            [more.lower, more.point, more.upper].map(|m| m.get()),
            [0.0; 3]
        );
    }
    assert_eq!(same.chance_dearer_at_best.get(), 0.0);
    assert_eq!(same.as_it_is, same.as_tried);
}

// Everything twice as dear: the same interval at twice the cost, so that the paired difference and its
// bounds are the cost as it is and its bounds.
#[test]
fn twice_the_price_costs_once_more_draw_by_draw() {
    let double = tried(2.0, 1.0);
    let (now, then) = (double.as_it_is.best.unwrap(), double.as_tried.best.unwrap());
    assert!((then.point.get() / now.point.get() - 1.0).abs() < 1e-5);
    let same = |left: f64, right: f64| (left / right - 1.0).abs() < 1e-9;
    for (more, now) in [
        (double.more_at_best, double.as_it_is.at_best),
        (
            double.more_at_rule.unwrap(),
            double.as_it_is.at_rule.unwrap(),
        ),
        (
            double.more_at_interval.unwrap(),
            double.as_it_is.at_interval.unwrap(),
        ),
    ] {
        assert!(same(more.point.get(), now.point.get()));
        assert!(same(more.lower.get(), now.lower.get()));
        assert!(same(more.upper.get(), now.upper.get()));
    }
    assert_eq!(double.chance_dearer_at_best.get(), 1.0);
}

// Wood that wears twice as fast halves the best interval and, with c_d the only cost in hours that does
// not, is priced here by asking each draw.
#[test]
fn other_wood_is_priced_draw_by_draw() {
    let found = tried(1.0, 2.0);
    let usual = costs(100.0, 120.0, 300.0, 3.0, Some(1.3));
    let rates = |faster: f64, at: f64| -> Vec<f64> {
        let rate = |draw: &DrawUnderConditions| {
            let replacement =
                AgeReplacement::new(&draw.law, draw.strikes_per_hour, &usual).unwrap();
            100.0 * replacement.cost_per_hour(hours(at)).unwrap().get()
        };
        draws(faster).iter().map(rate).collect()
    };
    let more: Vec<f64> = rates(2.0, 40.0)
        .iter()
        .zip(rates(1.0, 70.0))
        .map(|(then, now)| then - now)
        .collect();
    let mean = more.iter().sum::<f64>() / 120.0;
    let dearer = more.iter().filter(|more| **more > 0.0).count() as f64 / 120.0;
    let than_rule = found.more_than_rule.unwrap();
    assert!((than_rule.point.get() - mean).abs() < 1e-8);
    assert_eq!(found.chance_dearer_than_rule.unwrap().get(), dearer);
    assert!(found.as_tried.best.unwrap().point < found.as_it_is.best.unwrap().point);
}

#[test]
fn where_no_interval_pays_that_way_is_priced_when_called() {
    let usual = costs(100.0, 120.0, 300.0, 3.0, Some(1.3));
    let idle = costs(100.0, 0.0, 0.0, 0.0, Some(1.3));
    let draws = draws(1.0);
    let now = Way {
        draws: &draws,
        costs: &usual,
    };
    let then = Way {
        draws: &draws,
        costs: &idle,
    };
    let found = compare_ways(&now, &then, &question()).unwrap();
    assert_eq!(found.as_tried.best, None);
    let called = |draw: &DrawUnderConditions| {
        let replacement = AgeReplacement::new(&draw.law, draw.strikes_per_hour, &idle).unwrap();
        100.0 * replacement.cost_until_called().unwrap().get()
    };
    let mean = draws.iter().map(called).sum::<f64>() / 120.0;
    assert!((found.as_tried.at_best.point.get() - mean).abs() < 1e-9);
}
