//! One edge on a grid of ages: what each step costs, how long it takes, and how likely it is got through.

use crate::wear::{LifeDistribution, LifeLaw};

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
        let last = (law.location() + law.sigma * law.family.quantile(1.0 - LATE)).exp();
        let not_dull_by = |age: f64| {
            if age > 0.0 {
                law.family.log_survival(law.standardised(age)).exp()
            } else {
                1.0
            }
        };
        Self::of(not_dull_by, last, costs, step)
    }

    /// For the lives that one edge may have.
    pub(super) fn of_lives(lives: &PossibleLives, costs: &RunningCosts, step: f64) -> Self {
        Self::of(|age| lives.longer_than(age), lives.longest(), costs, step)
    }

    fn of(longer_than: impl Fn(f64) -> f64, longest: f64, costs: &RunningCosts, step: f64) -> Self {
        let wanted = (costs.call_at * longest / step).ceil();
        let count = (wanted.clamp(1.0, MOST_STEPS as f64)) as usize;
        let mut uncalled: Vec<f64> = (0..count)
            .map(|i| longer_than(i as f64 * step / costs.call_at))
            .collect();
        uncalled.push(0.0);
        let mut after = 0.0;
        let mut steps: Vec<Step> = Vec::with_capacity(count);
        for (i, pair) in uncalled.windows(2).enumerate().rev() {
            let &[now, next] = pair else { continue };
            let rate = after + (now - next) * costs.call_at / ((i as f64 + 0.5) * step);
            let worn = (i as f64 + 0.5) * step * 0.5 * (rate + after);
            steps.push(one_step(costs, step, (now, next), worn));
            after = rate;
        }
        steps.reverse();
        Self { step, steps }
    }
}

/// One step; `worn` is the wear fraction halfway, summed over those not called.
fn one_step(costs: &RunningCosts, step: f64, (now, next): (f64, f64), worn: f64) -> Step {
    let (called, worn) = if now > 0.0 {
        (1.0 - next / now, worn / now)
    } else {
        (1.0, 0.0)
    };
    let struck = -(-costs.strikes_per_hour * step).exp_m1();
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
        let above = self.ends.partition_point(|end| *end <= age);
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
        assert!(PossibleLives::new(&[]).is_none());
        let only = PossibleLives::new(&[(10.0, 1.0)]).unwrap();
        assert_eq!((only.longer_than(9.0), only.longer_than(11.0)), (1.0, 0.0));
    }
}
