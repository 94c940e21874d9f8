//! The interval that costs least, at common-practice costs.

use keenspan::decisions::{AgeReplacement, Cheapest, CycleCosts, KnifeLayout, ShopCosts};
use keenspan::wear::DrawUnderConditions;
use std::sync::LazyLock;

/// Four knives with two edges each.
static COSTS: LazyLock<CycleCosts> = LazyLock::new(|| {
    let layout = KnifeLayout {
        knives: 4,
        edges_per_knife: 2,
    };
    let costs = ShopCosts::common_practice().expect("costs");
    costs.cycle(layout).expect("costs of a cycle")
});

/// Log of the interval that costs least under one law of life; infinite where no planned change pays.
/// The bounds that a recommendation shows are the quantiles of this over the draws.
pub fn log_interval(draw: &DrawUnderConditions) -> f64 {
    let cycle = AgeReplacement::new(&draw.law, draw.strikes_per_hour, &COSTS).expect("a cycle");
    match cycle.cheapest().expect("a cost") {
        Cheapest::ChangeAt { interval, .. } => interval.get().ln(),
        Cheapest::RunUntilCalled { .. } => f64::INFINITY,
    }
}

/// The bounds of a recommendation are quantiles of what is ranked here.
#[test]
fn a_recommendation_has_the_quantiles_of_the_single_intervals_for_bounds() {
    use keenspan::decisions::{Evidence, Question, recommend};
    use keenspan::quantities::Level;
    use keenspan::wear::{Family, LifeLaw};
    let draw = |i: u32| DrawUnderConditions {
        law: LifeLaw {
            family: Family::Weibull,
            log_median: 3.6 + 0.004 * f64::from(i),
            sigma: 0.3,
        },
        strikes_per_hour: 0.002,
    };
    let draws: Vec<DrawUnderConditions> = (0..=100).map(draw).collect();
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
    let told = recommend(&draws, &COSTS, &question).expect("an answer");
    for (bound, place) in [(told.interval.lower, 5), (told.interval.upper, 95)] {
        let single = log_interval(&draws[place]);
        assert!((bound.get().ln() - single).abs() < 1e-6, "{bound:?}");
    }
}
