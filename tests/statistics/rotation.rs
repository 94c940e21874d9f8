//! Sets to own against closed forms and against a shop played through day by day.

use crate::replacement::law;
use keenspan::decisions::{
    DecisionError, Evidence, KnifeLayout, Rotation, RotationQuestion, ShopCosts, sets_to_own,
};
use keenspan::quantities::{Level, MeterHours, Probability};
use keenspan::wear::{DrawUnderConditions, Family, LifeDistribution};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{DiscreteCDF, Poisson};
use std::collections::VecDeque;

fn question(interval: Option<f64>, hours_away: f64, risk: f64) -> RotationQuestion {
    RotationQuestion {
        interval: interval.map(|hours| MeterHours::new(hours).unwrap()),
        // One meter hour a day.
        hours_per_year: MeterHours::new(365.25).unwrap(),
        turnaround_days: hours_away,
        risk: Probability::new(risk).unwrap(),
        level: Level::NINETY,
        evidence: Evidence {
            edges_finished: 30,
            edges_graded: 30,
            prior_variance: 0.16,
            posterior_variance: 0.01,
        },
    }
}

fn ask(
    draws: &[DrawUnderConditions],
    edges: u32,
    question: &RotationQuestion,
) -> Result<Rotation, DecisionError> {
    let layout = KnifeLayout {
        knives: 4,
        edges_per_knife: edges,
    };
    let costs = ShopCosts::common_practice()?.with("call_at", 1.0)?;
    sets_to_own(draws, &costs, layout, question)
}

/// Exponential lives of mean `1/rate`, by wear (a Weibull law of shape 1) or by strikes.
fn exponential(rate: f64, by_strikes: bool) -> DrawUnderConditions {
    if by_strikes {
        DrawUnderConditions {
            law: law(Family::Weibull, 0.3, 60.0),
            strikes_per_hour: rate,
        }
    } else {
        DrawUnderConditions {
            law: law(Family::Weibull, 1.0, -rate.ln()),
            strikes_per_hour: 0.0,
        }
    }
}

/// Chance that a Poisson number of mean `mean` is `least` or more.
fn poisson_from(mean: f64, least: u64) -> f64 {
    match least {
        0 => 1.0,
        least => Poisson::new(mean).unwrap().sf(least - 1),
    }
}

// Base stock with one-for-one replenishment: by Palm's theorem the sharpener holds a Poisson number
// of sets of mean rate x turnaround (Sherbrooke 1968, Operations Research 16, 122-141), and a set
// used up finds none of n - 1 others ready where they all are there. Tails from statrs. Two edges to
// a set: the n-1 sets are 2 (n - 1) edges.
#[test]
fn exponential_edges_need_the_base_stock_of_poisson_demand() {
    for by_strikes in [false, true] {
        for (edges, demand) in [(1u32, 0.3f64), (1, 2.0), (1, 6.0), (2, 3.0)] {
            for risk in [0.2, 0.05, 0.01] {
                let draw = exponential(demand / 20.0, by_strikes);
                let found = ask(&[draw], edges, &question(None, 20.0, risk)).unwrap();
                let tail = |sets: u32| poisson_from(demand, u64::from((sets - 1) * edges));
                for row in &found.by_sets {
                    let chance = row.chance_none_ready.point.get();
                    let error = (chance - tail(row.sets)).abs();
                    // The grid: (changes / 240)^2 / 12 for each trapezoid's share of the tail.
                    let grid = (demand / 240.0).powi(2) / 6.0;
                    assert!(error < grid, "{edges} {demand} {}: {error:e}", row.sets);
                }
                let fewest = (1..).find(|sets| tail(*sets) <= risk).unwrap();
                assert_eq!(found.sets.point, fewest, "{edges} {demand} {risk}");
                let away = 365.25 / 20.0 * demand / f64::from(edges);
                assert!((found.sets_away_a_year.point / away - 1.0).abs() < 1e-9);
            }
        }
    }
}

#[test]
fn draws_are_mixed_and_their_own_needs_are_the_bounds() {
    let demands = [0.5, 1.0, 2.0, 4.0];
    let draws: Vec<_> = demands
        .iter()
        .map(|demand| exponential(demand / 20.0, true))
        .collect();
    let found = ask(&draws, 1, &question(None, 20.0, 0.05)).unwrap();
    for row in &found.by_sets {
        let tails = demands.map(|demand| poisson_from(demand, u64::from(row.sets - 1)));
        let mixed = tails.iter().sum::<f64>() / 4.0;
        assert!((row.chance_none_ready.point.get() - mixed).abs() < 5e-5);
        assert!(row.chance_none_ready.lower.get() < tails[0] + 0.15 * (tails[1] - tails[0]) + 5e-5);
    }
    let own = |demand: f64| {
        (1..)
            .find(|sets| poisson_from(demand, sets - 1) <= 0.05)
            .unwrap()
    };
    // Bounds at places 0.15 and 2.85 of four.
    let between =
        |low: u64, high: u64, part: f64| (low as f64 + part * (high - low) as f64).round();
    assert_eq!(
        f64::from(found.sets.lower),
        between(own(0.5), own(1.0), 0.15)
    );
    assert_eq!(
        f64::from(found.sets.upper),
        between(own(2.0), own(4.0), 0.85)
    );
}

#[test]
fn edges_that_all_last_are_counted_on_the_dot() {
    let lasting = DrawUnderConditions {
        law: law(Family::Weibull, 0.01, 8.0),
        strikes_per_hour: 0.0,
    };
    // Two edges of 10 hours to a set: a set lasts 20 hours.
    for (hours_away, sets) in [(0.0, 1), (19.0, 2), (20.0, 2), (21.0, 3), (41.0, 4)] {
        let found = ask(&[lasting], 2, &question(Some(10.0), hours_away, 0.05)).unwrap();
        assert_eq!(found.sets.point, sets, "{hours_away}");
    }
}

/// Share of used-up sets that find none ready, the shop played through: while nothing is ready the
/// machine stands.
fn played(draw: &DrawUnderConditions, interval: f64, away: f64, sets: usize, edges: u32) -> f64 {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let (mut now, mut none_ready) = (0.0, 0);
    let mut back: VecDeque<f64> = VecDeque::from(vec![0.0; sets - 1]);
    let exchanges = 200_000;
    for _ in 0..exchanges {
        for _ in 0..edges {
            let chance: f64 = random.random_range(1e-12..1.0);
            let wait: f64 = random.random_range(1e-300..1.0);
            let family = draw.law.family;
            let life = draw.law.location() + draw.law.sigma * family.quantile(chance);
            let struck = -wait.ln() / draw.strikes_per_hour;
            now += interval.min(life.exp()).min(struck);
        }
        back.push_back(now + away);
        let ready = back.pop_front().unwrap();
        none_ready += i32::from(ready > now);
        now = ready.max(now);
    }
    f64::from(none_ready) / f64::from(exchanges)
}

// The count lets the machine work on where it would stand, which errs to the careful side by about
// the square of the risk. Four Monte-Carlo errors of a chance of 5 % in 200,000 are 0.002.
#[test]
fn a_shop_played_through_stands_as_often_as_counted() {
    for family in [Family::Weibull, Family::Lognormal, Family::Loglogistic] {
        let draw = DrawUnderConditions {
            law: law(family, 0.5, 3.6),
            strikes_per_hour: 0.01,
        };
        for (edges, away, sets) in [(1, 25.0, 3), (2, 40.0, 2), (2, 60.0, 3)] {
            let found = ask(&[draw], edges, &question(Some(30.0), away, 0.005)).unwrap();
            let counted = found.risk_with(sets).unwrap().chance_none_ready.point.get();
            let played = played(&draw, 30.0, away, sets, edges);
            assert!(counted > 0.005 && counted < 0.5, "{counted}");
            let careful = counted * counted * 3.0;
            assert!(
                played < counted + 0.003 && played > counted - careful - 0.003,
                "{family:?} {edges} {away}: {played} played, {counted} counted"
            );
        }
    }
}

#[test]
fn wrong_questions_are_refused() {
    let draw = [exponential(0.1, true)];
    assert_eq!(
        ask(&[], 1, &question(None, 20.0, 0.05)).err(),
        Some(DecisionError::NoDraws)
    );
    for wrong in [
        question(None, -1.0, 0.05),
        question(None, 20.0, 0.0),
        question(None, 20.0, 1.0),
    ] {
        assert!(matches!(
            ask(&draw, 1, &wrong),
            Err(DecisionError::CostOutOfRange { .. })
        ));
    }
    assert!(matches!(
        ask(&draw, 1, &question(None, 500.0, 0.05)),
        Err(DecisionError::LongTurnaround { changes, .. }) if (changes - 50.0).abs() < 1e-6
    ));
}
