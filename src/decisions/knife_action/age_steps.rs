//! One edge on a grid of ages: what each step costs, how long it takes, and how likely it is got through.

use crate::numerics::lanes::exp_each;
use crate::wear::{Family, LifeDistribution, LifeLaw};
use std::sync::LazyLock;

/// An edge of which fewer than this share would still be uncalled is called by then.
const LATE: f64 = 5e-4;
/// No grid has more steps: laws this scattered have a tail that no decision hangs on.
const MOST_STEPS: usize = 600;

/// What an hour costs beyond the change itself, and how it ends; plain numbers, wear hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RunningCosts {
    /// Beyond a planned change, for one forced in the field.
    pub forced_extra: f64,
    /// Beyond a planned change, after a strike.
    pub strike_extra: f64,
    /// An hour on a just-dull edge, beyond one on a fresh edge.
    pub running_at_dull: f64,
    /// Wear fraction at which the crew calls.
    pub call_at: f64,
    /// Strikes per wear hour.
    pub strikes_per_hour: f64,
}

/// Running on for one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    /// Chance that neither a call nor a strike ends it.
    pub goes_on: f64,
    /// Expected cost of the step: running, called, struck.
    pub cost: f64,
    /// Expected wear hours that it lasts.
    pub hours: f64,
}

/// Steps of one length `d` from age zero on.
///
/// With `S_i` the chance that an edge is not called by age `i d` (`w_call T > i d`), `R_i` the mean of
/// `1/T` over those, `c = 1 - S_(i+1)/S_i` and `s = 1 - e^(-lambda d)` the chances of a call and of a
/// strike within the step,
///
/// ```text
/// goes on   (1 - c)(1 - s)
/// hours     d (1 - c/2)(1 - s/2)
/// cost      P c (1 - s/2) + S_x s (1 - c/2) + c_d (i + 1/2) d^2 (R_i + R_(i+1)) / (2 S_i) (1 - s/2)
/// ```
///
/// the trapezoid rule for the integrals of age replacement: it errs by the square of the step.
#[derive(Debug, Clone)]
pub(super) struct AgeSteps {
    /// Length of a step.
    pub step: f64,
    /// From each age on; the last ends in a call.
    pub steps: Vec<Step>,
}

impl AgeSteps {
    /// For edges of a law of life, in the unit of its hours.
    pub(super) fn of_law(law: &LifeLaw, costs: &RunningCosts, step: f64) -> Self {
        let longest = (law.location() + law.sigma * law.family.quantile(1.0 - LATE)).exp();
        let count = step_count(longest, costs, step);
        Self::of(not_dull_by(law, step / costs.call_at, count), costs, step)
    }

    /// For the lives that one edge may have.
    pub(super) fn of_lives(lives: &PossibleLives, costs: &RunningCosts, step: f64) -> Self {
        let count = step_count(lives.longest(), costs, step);
        Self::of(
            lives.longer_than_each(step / costs.call_at, count),
            costs,
            step,
        )
    }

    /// From the chance that an edge is not called by each age.
    fn of(mut uncalled: Vec<f64>, costs: &RunningCosts, step: f64) -> Self {
        uncalled.push(0.0);
        let struck = -(-costs.strikes_per_hour * step).exp_m1();
        let mut after = 0.0;
        let mut steps: Vec<Step> = Vec::with_capacity(uncalled.len());
        for (i, pair) in uncalled.windows(2).enumerate().rev() {
            let &[now, next] = pair else { continue };
            let rate = after + (now - next) * costs.call_at / ((i as f64 + 0.5) * step);
            let worn = (i as f64 + 0.5) * step * 0.5 * (rate + after);
            steps.push(one_step(costs, (step, struck), (now, next), worn));
            after = rate;
        }
        steps.reverse();
        Self { step, steps }
    }
}

fn step_count(longest: f64, costs: &RunningCosts, step: f64) -> usize {
    let wanted = (costs.call_at * longest / step).ceil();
    wanted.clamp(1.0, MOST_STEPS as f64) as usize
}

/// The logs of whole numbers.
static LOGS: LazyLock<[f64; MOST_STEPS]> =
    LazyLock::new(|| std::array::from_fn(|i| (i as f64).ln()));

/// Chance that an edge is not dull by so many ages, `apart` from each other, from zero on.
fn not_dull_by(law: &LifeLaw, apart: f64, count: usize) -> Vec<f64> {
    // Beyond it nobody is left, and `exp` has no end.
    const FAR: f64 = 700.0;
    let first = apart.ln() - law.log_median;
    let standardised = |log: &f64| (log + first) / law.sigma + law.family.median();
    let mut at: Vec<f64> = LOGS.iter().take(count).map(standardised).collect();
    if law.family == Family::Weibull {
        at.iter_mut().for_each(|w| *w = w.min(FAR));
        exp_each(&mut at);
        at.iter_mut().for_each(|hazard| *hazard = -*hazard);
        exp_each(&mut at);
    } else {
        let survival = |w: &mut f64| *w = law.family.log_survival(*w).exp();
        at.iter_mut().skip(1).for_each(survival);
    }
    at.iter_mut().take(1).for_each(|fresh| *fresh = 1.0);
    at
}

/// One step, of such a length and with such a chance of a strike; `worn` is the wear fraction halfway, summed over
/// those not called.
fn one_step(
    costs: &RunningCosts,
    (step, struck): (f64, f64),
    (now, next): (f64, f64),
    worn: f64,
) -> Step {
    let (called, worn) = if now > 0.0 {
        (1.0 - next / now, worn / now)
    } else {
        (1.0, 0.0)
    };
    let till_struck = 1.0 - 0.5 * struck;
    Step {
        goes_on: (1.0 - called) * (1.0 - struck),
        hours: step * (1.0 - 0.5 * called) * till_struck,
        cost: costs.forced_extra * called * till_struck
            + costs.strike_extra * struck * (1.0 - 0.5 * called)
            + costs.running_at_dull * worn * step * till_struck,
    }
}

/// The lives that one edge may have, spread evenly between the nodes that they were found at.
#[derive(Debug, Clone)]
pub(super) struct PossibleLives {
    /// Ends of the stretches, rising.
    ends: Vec<f64>,
    /// Chance of a life longer than each end.
    longer: Vec<f64>,
}

impl PossibleLives {
    /// From lives, rising, with chances that add up to 1. Each chance is spread half-way to its neighbours.
    pub(super) fn new(lives: &[(f64, f64)]) -> Option<Self> {
        let (first, last) = (lives.first()?.0, lives.last()?.0);
        let mut ends = vec![first];
        ends.extend(lives.windows(2).filter_map(|pair| match pair {
            [one, next] => Some(0.5 * (one.0 + next.0)),
            _ => None,
        }));
        ends.push(last);
        let mut longer = vec![1.0];
        let mut left = 1.0;
        for (_, chance) in lives {
            left -= chance;
            longer.push(left.clamp(0.0, 1.0));
        }
        Some(Self { ends, longer })
    }

    pub(super) fn longest(&self) -> f64 {
        self.ends.last().copied().unwrap_or(0.0)
    }

    /// Chance that the life is longer than `age`; straight between the ends.
    pub(super) fn longer_than(&self, age: f64) -> f64 {
        self.after(self.ends.partition_point(|end| *end <= age), age)
    }

    /// The same of so many ages, `apart` from each other, from zero on.
    fn longer_than_each(&self, apart: f64, count: usize) -> Vec<f64> {
        let mut above = 0;
        let at = |i: usize| {
            let age = i as f64 * apart;
            while self.ends.get(above).is_some_and(|end| *end <= age) {
                above += 1;
            }
            self.after(above, age)
        };
        (0..count).map(at).collect()
    }

    /// At an age before that end and not before the one before it.
    fn after(&self, above: usize, age: f64) -> f64 {
        let at = |place: usize| Some((*self.ends.get(place)?, *self.longer.get(place)?));
        match (above.checked_sub(1).and_then(at), at(above)) {
            (None, _) => 1.0,
            (_, None) => 0.0,
            (Some((from, high)), Some((to, low))) => {
                high + (low - high) * (age - from) / (to - from)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lives_are_spread_between_their_nodes() {
        let lives = PossibleLives::new(&[(10.0, 0.25), (20.0, 0.5), (30.0, 0.25)]).unwrap();
        for (age, longer) in [
            (0.0, 1.0),
            (10.0, 1.0),
            (15.0, 0.75),
            (20.0, 0.5),
            (30.0, 0.0),
        ] {
            assert!((lives.longer_than(age) - longer).abs() < 1e-12, "{age}");
        }
        for (i, longer) in lives.longer_than_each(2.5, 15).into_iter().enumerate() {
            assert_eq!(longer, lives.longer_than(i as f64 * 2.5), "{i}");
        }
        assert!(PossibleLives::new(&[]).is_none());
        let only = PossibleLives::new(&[(10.0, 1.0)]).unwrap();
        assert_eq!((only.longer_than(9.0), only.longer_than(11.0)), (1.0, 0.0));
    }

    #[test]
    fn lives_of_a_law_are_those_that_it_says_itself() {
        for family in [Family::Weibull, Family::Lognormal, Family::Loglogistic] {
            for sigma in [0.001, 0.33, 3.0] {
                let (law, apart) = (
                    LifeLaw {
                        family,
                        log_median: 55.0_f64.ln(),
                        sigma,
                    },
                    1.1,
                );
                for (i, found) in not_dull_by(&law, apart, 400).into_iter().enumerate() {
                    let dull = law.chance_dull_by(i as f64 * apart);
                    assert!((found - (1.0 - dull)).abs() < 1e-12, "{law:?} {i}");
                }
            }
        }
    }
}
