//! A job as a linear map: from what the work after it costs, edge by edge, to what it costs before the job.
//!
//! Edges stand on a grid of wear; between its points costs are straight lines. Before each job a crew
//! chooses for the edge that it has: leave with it, or change at the yard.

use super::play::{Kind, Live, Play, Prices, Stretch};
use super::scaled::Scaled;
use std::ops::Range;

/// Points of the grid in one interval.
const PER_INTERVAL: usize = 12;
/// The grid reaches one interval and a half: edges worn further are changed before any job, so that how far
/// does not matter.
const POINTS: usize = 3 * PER_INTERVAL / 2 + 1;

/// Expected cost from here on, for each edge that there may be: fresh ones first, then the present one, each
/// by its wear.
pub type Costs = Vec<f64>;

/// The jobs as maps, and what edges are worth at the end.
#[derive(Debug, Clone)]
pub struct Operators {
    jobs: Vec<Operator>,
    /// What the edge that is left owes.
    pub end: Costs,
    planned: f64,
    /// Where the crew starts on the grid.
    pub start: usize,
}

/// Edges that there can be: the first so many fresh ones, and a range of present ones.
#[derive(Debug, Clone)]
pub struct Possible {
    fresh: usize,
    present: Range<usize>,
}

impl Possible {
    /// Their places on the grid.
    pub fn edges(&self) -> impl Iterator<Item = usize> {
        (0..self.fresh).chain(self.present.clone())
    }
}

#[derive(Debug, Clone)]
struct Operator {
    /// Wear of the job, in intervals.
    wear: f64,
    /// Expected cost of the job.
    cost: Costs,
    /// The chance of each fresh edge afterwards, row by row.
    fresh: Vec<[f64; POINTS]>,
    /// The same column by column.
    columns: Vec<Costs>,
    /// That the present edge stays: at which point of the grid and at the next, with what chances.
    stays: Vec<(usize, f64, f64)>,
}

/// Where on the grid.
fn place(kind: Kind, age: f64) -> (usize, f64) {
    let along = (age * PER_INTERVAL as f64).min((POINTS - 1) as f64);
    let below = (along as usize).min(POINTS - 2);
    let first = match kind {
        Kind::Fresh => 0,
        Kind::Present => POINTS,
    };
    (first + below, along - below as f64)
}

/// The cost at an edge's place.
pub fn cost_at(costs: &[f64], kind: Kind, age: f64) -> f64 {
    let (below, part) = place(kind, age);
    match (costs.get(below), costs.get(below + 1)) {
        (Some(low), Some(high)) => low + part * (high - low),
        _ => f64::NAN,
    }
}

impl Operators {
    pub fn new(middle: &Scaled, prices: Prices, on_plan: bool) -> Self {
        let kinds: &[Kind] = match middle.tables.present {
            Some(_) => &[Kind::Fresh, Kind::Present],
            None => &[Kind::Fresh],
        };
        let grid: Vec<(Kind, f64)> = kinds
            .iter()
            .flat_map(|kind| (0..POINTS).map(|i| (*kind, i as f64 / PER_INTERVAL as f64)))
            .collect();
        let worth = |kind, age| match (kind, &middle.worth_of_present) {
            (Kind::Present, Some(worth)) => worth.at(age),
            _ => middle.worth_of_fresh.at(age),
        };
        let play = Play {
            tables: &middle.tables,
            prices,
            per_set: 1,
            on_plan,
        };
        let jobs = middle.jobs.iter();
        Self {
            jobs: jobs.map(|job| Operator::new(&play, job, &grid)).collect(),
            end: grid.iter().map(|(kind, age)| worth(*kind, *age)).collect(),
            planned: prices.planned,
            start: if middle.tables.present.is_some() {
                POINTS
            } else {
                0
            },
        }
    }

    /// The edges that there can be once these jobs are done: no fresh one has more wear than they make, the
    /// present one has just that. A grid blurs wear by a step a job, which is allowed for.
    pub fn possible_after(&self, jobs: impl Iterator<Item = usize>) -> Possible {
        let wears: Vec<f64> = jobs.map(|job| self.jobs[job].wear).collect();
        let steps = wears.iter().sum::<f64>() * PER_INTERVAL as f64;
        let blur = wears.len() as f64 + 1.0;
        let last = POINTS - 1;
        let most = ((steps + blur).ceil() as usize).min(last);
        let least = ((steps - blur).floor().max(0.0) as usize).min(last);
        let present = POINTS + least..POINTS + most + 1;
        Possible {
            fresh: most + 1,
            present: if self.start == POINTS {
                present
            } else {
                POINTS..POINTS
            },
        }
    }

    /// How many jobs there are.
    pub fn count(&self) -> usize {
        self.jobs.len()
    }

    /// Cost from before a job on if the crew leaves with the edge it has.
    pub fn kept(&self, job: usize, after: &[f64]) -> Costs {
        (0..after.len())
            .map(|edge| self.kept_at(job, after, edge))
            .collect()
    }

    /// The same for one edge.
    fn kept_at(&self, job: usize, after: &[f64], edge: usize) -> f64 {
        let operator = &self.jobs[job];
        let fresh = operator.fresh[edge].iter().zip(after);
        let (below, low, high) = operator.stays[edge];
        operator.cost[edge]
            + fresh.map(|(chance, after)| chance * after).sum::<f64>()
            + low * after[below]
            + high * after[below + 1]
    }

    /// Cost with a fresh edge put on at the yard first.
    pub fn changed(&self, kept: &[f64]) -> f64 {
        self.planned + kept.first().copied().unwrap_or(f64::NAN)
    }

    /// Cost from before a job on, the better of the two chosen for each edge.
    pub fn before(&self, job: usize, after: &[f64]) -> Costs {
        let mut costs = self.kept(job, after);
        let changed = self.changed(&costs);
        costs.iter_mut().for_each(|cost| *cost = cost.min(changed));
        costs
    }

    /// The same where only some edges are possible. The others stand at what a change costs: they are never
    /// asked for. Column by column, which a processor does several rows at a time.
    pub fn before_if(&self, job: usize, after: &[f64], possible: &Possible) -> Costs {
        let operator = &self.jobs[job];
        let mut costs = operator.cost.clone();
        for rows in [0..possible.fresh, possible.present.clone()] {
            for (column, after) in operator.columns.iter().zip(after) {
                let pairs = costs[rows.clone()].iter_mut().zip(&column[rows.clone()]);
                pairs.for_each(|(cost, chance)| *cost += chance * after);
            }
        }
        for edge in possible.present.clone() {
            let (below, low, high) = operator.stays[edge];
            costs[edge] += low * after[below] + high * after[below + 1];
        }
        let changed = self.changed(&costs);
        let first_present = possible.present.start;
        costs[possible.fresh..first_present].fill(changed);
        costs[possible.present.end..].fill(changed);
        costs.iter_mut().for_each(|cost| *cost = cost.min(changed));
        costs
    }

    /// The same for the edge with which the crew starts.
    pub fn starting(&self, job: usize, after: &[f64]) -> f64 {
        let fresh = self.planned + self.kept_at(job, after, 0);
        self.kept_at(job, after, self.start).min(fresh)
    }

    /// Expected cost of doing the jobs in this order.
    pub fn cost_of(&self, order: &[usize]) -> f64 {
        let Some((first, rest)) = order.split_first() else {
            return f64::NAN;
        };
        let after = rest
            .iter()
            .rev()
            .fold(self.end.clone(), |after, job| self.before(*job, &after));
        self.starting(*first, &after)
    }

    /// For each job of an order, what leaving with an edge costs beyond changing it first.
    pub fn gains(&self, order: &[usize]) -> Vec<Costs> {
        let mut after = self.end.clone();
        let mut gains: Vec<Costs> = order
            .iter()
            .rev()
            .map(|job| {
                let kept = self.kept(*job, &after);
                let changed = self.changed(&kept);
                after = kept.iter().map(|cost| cost.min(changed)).collect();
                kept.iter().map(|cost| cost - changed).collect()
            })
            .collect();
        gains.reverse();
        gains
    }
}

impl Operator {
    fn new(play: &Play<'_>, job: &Stretch, grid: &[(Kind, f64)]) -> Self {
        let mut operator = Self {
            wear: job.wear,
            cost: Vec::with_capacity(grid.len()),
            fresh: Vec::with_capacity(grid.len()),
            columns: Vec::with_capacity(POINTS),
            stays: Vec::with_capacity(grid.len()),
        };
        for &(kind, age) in grid {
            let mass = vec![1.0];
            let (after, sums) = play.job(vec![Live { kind, age, mass }], job);
            operator.cost.push(sums.cost);
            operator.add_row(&after);
        }
        for point in 0..POINTS {
            let rows = operator.fresh.iter();
            operator.columns.push(rows.map(|row| row[point]).collect());
        }
        operator
    }

    /// The chance of each point of the grid; what lies between two points is shared out between them.
    fn add_row(&mut self, after: &[Live]) {
        let mut fresh = [0.0; POINTS];
        let mut stays = (0, 0.0, 0.0);
        for edge in after {
            let (below, part) = place(edge.kind, edge.age);
            let chance = edge.chance();
            match edge.kind {
                Kind::Present => stays = (below, (1.0 - part) * chance, part * chance),
                Kind::Fresh => {
                    fresh[below] += (1.0 - part) * chance;
                    fresh[below + 1] += part * chance;
                }
            }
        }
        self.fresh.push(fresh);
        self.stays.push(stays);
    }
}

/// The least wear, in intervals, from which a fresh edge that has worked is better changed first; `None`
/// where none is.
pub fn change_from(gains: &[f64]) -> Option<f64> {
    let fresh = gains.get(..POINTS)?;
    let from = fresh.iter().position(|gain| *gain > 0.0)?;
    let high = *fresh.get(from)?;
    let low = from.checked_sub(1).and_then(|below| fresh.get(below));
    let back = low.map_or(0.0, |low| high / (high - low));
    Some((from as f64 - back) / PER_INTERVAL as f64)
}
