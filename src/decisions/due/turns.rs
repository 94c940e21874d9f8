//! Where running on stops paying: ahead of now, or behind.

use super::AtWorkIn;
use super::present::{Course, Hours, Present, STEPS};
use crate::decisions::DecisionError;
use crate::decisions::cycle_costs::CheckedCosts;
use crate::decisions::mean_curve::OwnBest;
use crate::decisions::spread::{estimate_of_weighted, mean};
use crate::quantities::{Estimate, Level, MeterHours};

/// Hours are looked at up to this many times the best age of the middle draw.
const REACH: f64 = 3.0;

/// Where the cost turns, on the mean, and in each draw with what the draw counts.
pub(super) struct Turns {
    pub mean: f64,
    own: Vec<(f64, f64)>,
}

impl Turns {
    /// Hours left.
    pub fn ahead(
        at_work: AtWorkIn<'_>,
        best: &OwnBest,
        costs: &CheckedCosts,
    ) -> Result<Self, DecisionError> {
        let middle = best.middle()?;
        Ok(Self::from(
            (0.0, |step| hours_ahead(step, middle)),
            at_work.rates,
            at_work,
            (best, costs),
        ))
    }

    /// Hours gone by since, of the work that they went by in; none where it is due only now. On the mean it is what
    /// was planned when the edge went in; draws count as they do ahead, by what is known now.
    pub fn behind(
        ahead: &Self,
        at_work: AtWorkIn<'_>,
        best: &OwnBest,
        costs: &CheckedCosts,
    ) -> Self {
        let edges = at_work.edge.iter().zip(at_work.lately);
        let worked: Vec<f64> = edges.map(|(edge, lately)| edge.wear / lately).collect();
        let span = mean(&worked);
        let step = |step: usize| step as f64 / STEPS as f64 * span;
        let turns = Self::from((-span, step), at_work.lately, at_work, (best, costs));
        let own = turns.own.iter().zip(&ahead.own);
        Self {
            mean: span - turns.mean,
            own: own.map(|(own, now)| (span - own.0, now.1)).collect(),
        }
    }

    /// Hours from `start` on (from now on: 0), after each of [`STEPS`] steps, which wear at `pace`. What they cost, and
    /// what they are worth, goes by the wear that they bring: as much as hours of what comes next that wear as much.
    fn from(
        (start, step): (f64, impl Fn(usize) -> f64),
        pace: &[f64],
        at_work: AtWorkIn<'_>,
        (best, costs): (&OwnBest, &CheckedCosts),
    ) -> Self {
        let grid: Hours = std::array::from_fn(step);
        let mut course = Course::new(&grid);
        let (mut gain, mut gains) = ([0.0; STEPS + 1], [0.0; STEPS + 1]);
        let mut own = Vec::with_capacity(at_work.laws.len());
        let paces = pace.iter().zip(at_work.rates);
        let edges = at_work.edge.iter().zip(paces).zip(at_work.laws);
        for (((edge, (&pace, rate)), law), long_run) in edges.zip(&best.least) {
            let present = Present {
                wear: edge.wear + pace * start,
                lives: &edge.lives,
                rate: pace,
                worth: pace / rate,
                strikes: law.strikes_per_hour,
            };
            let spent = course.spend(&present, costs);
            for place in 0..=STEPS {
                gains[place] = spent.cost[place] - long_run * spent.hours[place];
                gain[place] += gains[place];
            }
            own.push((turn(&grid, &gains), course.uncalled()));
        }
        Self {
            mean: turn(&grid, &gain),
            own,
        }
    }

    /// The mean's with the bounds that the draws give it, from some hour on. Where none of them counts any more, it
    /// is due in all of them.
    pub fn estimate(&self, hour: f64, level: Level) -> Result<Estimate<MeterHours>, DecisionError> {
        let dress = |hours| MeterHours::new(hour + hours);
        estimate_of_weighted(self.mean, &self.own, level, dress)
    }
}

/// Hours from now on after so many of [`STEPS`] steps, close together at the start.
pub(super) fn hours_ahead(step: usize, best: f64) -> f64 {
    (step as f64 / STEPS as f64).powi(2) * REACH * best
}

/// The place on the grid where a cost is least.
fn turn(grid: &[f64], costs: &[f64]) -> f64 {
    let lowest = costs.iter().copied().fold(f64::INFINITY, f64::min);
    let least = costs.iter().position(|cost| *cost <= lowest);
    least.map_or(0.0, |least| near(grid, costs, least))
}

/// A least place of the grid, between its points by the parabola through three of them.
fn near(grid: &[f64], costs: &[f64], least: usize) -> f64 {
    if least == 0 || least + 1 >= grid.len() {
        return grid[least];
    }
    let (before, here, after) = (least - 1, least, least + 1);
    let left = (grid[here] - grid[before], costs[here] - costs[before]);
    let right = (grid[after] - grid[here], costs[after] - costs[here]);
    let (fall, rise) = (left.1 / left.0, right.1 / right.0);
    let bend = (rise - fall) / (0.5 * (left.0 + right.0));
    let at_here = (fall * right.0 + rise * left.0) / (left.0 + right.0);
    if bend > 0.0 {
        (grid[here] - at_here / bend).clamp(grid[before], grid[after])
    } else {
        grid[here]
    }
}
