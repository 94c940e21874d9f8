//! Where the nonparametric estimate can put mass: innermost intervals.
//!
//! Sources: Turnbull, Journal of the Royal Statistical Society B 38, 1976; with late entry an age of
//! entry closes an interval as the end of an observation does (Frydman, same journal 56, 1994; Alioum
//! and Commenges, Biometrics 52, 1996).

use super::AdequacyError;
use crate::wear::{Censoring, Lifetime};
use std::cmp::Ordering;

/// A cut on the line of ages: just before an age, or just after it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cut {
    age: f64,
    after: bool,
}

impl Cut {
    fn order(&self, other: &Self) -> Ordering {
        let by_age = self.age.total_cmp(&other.age);
        by_age.then(self.after.cmp(&other.after))
    }

    fn before(&self, other: &Self) -> bool {
        self.order(other) == Ordering::Less
    }
}

/// An innermost interval `(from, to]`, or the single age `from == to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    pub from: f64,
    pub to: f64,
}

/// Lives that ended in one of the cells `first..=last`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ended {
    pub first: usize,
    pub last: usize,
    pub weight: f64,
}

/// The lives, told in cells.
#[derive(Debug, Clone)]
pub(super) struct Cells {
    pub cells: Vec<Cell>,
    /// Lives that were seen to end, those with the same cells put together.
    pub ended: Vec<Ended>,
    /// Of each cell: the weight of the lives that were in view before it and outlasted it.
    pub passed: Vec<f64>,
    /// Sum of the weights that count.
    pub weight: f64,
    /// The last age at which a life that was not seen to end was still going.
    pub last_going: f64,
    /// The last age from which any life is known to have gone on.
    pub last_start: f64,
}

/// One life as cuts: it came into view at `entry`, and ended between `start` and `stop`.
#[derive(Debug, Clone, Copy)]
struct Seen {
    entry: Cut,
    start: Cut,
    stop: Option<Cut>,
    weight: f64,
}

impl Cells {
    pub fn new(lives: &[Lifetime]) -> Result<Self, AdequacyError> {
        let mut seen = Vec::with_capacity(lives.len());
        for (row, life) in lives.iter().enumerate() {
            check(row, life)?;
            if life.weight > 0.0 && life.says_something() {
                seen.push(cuts(life));
            }
        }
        if seen.is_empty() {
            return Err(AdequacyError::NothingCounts);
        }
        let (starts, stops) = innermost(&seen);
        Ok(in_cells(&seen, &starts, &stops))
    }
}

fn check(row: usize, life: &Lifetime) -> Result<(), AdequacyError> {
    let fault = |what, found| Err(AdequacyError::Life { row, what, found });
    let age = |x: f64| x.is_finite() && x >= 0.0;
    if !age(life.lower) {
        return fault("lower must be a finite age, zero or more", life.lower);
    }
    if !age(life.entry) {
        return fault("entry must be a finite age, zero or more", life.entry);
    }
    if !age(life.weight) {
        return fault("weight must be a finite number, zero or more", life.weight);
    }
    if life.upper.is_nan() || life.upper < life.lower || life.upper <= 0.0 {
        return fault("upper must be above zero and not below lower", life.upper);
    }
    if life.entry > 0.0 && life.upper <= life.entry {
        return fault("upper must lie beyond entry", life.upper);
    }
    Ok(())
}

fn cuts(life: &Lifetime) -> Seen {
    let just_after = |age| Cut { age, after: true };
    let exact = life.censoring() == Censoring::Exact;
    Seen {
        entry: just_after(life.entry),
        start: if exact {
            Cut {
                age: life.lower,
                after: false,
            }
        } else {
            just_after(life.lower.max(life.entry))
        },
        stop: life.upper.is_finite().then(|| just_after(life.upper)),
        weight: life.weight,
    }
}

/// Pairs of a start and the next stop with nothing between.
fn innermost(seen: &[Seen]) -> (Vec<Cut>, Vec<Cut>) {
    let mut marks: Vec<(Cut, bool)> = Vec::with_capacity(3 * seen.len());
    for life in seen {
        marks.push((life.start, true));
        marks.push((life.entry, false));
        marks.extend(life.stop.map(|stop| (stop, false)));
    }
    // At the same cut a stop comes first: what it closes lies below, what a start opens above.
    marks.sort_by(|a, b| a.0.order(&b.0).then(a.1.cmp(&b.1)));
    let pairs = marks.windows(2).filter(|pair| pair[0].1 && !pair[1].1);
    pairs.map(|pair| (pair[0].0, pair[1].0)).unzip()
}

fn in_cells(seen: &[Seen], starts: &[Cut], stops: &[Cut]) -> Cells {
    let from = |cut: &Cut| starts.partition_point(|start| start.before(cut));
    let until = |cut: &Cut| stops.partition_point(|stop| !cut.before(stop));
    let mut passed = Differences::new(starts.len());
    let mut covered = Differences::new(starts.len());
    let mut ended = Vec::new();
    for life in seen {
        passed.add(from(&life.entry), until(&life.start), life.weight);
        if let Some(stop) = &life.stop {
            let (first, end) = (from(&life.start), until(stop));
            covered.add(first, end, life.weight);
            ended.push(Ended {
                first,
                last: end - 1,
                weight: life.weight,
            });
        }
    }
    let going = seen.iter().filter(|life| life.stop.is_none());
    let (passed, covered) = (passed.sums(), covered.sums());
    let kept: Vec<usize> = (0..starts.len()).filter(|k| covered[*k] > 0.0).collect();
    let place = |k: usize| kept.partition_point(|kept| *kept < k);
    for row in &mut ended {
        (row.first, row.last) = (place(row.first), place(row.last));
    }
    Cells {
        cells: kept.iter().map(|k| cell(&starts[*k], &stops[*k])).collect(),
        ended: put_together(ended),
        passed: kept.iter().map(|k| passed[*k]).collect(),
        weight: seen.iter().map(|life| life.weight).sum(),
        last_going: going.map(|life| life.start.age).fold(0.0, f64::max),
        last_start: seen.iter().map(|life| life.start.age).fold(0.0, f64::max),
    }
}

fn cell(start: &Cut, stop: &Cut) -> Cell {
    Cell {
        from: start.age,
        to: stop.age,
    }
}

fn put_together(mut ended: Vec<Ended>) -> Vec<Ended> {
    ended.sort_by_key(|row| (row.first, row.last));
    ended.dedup_by(|next, kept| {
        let same = (next.first, next.last) == (kept.first, kept.last);
        if same {
            kept.weight += next.weight;
        }
        same
    });
    ended
}

/// A number for each cell, gathered from stretches of cells. Sums are carried with their rounding
/// (Knuth's two-sum), so that weights far larger elsewhere leave no trace, and cells that no stretch
/// touches are exactly zero.
#[derive(Debug, Clone)]
pub(super) struct Differences {
    up: Vec<f64>,
    down: Vec<f64>,
    open: Vec<i64>,
}

impl Differences {
    pub fn new(cells: usize) -> Self {
        Self {
            up: vec![0.0; cells + 1],
            down: vec![0.0; cells + 1],
            open: vec![0; cells + 1],
        }
    }

    /// Adds `amount` to the cells `first..end`.
    pub fn add(&mut self, first: usize, end: usize, amount: f64) {
        if first < end {
            self.up[first] += amount;
            self.down[end] += amount;
            self.open[first] += 1;
            self.open[end] -= 1;
        }
    }

    pub fn sums(&self) -> Vec<f64> {
        let (mut sum, mut rest, mut open) = (0.0, 0.0, 0);
        let mut sums = Vec::with_capacity(self.up.len() - 1);
        for k in 0..self.up.len() - 1 {
            for term in [self.up[k], -self.down[k]] {
                let next: f64 = sum + term;
                let back = next - sum;
                rest += (sum - (next - back)) + (term - back);
                sum = next;
            }
            open += self.open[k];
            sums.push(if open == 0 { 0.0 } else { sum + rest });
        }
        sums
    }
}
