//! What the wear on an edge is worth, at the long-run cost of edges in the usual wood.
//!
//! ```text
//! h(a) = E[ cost until the next change | age a ] - g E[ wear until then | age a ],   h(0) = 0
//! ```
//!
//! with `g` the long-run cost per interval of wear of edges changed on plan at one interval. It is the
//! relative value function of the age (Ross, Applied Probability Models with Optimization Applications,
//! 1970, chapter 7): whoever hands on an edge at age `b` that he got at age `a` owes `h(b) - h(a)`, and in
//! the usual wood every hour then costs `g`, whatever the age of the edge. It rises from nothing for a
//! fresh edge to a planned change for one that is due.

use super::edge_table::{EdgeTable, STEPS};
use super::play::Prices;

/// An hour of work and what comes with it, in the usual wood.
#[derive(Debug, Clone, Copy)]
pub struct UsualWear {
    /// Meter hours in one interval.
    pub hours: f64,
    /// Strikes expected in one interval.
    pub strikes: f64,
    /// Wear at which edges are changed on plan: one interval, or the end of the table where none pays.
    pub change_at: f64,
}

/// `h` against further wear; a planned change from `due` on.
#[derive(Debug, Clone)]
pub struct Worth {
    due: f64,
    planned: f64,
    values: Vec<f64>,
}

/// What is still to come at each step, for edges that began: chance alive, extra cost, wear.
struct ToCome {
    alive: Vec<f64>,
    cost: Vec<f64>,
    wear: Vec<f64>,
}

/// Money in the long run for one interval of wear: what `h` is set against.
pub fn long_run_cost(fresh: &EdgeTable, usual: &UsualWear, prices: &Prices) -> f64 {
    let to_come = ToCome::sum(fresh, usual.change_at, usual, prices);
    let first = |column: &[f64]| column.first().copied().unwrap_or(f64::NAN);
    (first(&to_come.cost) + prices.planned) / first(&to_come.wear)
}

impl Worth {
    /// Of an edge with this table; `long_run` is the cost for one interval of wear.
    pub fn new(table: &EdgeTable, usual: &UsualWear, prices: &Prices, long_run: f64) -> Self {
        let due = (usual.change_at - 1.0 + table.due).max(0.0);
        let to_come = ToCome::sum(table, due, usual, prices);
        let values = to_come.alive.iter().zip(&to_come.cost).zip(&to_come.wear);
        let value = |((alive, cost), wear): ((&f64, &f64), &f64)| {
            if *alive > 1e-9 {
                prices.planned + (cost - long_run * wear) / alive
            } else {
                prices.planned
            }
        };
        Self {
            due,
            planned: prices.planned,
            values: values.map(value).collect(),
        }
    }

    pub fn at(&self, age: f64) -> f64 {
        if age >= self.due {
            return self.planned;
        }
        let place = age / self.due * (self.values.len() - 1) as f64;
        let below = place as usize;
        let part = place - below as f64;
        match (self.values.get(below), self.values.get(below + 1)) {
            (Some(low), Some(high)) => low + part * (high - low),
            _ => self.planned,
        }
    }
}

impl ToCome {
    /// From `due` back to now, in steps.
    fn sum(table: &EdgeTable, due: f64, usual: &UsualWear, prices: &Prices) -> Self {
        let steps = ((due * STEPS as f64).ceil() as usize).max(1);
        let step = due / steps as f64;
        // At the start nobody has called yet, even where the lives say that somebody should have.
        let look = |k: usize| match (table.look(step * k as f64), k) {
            ((_, wear), 0) => (1.0, wear),
            (look, _) => look,
        };
        let spared = |k: usize| (-usual.strikes * step * k as f64).exp();
        let mut to_come = Self {
            alive: (0..=steps).map(|k| look(k).0 * spared(k)).collect(),
            cost: vec![0.0; steps + 1],
            wear: vec![0.0; steps + 1],
        };
        for k in (0..steps).rev() {
            let ((survival, worn), (next, next_worn)) = (look(k), look(k + 1));
            let gone = to_come.alive[k] - to_come.alive[k + 1];
            let called = (survival - next) * 0.5 * (spared(k) + spared(k + 1));
            let running = usual.hours * step * prices.running;
            let running = running * 0.5 * (worn * spared(k) + next_worn * spared(k + 1));
            to_come.cost[k] = to_come.cost[k + 1]
                + called * (prices.called - prices.planned)
                + (gone - called).max(0.0) * (prices.struck - prices.planned)
                + running;
            to_come.wear[k] =
                to_come.wear[k + 1] + 0.5 * step * (to_come.alive[k] + to_come.alive[k + 1]);
        }
        to_come
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decisions::{AgeReplacement, Cheapest, CycleCosts};
    use crate::quantities::{MeterHours, Money, WearFraction};
    use crate::wear::{Family, LifeLaw};

    fn law(hours: f64) -> LifeLaw {
        LifeLaw {
            family: Family::Weibull,
            log_median: hours.ln(),
            sigma: 0.33,
        }
    }

    const PRICES: Prices = Prices {
        planned: 90.0,
        called: 240.0,
        struck: 440.0,
        running: 6.0,
    };

    fn costs() -> CycleCosts {
        let money = |amount| Money::new(amount).unwrap();
        CycleCosts {
            planned: money(90.0),
            forced_extra: money(150.0),
            strike_extra: money(350.0),
            running_at_dull: money(6.0),
            call_at: Some(WearFraction::new(1.3).unwrap()),
        }
    }

    /// The long-run cost of these sums against the exact sums of age replacement.
    #[test]
    fn the_long_run_cost_is_that_of_age_replacement() {
        for hours in [20.0, 45.0, 80.0] {
            let exact = AgeReplacement::new(&law(60.0), 0.004, &costs()).unwrap();
            let interval = MeterHours::new(hours).unwrap();
            let exact = exact.cost_per_hour(interval).unwrap().get();
            let usual = UsualWear {
                hours,
                strikes: 0.004 * hours,
                change_at: 1.0,
            };
            let fresh = EdgeTable::fresh(law(60.0 / hours), 1.3);
            let found = long_run_cost(&fresh, &usual, &PRICES) / hours;
            assert!(
                (found / exact - 1.0).abs() < 2e-3,
                "{found} against {exact}"
            );
        }
    }

    #[test]
    fn worth_rises_from_nothing_to_a_planned_change() {
        // The cheapest interval: past it an edge would owe more than a change.
        let exact = AgeReplacement::new(&law(60.0), 0.002, &costs()).unwrap();
        let Cheapest::ChangeAt { interval, .. } = exact.cheapest().unwrap() else {
            panic!("an interval");
        };
        let hours = interval.get();
        let usual = UsualWear {
            hours,
            strikes: 0.002 * hours,
            change_at: 1.0,
        };
        let fresh = EdgeTable::fresh(law(60.0 / hours), 1.3);
        let long_run = long_run_cost(&fresh, &usual, &PRICES);
        let worth = Worth::new(&fresh, &usual, &PRICES, long_run);
        assert!(worth.at(0.0).abs() < 1e-9);
        assert!((worth.at(1.0) - 90.0).abs() < 1e-9);
        assert!((worth.at(0.9999) - 90.0).abs() < 0.1);
        let values: Vec<f64> = (0..=20).map(|i| worth.at(f64::from(i) / 20.0)).collect();
        assert!(
            values.windows(2).all(|pair| pair[0] < pair[1] + 0.02),
            "{values:?}"
        );
    }
}
