//! What the next hours of an edge that has worked cost, under one draw.

use crate::decisions::cycle_costs::CheckedCosts;
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

impl Present<'_> {
    /// Expected cost and hours worked by each hour of the grid, which starts at zero.
    ///
    /// Between two of its points chances run in straight lines: the grid is fine beside the spread of
    /// lives, and hundreds of draws smooth what is left.
    pub fn spent(&self, costs: &CheckedCosts, grid: &[f64]) -> Vec<Spent> {
        let mut total = Spent::default();
        let mut spent = vec![total];
        let going = self.going(costs.call_at, grid);
        for (hours, going) in grid.windows(2).zip(going.windows(2)) {
            let (from, to, width) = (hours[0], hours[1], hours[1] - hours[0]);
            let middle = 0.5 * (from + to);
            let not_struck = (-self.strikes * middle).exp();
            let working = not_struck * 0.5 * (going[0].chance + going[1].chance) * width;
            let called = not_struck * (going[0].chance - going[1].chance);
            let wear = self.edge.wear + self.rate * middle;
            let dulled = 0.5 * (going[0].inverse_life + going[1].inverse_life) * wear;
            total.hours += working;
            total.cost += costs.forced_extra * called
                + self.strikes * costs.strike_extra * working
                + costs.running_at_dull * not_struck * dulled * width;
            spent.push(total);
        }
        spent
    }

    /// At each hour of the grid.
    fn going(&self, call_at: f64, grid: &[f64]) -> Vec<Going> {
        let lives = &self.edge.lives;
        let mut called = Going {
            chance: 0.0,
            inverse_life: 0.0,
        };
        let whole = lives
            .iter()
            .map(|(life, chance)| chance / life)
            .sum::<f64>();
        let mut next = 0;
        // The last life passed, as the hour at which half of its own chance has been called.
        let mut behind = (0.0, called);
        let mut at = Vec::with_capacity(grid.len());
        for &hour in grid {
            while let Some((life, chance)) = lives.get(next) {
                // Nobody has called it yet, however far it is worn.
                let call = ((call_at * life - self.edge.wear) / self.rate).max(f64::MIN_POSITIVE);
                let half = Going {
                    chance: called.chance + 0.5 * chance,
                    inverse_life: called.inverse_life + 0.5 * chance / life,
                };
                if call > hour {
                    at.push(between(behind, (call, half), hour));
                    break;
                }
                behind = (call, half);
                called.chance += chance;
                called.inverse_life += chance / life;
                next += 1;
            }
            if next == lives.len() {
                at.push(called);
            }
        }
        at.into_iter()
            .map(|called| Going {
                chance: (1.0 - called.chance).max(0.0),
                inverse_life: (whole - called.inverse_life).max(0.0),
            })
            .collect()
    }
}

fn between(behind: (f64, Going), ahead: (f64, Going), hour: f64) -> Going {
    let part = ((hour - behind.0) / (ahead.0 - behind.0)).clamp(0.0, 1.0);
    let line = |from: f64, to: f64| from + part * (to - from);
    Going {
        chance: line(behind.1.chance, ahead.1.chance),
        inverse_life: line(behind.1.inverse_life, ahead.1.inverse_life),
    }
}
