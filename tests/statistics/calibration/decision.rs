//! The interval that costs least, at common-practice costs.

use keenspan::decisions::{AgeReplacement, Cheapest, CycleCosts, KnifeLayout, ShopCosts};
use keenspan::wear::{DrawUnderConditions, LifeDistribution};
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

/// Share of edges still at work at the interval that stands in where no planned change pays.
const STILL_RUNNING: f64 = 0.01;

/// Log of the interval that costs least under one law of life. Where no planned change pays, the hours by
/// which all but a hundredth of the edges have been called, as a recommendation takes it. The bounds that a
/// recommendation shows are the quantiles of this over the draws.
pub fn log_interval(draw: &DrawUnderConditions) -> f64 {
    let cycle = AgeReplacement::new(&draw.law, draw.strikes_per_hour, &COSTS).expect("a cycle");
    match cycle.cheapest().expect("a cost") {
        Cheapest::ChangeAt { interval, .. } => interval.get().ln(),
        Cheapest::RunUntilCalled { .. } => {
            let call_at = COSTS.call_at.expect("a wear fraction").get();
            let late = draw.law.family.quantile(1.0 - STILL_RUNNING);
            call_at.ln() + draw.law.location() + draw.law.sigma * late
        }
    }
}

/// The bounds of a recommendation are quantiles of what is ranked here.
/// Laws of long tails are among them, under which no planned change pays.
#[test]
fn a_recommendation_has_the_quantiles_of_the_single_intervals_for_bounds() {
    use keenspan::decisions::{Evidence, Question, recommend};
    use keenspan::quantities::Level;
    use keenspan::wear::{Family, LifeLaw};
    let draw = |i: u32| DrawUnderConditions {
        law: LifeLaw {
            family: Family::Loglogistic,
            log_median: 3.6,
            sigma: if i < 90 {
                0.2 + 0.001 * f64::from(i)
            } else {
                0.6 + 0.01 * f64::from(i)
            },
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
    let mut single: Vec<f64> = draws.iter().map(log_interval).collect();
    single.sort_unstable_by(f64::total_cmp);
    for (bound, place) in [(told.interval.lower, 5), (told.interval.upper, 95)] {
        let off = bound.get().ln() - single[place];
        assert!(off.abs() < 1e-6, "{bound:?}");
    }
    let law = |draw: &DrawUnderConditions| {
        AgeReplacement::new(&draw.law, draw.strikes_per_hour, &COSTS).expect("a cycle")
    };
    let runs_on = |draw: &&DrawUnderConditions| {
        matches!(law(draw).cheapest(), Ok(Cheapest::RunUntilCalled { .. }))
    };
    assert!(draws.iter().filter(runs_on).count() > 5);
}
