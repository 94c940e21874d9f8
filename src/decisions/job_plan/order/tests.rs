//! Orders against all orders, on instances that repeat.

use super::*;
use crate::decisions::CycleCosts;
use crate::decisions::job_plan::question::{EdgesAtHand, Job, JobQuestion, PresentEdge, UsualWork};
use crate::decisions::job_plan::scaled::{prices, scale};
use crate::quantities::{Level, MeterHours, Money, Probability, WearFraction};
use crate::wear::{AgedDraw, Family, LifeDistribution, LifeLaw};

/// Numbers that look as if they came by chance (Lehmer's generator of 1951, modulus 2^31 - 1).
struct Numbers(u64);

impl Numbers {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        low + (high - low) * self.0 as f64 / 2_147_483_647.0
    }
}

fn law() -> LifeLaw {
    LifeLaw {
        family: Family::Weibull,
        log_median: 60_f64.ln(),
        sigma: 0.35,
    }
}

/// An edge that has worked so many hours and was not called.
fn worked(hours: f64) -> AgedDraw {
    let law = law();
    let lives: Vec<f64> = (0..200)
        .map(|i| law.family.quantile((f64::from(i) + 0.5) / 200.0))
        .map(|w| (law.location() + law.sigma * w).exp())
        .filter(|life| 1.3 * life > hours)
        .collect();
    let chance = 1.0 / lives.len() as f64;
    AgedDraw {
        wear: hours,
        lives: lives.into_iter().map(|life| (life, chance)).collect(),
    }
}

fn question(jobs: usize, numbers: &mut Numbers) -> JobQuestion {
    let money = |amount| Money::new(amount).unwrap();
    let hours = |hours| MeterHours::new(hours).unwrap();
    let job = |numbers: &mut Numbers| {
        let dirt = numbers.between(0.0, 1.0);
        Job {
            hours: hours(numbers.between(1.0, 14.0)),
            wear_rates: vec![(1.6 * dirt).exp() * numbers.between(0.7, 1.3)],
            strike_rates: vec![0.001 + 0.03 * dirt * dirt],
        }
    };
    JobQuestion {
        jobs: (0..jobs).map(|_| job(numbers)).collect(),
        fresh: vec![law()],
        present: PresentEdge::Worn(vec![worked(numbers.between(5.0, 50.0))]),
        usual: UsualWork {
            wear_rates: vec![1.3],
            strike_rates: vec![0.004],
            interval: hours(40.0),
            changed_on_plan: true,
            day: hours(6.0),
        },
        costs: CycleCosts {
            planned: money(90.0),
            forced_extra: money(150.0),
            strike_extra: money(350.0),
            running_at_dull: money(6.0),
            call_at: Some(WearFraction::new(1.3).unwrap()),
        },
        edges: EdgesAtHand {
            per_set: 2,
            left_on_machine: 1,
        },
        risk: Probability::new(0.05).unwrap(),
        level: Level::NINETY,
        evidence: Vec::new(),
    }
}

fn operators(question: &JobQuestion) -> Operators {
    let costs = question.costs.check().unwrap();
    let (_, middle) = scale(question, &costs).unwrap();
    Operators::new(&middle, prices(&costs), true)
}

fn permutations(items: &[usize]) -> Vec<Vec<usize>> {
    if items.is_empty() {
        return vec![Vec::new()];
    }
    let with = |at: usize| {
        let mut rest = items.to_vec();
        let item = rest.remove(at);
        permutations(&rest)
            .into_iter()
            .map(move |tail| [&[item], tail.as_slice()].concat())
    };
    (0..items.len()).flat_map(with).collect()
}

#[test]
fn the_exact_order_costs_what_the_best_of_all_orders_costs() {
    let mut numbers = Numbers(11);
    for jobs in [1, 2, 4, 5, 6, 6] {
        let operators = operators(&question(jobs, &mut numbers));
        let items: Vec<usize> = (0..jobs).collect();
        let all = permutations(&items);
        let costs = all.iter().map(|order| operators.cost_of(order));
        let least = costs.clone().fold(f64::INFINITY, f64::min);
        let most = costs.fold(f64::NEG_INFINITY, f64::max);
        let found = operators.cost_of(&exact::order(&operators));
        assert!((found - least).abs() < 1e-7, "{jobs}: {found} {least}");
        assert!(jobs < 4 || most > least + 1.0, "an order must matter");
    }
}

/// What the heuristic leaves, in per cent of the exact least cost: told in the command's documentation.
#[test]
fn the_heuristic_leaves_next_to_nothing() {
    let mut numbers = Numbers(5);
    let mut gaps = Vec::new();
    for _ in 0..40 {
        let operators = operators(&question(7, &mut numbers));
        let exact = operators.cost_of(&exact::order(&operators));
        let found = operators.cost_of(&heuristic::order(&operators));
        assert!(found >= exact - 1e-7);
        gaps.push(100.0 * (found - exact) / exact.abs());
    }
    let mean = gaps.iter().sum::<f64>() / gaps.len() as f64;
    let worst = gaps.iter().copied().fold(0.0, f64::max);
    assert!(mean < 0.1 && worst < 0.4, "mean {mean} %, worst {worst} %");
}
