//! A good order for many jobs: each put where it costs least among those before it, then jobs moved and
//! pairs exchanged as long as that saves anything.

use crate::decisions::job_plan::operators::Operators;

/// Savings below this are not worth another round.
const WORTH_A_ROUND: f64 = 1e-6;

pub fn order(operators: &Operators) -> Vec<usize> {
    let mut order = Vec::new();
    for job in 0..operators.count() {
        order = cheapest(operators, insertions(&order, job)).unwrap_or_default();
    }
    let mut cost = operators.cost_of(&order);
    loop {
        let Some(next) = cheapest(operators, neighbours(&order)) else {
            return order;
        };
        let next_cost = operators.cost_of(&next);
        if next_cost > cost - WORTH_A_ROUND {
            return order;
        }
        (order, cost) = (next, next_cost);
    }
}

fn cheapest(operators: &Operators, orders: Vec<Vec<usize>>) -> Option<Vec<usize>> {
    let priced = orders
        .into_iter()
        .map(|order| (operators.cost_of(&order), order));
    priced
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, order)| order)
}

fn insertions(order: &[usize], job: usize) -> Vec<Vec<usize>> {
    let with = |at: usize| {
        let mut with = order.to_vec();
        with.insert(at, job);
        with
    };
    (0..=order.len()).map(with).collect()
}

/// Every order with one job moved, or two exchanged.
fn neighbours(order: &[usize]) -> Vec<Vec<usize>> {
    let mut all = Vec::new();
    for from in 0..order.len() {
        let mut rest = order.to_vec();
        let job = rest.remove(from);
        all.extend(insertions(&rest, job));
        for other in from + 1..order.len() {
            let mut exchanged = order.to_vec();
            exchanged.swap(from, other);
            all.push(exchanged);
        }
    }
    all
}
