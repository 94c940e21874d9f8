//! The age of least cost for one life law.

use super::AgeReplacement;
use crate::numerics::brent_root;
use crate::quantities::{MeterHours, Money};

/// A finite age that saves a smaller share than this against running until called is no rule worth
/// keeping, and is told from it only by rounding.
const WORTH_A_RULE: f64 = 1e-9;
/// Absolute error of `ln tau` at an optimum.
const CLOSE: f64 = 1e-12;

/// What is cheapest for one life law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cheapest {
    /// Change at this age.
    ChangeAt {
        /// The interval.
        interval: MeterHours,
        /// Expected cost per meter hour.
        cost_per_hour: Money,
    },
    /// No age beats running until the crew calls for a change, or a strike forces one.
    RunUntilCalled {
        /// Expected cost per meter hour.
        cost_per_hour: Money,
    },
}

/// The same as plain numbers: `age` is `None` where edges had better run until called.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::decisions) struct Least {
    pub age: Option<f64>,
    pub rate: f64,
}

impl AgeReplacement {
    /// The age of least cost. Several ages may be cheaper than their neighbours where hazard does
    /// not rise throughout; the cheapest of all counts.
    pub(in crate::decisions) fn least(&self) -> Least {
        let until_called = self.rate_until_called();
        let candidates = if self.edges.is_empty() {
            self.turn_of_never_called()
        } else {
            self.turns()
        };
        let best = candidates
            .into_iter()
            .map(|age| (age, self.rate(age)))
            .min_by(|left, right| left.1.total_cmp(&right.1));
        match best {
            Some((age, rate)) if rate < until_called * (1.0 - WORTH_A_RULE) => Least {
                age: Some(age),
                rate,
            },
            _ => Least {
                age: None,
                rate: until_called,
            },
        }
    }

    /// The rise of cost per hour with age, up to a factor that is never negative: `N' L - (K + N) L'`.
    fn rise(&self, age: f64) -> f64 {
        let cycle = self.cycle(age);
        cycle.cost_slope * cycle.length - (self.costs.planned + cycle.cost) * cycle.length_slope
    }

    /// Ages at which cost per hour stops falling and starts to rise.
    fn turns(&self) -> Vec<f64> {
        let planned = self.costs.planned;
        let rises: Vec<(f64, f64)> = self
            .at_edges()
            .map(|(age, cycle)| {
                let paid = planned + cycle.cost;
                (
                    age,
                    cycle.cost_slope * cycle.length - paid * cycle.length_slope,
                )
            })
            .collect();
        let below = rises
            .first()
            .filter(|(_, rise)| *rise > 0.0)
            .and_then(|first| self.turn_below(*first));
        let between = rises
            .windows(2)
            .filter(|pair| pair[0].1 < 0.0 && pair[1].1 >= 0.0)
            .filter_map(|pair| self.turn_between(pair[0], pair[1]));
        below.into_iter().chain(between).collect()
    }

    /// The turn between two ages, each with the rise of cost there.
    fn turn_between(&self, low: (f64, f64), high: (f64, f64)) -> Option<f64> {
        let rise = |log_age: f64| self.rise(log_age.exp());
        brent_root((low.0.ln(), low.1), (high.0.ln(), high.1), CLOSE, rise).map(f64::exp)
    }

    /// Cost per hour is infinite at age zero, so that it falls somewhere below.
    fn turn_below(&self, rising: (f64, f64)) -> Option<f64> {
        let mut high = rising;
        for _ in 0..400 {
            let age = 0.5 * high.0;
            let low = (age, self.rise(age));
            if low.1 < 0.0 {
                return self.turn_between(low, high);
            }
            high = low;
        }
        None
    }

    fn turn_of_never_called(&self) -> Vec<f64> {
        let wear = self.costs.running_at_dull * self.mean_wear_rate();
        if wear <= 0.0 {
            return Vec::new();
        }
        // Exact without strikes; a start otherwise.
        let mut high = (2.0 * self.costs.planned / wear).sqrt();
        for _ in 0..400 {
            let rise = self.rise(high);
            if rise >= 0.0 {
                return self.turn_below((high, rise)).into_iter().collect();
            }
            high *= 1.5;
        }
        Vec::new()
    }
}
