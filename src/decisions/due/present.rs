//! What the next hours of an edge that has worked cost, under one draw.

use crate::decisions::cycle_costs::CheckedCosts;
use crate::numerics::lanes::exp_each;
use crate::wear::AgedDraw;

/// The edge, and what comes next.
pub(super) struct Present<'a> {
    pub edge: &'a AgedDraw,
    /// Wear hours per meter hour.
    pub rate: f64,
    /// Strikes per meter hour.
    pub strikes: f64,
}

/// Expected cost and hours by some hour from now.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Spent {
    pub cost: f64,
    pub hours: f64,
}

/// The edge is still at work at some hour, with what it then costs.
#[derive(Clone, Copy)]
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
            .extend(struck.map(|middle| -present.strikes * middle));
        exp_each(&mut self.not_struck);
        present.going(costs.call_at, self.grid, &mut self.going);
        let mut total = Spent::default();
        self.spent.clear();
        self.spent.push(total);
        let hours = self.grid.windows(2).zip(&self.not_struck);
        for ((hours, not_struck), going) in hours.zip(self.going.windows(2)) {
            let width = hours[1] - hours[0];
            let working = not_struck * 0.5 * (going[0].chance + going[1].chance) * width;
            let called = not_struck * (going[0].chance - going[1].chance);
            let wear = present.edge.wear + present.rate * middle(hours);
            let dulled = 0.5 * (going[0].inverse_life + going[1].inverse_life) * wear;
            total.hours += working;
            total.cost += costs.forced_extra * called
                + present.strikes * costs.strike_extra * working
                + costs.running_at_dull * not_struck * dulled * width;
            self.spent.push(total);
        }
        &self.spent
    }
}

impl Present<'_> {
    /// At each hour of the grid.
    fn going(&self, call_at: f64, grid: &[f64], at: &mut Vec<Going>) {
        let mut called = Going {
            chance: 0.0,
            inverse_life: 0.0,
        };
        // The wear from now on at which each life is called, its chance, and that by its life. Nobody has
        // called it yet, however far it is worn.
        let mut lives = self.edge.lives.iter().map(|&(life, chance)| {
            let call = (call_at * life - self.edge.wear).max(f64::MIN_POSITIVE);
            (call, chance, chance / life)
        });
        let mut next = lives.next();
        // The last life passed, as the wear at which half of its own chance has been called.
        let mut behind = (0.0, called);
        at.clear();
        for wear in grid.iter().map(|hour| hour * self.rate) {
            let by_then = loop {
                let Some((call, chance, by_life)) = next else {
                    break called;
                };
                let half = Going {
                    chance: called.chance + 0.5 * chance,
                    inverse_life: called.inverse_life + 0.5 * by_life,
                };
                if call > wear {
                    break between(behind, (call, half), wear);
                }
                behind = (call, half);
                called.chance += chance;
                called.inverse_life += by_life;
                next = lives.next();
            };
            at.push(by_then);
        }
        let beyond = next.into_iter().chain(lives).map(|(_, _, by_life)| by_life);
        let whole = beyond.fold(called.inverse_life, |sum, by_life| sum + by_life);
        at.iter_mut().for_each(|going| {
            going.chance = (1.0 - going.chance).max(0.0);
            going.inverse_life = (whole - going.inverse_life).max(0.0);
        });
    }
}

fn between(behind: (f64, Going), ahead: (f64, Going), wear: f64) -> Going {
    let part = ((wear - behind.0) / (ahead.0 - behind.0)).clamp(0.0, 1.0);
    let line = |from: f64, to: f64| from + part * (to - from);
    Going {
        chance: line(behind.1.chance, ahead.1.chance),
        inverse_life: line(behind.1.inverse_life, ahead.1.inverse_life),
    }
}
