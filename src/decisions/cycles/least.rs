//! Each draw's own age of least cost.

use super::axis::{AXIS, EDGES};
use super::tile::{Column, Cycles, DRAWS, LawAt, SumsOfOne, Tile, assemble};
use crate::decisions::cycle::{Cycle, Least};
use crate::decisions::cycle_costs::CheckedCosts;
use crate::numerics::lanes::exp;

/// Rounds of Ridders' method on half a panel: each about squares the error, and cost is flat there.
const ROUNDS: usize = 4;
/// A choice between an age and none that hangs on a smaller share than this is left to the exact sums.
const TOO_CLOSE: f64 = 1e-6;

/// Ages, as their logs, between which cost stops falling and starts to rise, with its rise at both.
struct Bracket {
    low: Column,
    high: Column,
    low_rise: Column,
    high_rise: Column,
}

impl Tile {
    /// Each draw's cheapest age and rate; `None` where it takes the exact sums to tell.
    #[inline(always)]
    pub fn least<const FUSED: bool>(&self, costs: &CheckedCosts) -> [Option<Least>; DRAWS] {
        let rises = self.rises_at_edges::<FUSED>(costs);
        let turns: [usize; DRAWS] = std::array::from_fn(|k| turns(&rises, k).count());
        let most = turns.iter().copied().max().unwrap_or(0);
        let mut best = [(f64::NAN, f64::INFINITY); DRAWS];
        for turn in 0..most {
            let bracket = self.bracket(&rises, turn);
            let log_ages = self.narrowed::<FUSED>(costs, bracket);
            let ages = exp_each::<FUSED>(&log_ages);
            let cycles = self.at::<FUSED>(costs, &ages, &log_ages);
            for k in 0..DRAWS {
                let rate = (costs.planned + cycles.cost[k]) / cycles.length[k];
                if turn < turns[k] && rate < best[k].1 {
                    best[k] = (ages[k], rate);
                }
            }
        }
        std::array::from_fn(|k| {
            let turns_below = rises[0][k] > 0.0;
            let least = cheaper(best[k], costs.rate_of(&self.beyond(costs, k)));
            least.filter(|_| !turns_below)
        })
    }

    /// The cycle of edges that run until called.
    pub fn beyond(&self, costs: &CheckedCosts, k: usize) -> Cycle {
        let whole = &self.edges[EDGES - 1];
        let sums = SumsOfOne {
            exposure: 1.0,
            hours: whole.hours[k],
            wear_hours: whole.wear_hours[k],
            wear_rate: 0.0,
        };
        let none = LawAt {
            survival: 0.0,
            slope: 0.0,
        };
        assemble::<false>(costs, self.strike_rate[k], &sums, &none)
    }

    #[inline(always)]
    fn rises_at_edges<const FUSED: bool>(&self, costs: &CheckedCosts) -> [Column; EDGES] {
        let mut rises = [[0.0; DRAWS]; EDGES];
        for (place, rises) in rises.iter_mut().enumerate() {
            let (edge, hazard) = (&self.edges[place], AXIS.hazards[place]);
            let survival = (-hazard).exp();
            for k in 0..DRAWS {
                let law = LawAt {
                    survival,
                    slope: hazard * survival / (self.sigma[k] * edge.exposure[k]),
                };
                let sums = SumsOfOne {
                    exposure: edge.exposure[k],
                    hours: edge.hours[k],
                    wear_hours: edge.wear_hours[k],
                    wear_rate: edge.wear_rate[k],
                };
                let cycle = assemble::<FUSED>(costs, self.strike_rate[k], &sums, &law);
                rises[k] = rise(costs, &cycle);
            }
        }
        rises
    }

    /// Each draw's turn of that number; of a draw that has none, any stretch.
    fn bracket(&self, rises: &[Column; EDGES], number: usize) -> Bracket {
        let place: [usize; DRAWS] =
            std::array::from_fn(|k| turns(rises, k).nth(number).unwrap_or(0));
        let log_age = |place: usize, k: usize| self.edges[place].exposure[k].ln();
        Bracket {
            low: std::array::from_fn(|k| log_age(place[k], k)),
            high: std::array::from_fn(|k| log_age(place[k] + 1, k)),
            low_rise: std::array::from_fn(|k| rises[place[k]][k]),
            high_rise: std::array::from_fn(|k| rises[place[k] + 1][k]),
        }
    }

    /// Where cost turns: Ridders (1979), A new algorithm for computing a single root of a real continuous
    /// function, which keeps the root between both ends and takes no branch.
    #[inline(always)]
    fn narrowed<const FUSED: bool>(&self, costs: &CheckedCosts, mut within: Bracket) -> Column {
        let mut found = within.low;
        for _ in 0..ROUNDS {
            let mut middle = [0.0; DRAWS];
            for k in 0..DRAWS {
                middle[k] = 0.5 * (within.low[k] + within.high[k]);
            }
            let middle_rise = self.rises_at::<FUSED>(costs, &middle);
            for k in 0..DRAWS {
                let (low, here, high) = (within.low_rise[k], middle_rise[k], within.high_rise[k]);
                // The square root is zero only where all three are: at a turn.
                let root = (here * here - low * high).sqrt().max(f64::MIN_POSITIVE);
                let half = middle[k] - within.low[k];
                found[k] = middle[k] - half * (here / root);
            }
            let rise = self.rises_at::<FUSED>(costs, &found);
            for k in 0..DRAWS {
                within.keep(k, middle[k], middle_rise[k]);
                within.keep(k, found[k], rise[k]);
            }
        }
        found
    }

    #[inline(always)]
    fn rises_at<const FUSED: bool>(&self, costs: &CheckedCosts, log_ages: &Column) -> Column {
        let ages = exp_each::<FUSED>(log_ages);
        let cycles = self.at::<FUSED>(costs, &ages, log_ages);
        rises(costs, &cycles)
    }
}

impl Bracket {
    /// Takes an age as the end on whose side of the turn it lies, where it lies between the ends.
    #[inline(always)]
    fn keep(&mut self, k: usize, log_age: f64, rise: f64) {
        let between = log_age >= self.low[k] && log_age <= self.high[k];
        let falls = between && rise < 0.0;
        let rises = between && rise >= 0.0;
        self.low[k] = if falls { log_age } else { self.low[k] };
        self.low_rise[k] = if falls { rise } else { self.low_rise[k] };
        self.high[k] = if rises { log_age } else { self.high[k] };
        self.high_rise[k] = if rises { rise } else { self.high_rise[k] };
    }
}

/// Edges after which cost turns.
fn turns(rises: &[Column; EDGES], k: usize) -> impl Iterator<Item = usize> {
    let turns = move |edge: &usize| rises[*edge][k] < 0.0 && rises[*edge + 1][k] >= 0.0;
    (0..EDGES - 1).filter(turns)
}

/// An age with its rate against running until called.
fn cheaper((age, rate): (f64, f64), until_called: f64) -> Option<Least> {
    if rate < until_called * (1.0 - TOO_CLOSE) {
        let age = Some(age);
        Some(Least { age, rate })
    } else if rate > until_called * (1.0 + TOO_CLOSE) {
        let (age, rate) = (None, until_called);
        Some(Least { age, rate })
    } else {
        None
    }
}

/// See `AgeReplacement::rise`.
#[inline(always)]
fn rise(costs: &CheckedCosts, cycle: &Cycle) -> f64 {
    cycle.cost_slope * cycle.length - (costs.planned + cycle.cost) * cycle.length_slope
}

#[inline(always)]
fn rises(costs: &CheckedCosts, cycles: &Cycles) -> Column {
    let mut rises = [0.0; DRAWS];
    for k in 0..DRAWS {
        let paid = costs.planned + cycles.cost[k];
        rises[k] = cycles.cost_slope[k] * cycles.length[k] - paid * cycles.length_slope[k];
    }
    rises
}

#[inline(always)]
fn exp_each<const FUSED: bool>(logs: &Column) -> Column {
    let mut numbers = [0.0; DRAWS];
    for k in 0..DRAWS {
        numbers[k] = exp::<FUSED>(logs[k]);
    }
    numbers
}
