//! The best order, by building orders from their ends.
//!
//! What comes after a job matters only through its expected cost for each edge that there may be then. So of
//! two orders of the same last jobs, one that costs no more than the other, whatever the edge, makes the
//! other needless: every job before them is a monotone map of those costs. For each set of last jobs only
//! the orders that none other makes needless are kept (label setting with dominance; Held and Karp 1962 for
//! sequencing over subsets).
//!
//! Orders that cannot win go too. Were the crew free to choose the next job by the edge it then has, the
//! same recursion without orders would give the least cost `f(S, edge)` of a set `S` of last jobs. With
//! `D(S)` the least cost over all orders of the jobs before `S` and `f(S)` after them, an order of `S` that
//! is dearer than `f` by at least `x`, whatever the edge, makes the whole cost at least `D(S) + x`: if the
//! heuristic's order costs less than that, it is dropped. `D` is found by trying the orders of the first few
//! jobs. All of this is exact.

use super::heuristic;
use crate::decisions::job_plan::operators::{Costs, Operators, Possible};
use rayon::prelude::*;

/// Costs as close as this are the same: far below any coin.
const SAME: f64 = 1e-9;

/// An order of the last jobs.
struct Label {
    costs: Costs,
    /// Its first job, and which order of the others comes after it.
    first: usize,
    after: usize,
}

/// One set of last jobs.
struct LastJobs {
    /// Edges that there can be before them.
    possible: Possible,
    /// Least cost were the order free.
    free: Costs,
    /// What an order may cost beyond that and still win; below zero where none can.
    slack: f64,
    labels: Vec<Label>,
}

pub fn order(operators: &Operators) -> Vec<usize> {
    let count = operators.count();
    let all = (1_usize << count) - 1;
    let known = heuristic::order(operators);
    let mut sets = free_orders(operators);
    Slack {
        operators,
        known: operators.cost_of(&known) + SAME,
    }
    .tell(&mut sets);
    for size in 1..count {
        let of_size: Vec<usize> = (0..all)
            .filter(|set| set.count_ones() as usize == size)
            .collect();
        let found = of_size.par_iter();
        let found: Vec<Vec<Label>> = found.map(|set| labels_of(operators, &sets, *set)).collect();
        for (set, labels) in of_size.into_iter().zip(found) {
            sets[set].labels = labels;
        }
    }
    best(operators, &sets).unwrap_or(known)
}

fn jobs_in(set: usize) -> impl Iterator<Item = usize> {
    (0..usize::BITS as usize).filter(move |job| set & (1 << job) != 0)
}

/// Every set of last jobs but the whole, with its least cost were the order free.
fn free_orders(operators: &Operators) -> Vec<LastJobs> {
    let all = (1_usize << operators.count()) - 1;
    let mut sets: Vec<LastJobs> = Vec::with_capacity(all);
    for last in 0..all {
        let possible = operators.possible_after(jobs_in(all & !last));
        let mut free = vec![f64::INFINITY; operators.end.len()];
        for job in jobs_in(last) {
            let costs = operators.before_if(job, &sets[last & !(1 << job)].free, &possible);
            let pairs = free.iter_mut().zip(costs);
            pairs.for_each(|(least, cost)| *least = least.min(cost));
        }
        let mut labels = Vec::new();
        if last == 0 {
            free = operators.end.clone();
            labels.push(Label {
                costs: free.clone(),
                first: 0,
                after: 0,
            });
        }
        sets.push(LastJobs {
            possible,
            free,
            slack: f64::NEG_INFINITY,
            labels,
        });
    }
    sets
}

/// First jobs whose orders are tried: beyond four trying costs more than it saves.
const TRIED: usize = 4;

/// What orders of last jobs may cost and still win.
struct Slack<'a> {
    operators: &'a Operators,
    /// Cost of an order that is known.
    known: f64,
}

impl Slack<'_> {
    fn tell(&self, sets: &mut [LastJobs]) {
        self.try_after(&mut Vec::new(), sets);
        let all = sets.len();
        // With more jobs before them it is no larger than with one of those free.
        for set in (0..all)
            .rev()
            .filter(|set| (all & !set).count_ones() as usize > TRIED)
        {
            let larger = jobs_in(all & !set).map(|job| sets[set | (1 << job)].slack);
            sets[set].slack = larger.fold(f64::NEG_INFINITY, f64::max);
        }
    }

    /// Tries every job after these first ones.
    fn try_after(&self, first: &mut Vec<usize>, sets: &mut [LastJobs]) {
        let all = sets.len();
        let done: usize = first.iter().map(|job| 1 << job).sum();
        for job in jobs_in(all & !done) {
            let last = all & !done & !(1 << job);
            first.push(job);
            let slack = self.known - self.cost(first, last, sets);
            sets[last].slack = sets[last].slack.max(slack);
            if slack >= 0.0 && first.len() < TRIED && last != 0 {
                self.try_after(first, sets);
            }
            first.pop();
        }
    }

    /// Cost of these jobs in this order and the last ones free.
    fn cost(&self, first: &[usize], mut last: usize, sets: &[LastJobs]) -> f64 {
        let Some((start, rest)) = first.split_first() else {
            return f64::NAN;
        };
        let mut costs = sets[last].free.clone();
        for job in rest.iter().rev() {
            last |= 1 << job;
            costs = self.operators.before_if(*job, &costs, &sets[last].possible);
        }
        self.operators.starting(*start, &costs)
    }
}

/// The orders of a set that may win.
fn labels_of(operators: &Operators, sets: &[LastJobs], set: usize) -> Vec<Label> {
    let mut labels = Vec::new();
    if sets[set].slack < 0.0 {
        return labels;
    }
    for job in jobs_in(set) {
        let rest = &sets[set & !(1 << job)].labels;
        for (after, label) in rest.iter().enumerate() {
            let costs = operators.before_if(job, &label.costs, &sets[set].possible);
            let label = Label {
                costs,
                first: job,
                after,
            };
            sets[set].keep(&mut labels, label);
        }
    }
    labels
}

impl LastJobs {
    /// Adds an order unless it cannot win or another makes it needless; drops those that it makes needless.
    fn keep(&self, labels: &mut Vec<Label>, new: Label) {
        let above_free = |edge: usize| new.costs[edge] - self.free[edge];
        if self
            .possible
            .edges()
            .all(|edge| above_free(edge) > self.slack)
        {
            return;
        }
        let no_dearer = |one: &Label, other: &Label| {
            let mut edges = self.possible.edges();
            edges.all(|edge| one.costs[edge] <= other.costs[edge] + SAME)
        };
        if labels.iter().any(|label| no_dearer(label, &new)) {
            return;
        }
        labels.retain(|label| !no_dearer(&new, label));
        labels.push(new);
    }
}

/// The best of all orders that were kept.
fn best(operators: &Operators, sets: &[LastJobs]) -> Option<Vec<usize>> {
    let all = sets.len();
    let whole = jobs_in(all).flat_map(|job| {
        let rest = sets[all & !(1 << job)].labels.iter().enumerate();
        rest.map(move |(at, label)| (operators.starting(job, &label.costs), job, at))
    });
    let (_, mut job, mut at) = whole.min_by(|a, b| a.0.total_cmp(&b.0))?;
    let mut order = vec![job];
    let mut set = all & !(1 << job);
    while set != 0 {
        let label = sets[set].labels.get(at)?;
        (job, at) = (label.first, label.after);
        order.push(job);
        set &= !(1 << job);
    }
    Some(order)
}
