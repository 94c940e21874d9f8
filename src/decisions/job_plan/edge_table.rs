//! An edge against further wear: the chance that it is still at work, and how worn it is.
//!
//! Wear is in intervals, counted from now (from fresh, for a fresh edge).

use crate::wear::LifeLaw;

/// Steps of a table in one interval.
pub const STEPS: usize = 32;
/// How far a table reaches, in intervals. The plan changes edges long before.
pub const REACH: usize = 4;
/// Stands in for "never called": no edge wears so far.
pub const NEVER: f64 = 1e6;

/// One edge.
#[derive(Debug, Clone)]
pub struct EdgeTable {
    lives: Lives,
    /// It is due after this much further wear.
    pub due: f64,
    /// `P(not called)`, at each step of further wear.
    survival: Vec<f64>,
    /// `E[wear fraction; not called]`.
    wear: Vec<f64>,
}

/// Further wear at which it will be called, with chances.
#[derive(Debug, Clone)]
enum Lives {
    /// A law of life, in intervals, called at a wear fraction.
    Law { law: LifeLaw, call_at: f64 },
    /// Lives one by one: `(call, chance)`, rising.
    Each(Vec<(f64, f64)>),
    /// Only the table.
    Pooled,
}

fn at(step: usize) -> f64 {
    step as f64 / STEPS as f64
}

impl EdgeTable {
    /// A fresh edge. `law` is in intervals.
    ///
    /// Wear fraction `a/T` while not called has mean `a E[1/T; call_at T > a]`, summed from the far end over
    /// steps of `T`.
    pub fn fresh(law: LifeLaw, call_at: f64) -> Self {
        let call_at = call_at.min(NEVER);
        let survives = |age: f64| 1.0 - law.chance_dull_by(age / call_at);
        let survival: Vec<f64> = (0..=STEPS * REACH).map(|k| survives(at(k))).collect();
        let mut rate = rate_beyond(at(STEPS * REACH), call_at, survives);
        let mut wear = vec![0.0; survival.len()];
        for k in (0..survival.len()).rev() {
            if let Some(next) = survival.get(k + 1) {
                rate += (survival[k] - next) * call_at / (at(k) + 0.5 / STEPS as f64);
            }
            wear[k] = at(k) * rate;
        }
        Self {
            lives: Lives::Law { law, call_at },
            due: 1.0,
            survival,
            wear,
        }
    }

    /// An edge that has worked: `worn` intervals on it, lives in intervals, rising, with their chances.
    pub fn worn(worn: f64, lives: &[(f64, f64)], call_at: f64) -> Self {
        let call_at = call_at.min(NEVER);
        let calls: Vec<(f64, f64)> = lives
            .iter()
            .map(|(life, chance)| (call_at * life - worn, *chance))
            .collect();
        let count = STEPS * REACH + 1;
        let (mut survival, mut wear) = (vec![0.0; count], vec![0.0; count]);
        // From the far end, so that each life is met once: the chance of all beyond, and their `E[1/T]`.
        let mut later = calls.iter().rev().peekable();
        let (mut chance, mut rate) = (0.0, 0.0);
        for k in (0..count).rev() {
            while let Some((call, share)) = later.next_if(|(call, _)| *call > at(k)) {
                chance += share;
                rate += share * call_at / (call + worn);
            }
            survival[k] = chance;
            wear[k] = (worn + at(k)) * rate;
        }
        Self {
            due: (1.0 - worn).max(0.0),
            survival,
            wear,
            lives: Lives::Each(calls),
        }
    }

    /// The average of edges, each as likely as the others.
    pub fn pooled<'a>(tables: impl Iterator<Item = &'a EdgeTable> + Clone) -> Self {
        let count = tables.clone().count().max(1) as f64;
        let mut pooled = Self {
            lives: Lives::Pooled,
            due: tables.clone().map(|table| table.due).sum::<f64>() / count,
            survival: vec![0.0; STEPS * REACH + 1],
            wear: vec![0.0; STEPS * REACH + 1],
        };
        for table in tables {
            let add = |sum: &mut Vec<f64>, part: &[f64]| {
                let pairs = sum.iter_mut().zip(part);
                pairs.for_each(|(sum, part)| *sum += part / count);
            };
            add(&mut pooled.survival, &table.survival);
            add(&mut pooled.wear, &table.wear);
        }
        pooled
    }

    /// `P(not called)` and `E[wear fraction; not called]` after further wear; zero beyond the table.
    pub fn look(&self, age: f64) -> (f64, f64) {
        let place = age * STEPS as f64;
        let below = place as usize;
        let part = place - below as f64;
        let between = |column: &[f64]| match (column.get(below), column.get(below + 1)) {
            (Some(low), Some(high)) => low + part * (high - low),
            _ => 0.0,
        };
        (between(&self.survival), between(&self.wear))
    }

    /// `P(not called)` after further wear, from the lives themselves where they are known.
    pub fn survival(&self, age: f64) -> f64 {
        match &self.lives {
            Lives::Law { law, call_at } => 1.0 - law.chance_dull_by(age / call_at),
            Lives::Each(calls) => {
                let beyond = calls.iter().filter(|(call, _)| *call > age);
                beyond.map(|(_, chance)| chance).sum()
            }
            Lives::Pooled => self.look(age).0,
        }
    }
}

/// `E[1/T; call_at T > from]` on steps that grow by a twentieth, until next to no edge is left.
fn rate_beyond(from: f64, call_at: f64, survives: impl Fn(f64) -> f64) -> f64 {
    const GROWTH: f64 = 1.05;
    const NEXT_TO_NONE: f64 = 1e-9;
    let (mut low, mut left) = (from, survives(from));
    let mut rate = 0.0;
    while left > NEXT_TO_NONE && low < 10.0 * NEVER {
        let high = low * GROWTH;
        let then = survives(high);
        rate += (left - then) * call_at * 2.0 / (low + high);
        (low, left) = (high, then);
    }
    rate
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::{Family, LifeDistribution};

    #[test]
    fn mean_wear_is_the_mean_over_many_lives() {
        let law = LifeLaw {
            family: Family::Weibull,
            log_median: 0.4,
            sigma: 0.3,
        };
        let table = EdgeTable::fresh(law, 1.3);
        let lives: Vec<f64> = (0..200_000)
            .map(|i| {
                let w = law.family.quantile((f64::from(i) + 0.5) / 200_000.0);
                (law.location() + law.sigma * w).exp()
            })
            .collect();
        for age in [0.25, 0.7, 1.3, 2.0] {
            let alive = || lives.iter().filter(|life| 1.3 * **life > age);
            let survival = alive().count() as f64 / lives.len() as f64;
            let wear = alive().map(|life| age / life).sum::<f64>() / lives.len() as f64;
            let (found, worn) = table.look(age);
            assert!((found - survival).abs() < 5e-4, "{age}: {found} {survival}");
            assert!((worn - wear).abs() < 2e-3, "{age}: {worn} {wear}");
            assert!((table.survival(age) - survival).abs() < 1e-5);
        }
    }

    #[test]
    fn a_worn_edge_made_of_the_fresh_law_lives_on_as_a_fresh_one_that_was_not_called() {
        let law = LifeLaw {
            family: Family::Weibull,
            log_median: 0.3,
            sigma: 0.3,
        };
        let fresh = EdgeTable::fresh(law, 1.3);
        let worn = 0.6;
        let lives: Vec<f64> = (0..20_000)
            .map(|i| law.family.quantile((f64::from(i) + 0.5) / 20_000.0))
            .map(|w| (law.location() + law.sigma * w).exp())
            .filter(|life| 1.3 * life > worn)
            .collect();
        let chance = 1.0 / lives.len() as f64;
        let lives: Vec<(f64, f64)> = lives.into_iter().map(|life| (life, chance)).collect();
        let table = EdgeTable::worn(worn, &lives, 1.3);
        let (alive, _) = fresh.look(worn);
        for further in [0.0, 0.5, 1.0] {
            let (survival, wear) = fresh.look(worn + further);
            let found = table.look(further);
            assert!((found.0 - survival / alive).abs() < 1e-3);
            assert!((found.1 - wear / alive).abs() < 3e-3);
        }
        assert!((table.due - 0.4).abs() < 1e-12);
    }
}
