//! What the next hours of an edge that has worked cost, under one draw.

use crate::decisions::cycle_costs::CheckedCosts;
use crate::numerics::lanes::exp_each;

/// The edge at the first of the hours looked at, and what comes then.
pub(super) struct Present<'a> {
    /// Wear hours on it; below zero where it comes to work only later.
    pub wear: f64,
    /// Lives that it may have, wear hours, each with its chance; lives rise.
    pub lives: &'a [(f64, f64)],
    /// Wear hours per meter hour.
    pub rate: f64,
    /// Hours of what comes next that wear as much as one of those looked at: all that is paid or gained by the hour goes
    /// by them.
    pub worth: f64,
    /// Strikes per meter hour of what comes next.
    pub strikes: f64,
}

/// Expected cost and hours by some hour from now.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Spent {
    pub cost: f64,
    pub hours: f64,
}

/// The edge is still at work at some hour, with what it then costs.
#[derive(Clone, Copy, Default)]
struct Going {
    /// Chance that it has not been called.
    chance: f64,
    /// `E[1/T; not called]`.
    inverse_life: f64,
}

/// Hours from now on, with room for what a draw costs by each: a fleet asks for a million of them.
pub(super) struct Course<'g> {
    /// From zero on, rising.
    grid: &'g [f64],
    /// Chance that no strike has ended the work, half-way to each hour from the one before.
    not_struck: Vec<f64>,
    going: Vec<Going>,
    spent: Vec<Spent>,
}

impl<'g> Course<'g> {
    pub fn new(grid: &'g [f64]) -> Self {
        Self {
            grid,
            not_struck: Vec::with_capacity(grid.len()),
            going: Vec::with_capacity(grid.len()),
            spent: Vec::with_capacity(grid.len()),
        }
    }

    /// Expected cost and hours worked by each hour of the grid.
    ///
    /// Between two of its points chances run in straight lines: the grid is fine beside the spread of
    /// lives, and hundreds of draws smooth what is left.
    pub fn spend(&mut self, present: &Present<'_>, costs: &CheckedCosts) -> &[Spent] {
        let middle = |hours: &[f64]| 0.5 * (hours[0] + hours[1]);
        self.not_struck.clear();
        let struck = self.grid.windows(2).map(middle);
        self.not_struck
            .extend(struck.map(|middle| -present.strikes * present.worth * middle));
        exp_each(&mut self.not_struck);
        present.going(costs.call_at, self.grid, &mut self.going);
        let mut total = Spent::default();
        self.spent.clear();
        self.spent.push(total);
        let hours = self.grid.windows(2).zip(&self.not_struck);
        for ((hours, not_struck), going) in hours.zip(self.going.windows(2)) {
            let width = (hours[1] - hours[0]) * present.worth;
            let working = not_struck * 0.5 * (going[0].chance + going[1].chance) * width;
            let called = not_struck * (going[0].chance - going[1].chance);
            let wear = (present.wear + present.rate * middle(hours)).max(0.0);
            let dulled = 0.5 * (going[0].inverse_life + going[1].inverse_life) * wear;
            total.hours += working;
            total.cost += costs.forced_extra * called
                + present.strikes * costs.strike_extra * working
                + costs.running_at_dull * not_struck * dulled * width;
            self.spent.push(total);
        }
        &self.spent
    }

    /// The chance that an edge as the last one spent on has not been called before the first hour.
    pub fn uncalled(&self) -> f64 {
        self.going.first().map_or(0.0, |going| going.chance)
    }
}

impl Present<'_> {
    /// At each hour of the grid.
    fn going(&self, call_at: f64, grid: &[f64], at: &mut Vec<Going>) {
        // The wear from now on at which each life is called, with its chance.
        let mut lives = self.lives.iter().map(|&(life, chance)| {
            let weight = Going {
                chance,
                inverse_life: chance / life,
            };
            (call_at * life - self.wear, weight)
        });
        // The last life passed, as the wear at which half of its own chance has been called. Lives that would have
        // been called by now are passed from the start: nobody has called it yet, so that there are none.
        let mut behind = (-self.wear, Going::default());
        let mut next = lives.next();
        while let Some((call, weight)) = next.filter(|(call, _)| *call <= 0.0) {
            behind = (call, weight.times(-0.5));
            next = lives.next();
        }
        let mut called = Going::default();
        at.clear();
        for wear in grid.iter().map(|hour| hour * self.rate) {
            let by_then = loop {
                let Some((call, weight)) = next else {
                    break called;
                };
                let half = called.plus(weight.times(0.5));
                if call > wear {
                    break between(behind, (call, half), wear);
                }
                behind = (call, half);
                called = called.plus(weight);
                next = lives.next();
            };
            at.push(by_then);
        }
        let beyond = next.into_iter().chain(lives);
        let all = beyond.fold(called, |sum, (_, weight)| sum.plus(weight));
        at.iter_mut().for_each(|going| {
            going.chance = (all.chance - going.chance).max(0.0);
            going.inverse_life = (all.inverse_life - going.inverse_life).max(0.0);
        });
    }
}

impl Going {
    fn plus(self, other: Self) -> Self {
        Self {
            chance: self.chance + other.chance,
            inverse_life: self.inverse_life + other.inverse_life,
        }
    }

    fn times(self, factor: f64) -> Self {
        Self {
            chance: self.chance * factor,
            inverse_life: self.inverse_life * factor,
        }
    }
}

fn between(behind: (f64, Going), ahead: (f64, Going), wear: f64) -> Going {
    let part = ((wear - behind.0) / (ahead.0 - behind.0)).clamp(0.0, 1.0);
    behind.1.times(1.0 - part).plus(ahead.1.times(part))
}
