//! The whole process: edges, grinds and new sets, solved for the least cost per wear hour.

use super::age_steps::{AgeSteps, RunningCosts};
use super::edge_worth::{EdgeWorth, TouchUp};
use super::knife_costs::KnifeCosts;
use super::solved::SolvedProcess;
use crate::decisions::DecisionError;
use crate::quantities::WearHours;
use crate::wear::LifeLaw;

/// Policy iteration ends when the cost rate moves by less than this share of itself. Each round squares
/// the error, so that the rate moved to, and what an edge is worth by the policy before, are good to 1e-8.
const SETTLED: f64 = 1e-4;
/// The first rounds are for a rate to start from, with decisions so many times as far apart and less care.
const COARSE: f64 = 4.0;
const ABOUT: f64 = 3e-3;
const MOST_ROUNDS: usize = 60;

/// A Markov decision process over the stock and the edges left of a knife set and the wear of the edge at
/// work, for one law of life. Hours are wear hours.
///
/// State: grinds left above the discard width `n`, fresh edges left `f`, age `i` of the edge at work in
/// steps, touch-ups left until the next grind `m`. At each step the edge is run on, touched up, or its
/// work is ended: by a flip (`f - 1`), a grind (`n - 1`, all edges fresh) or a new set. A call or a strike
/// ends it too, at an extra cost. The least long-run cost per hour `g` has
///
/// ```text
/// min over policies  E[ cost from one new set to the next ] - g E[ hours ] = 0
/// ```
///
/// (renewal reward: Ross (1970), Applied Probability Models with Optimization Applications, chapter 7).
/// It is found by policy iteration: the best policy at the last `g`, then that policy's own `g`. Since
/// what an edge does before its work ends does not hang on `n` and `f`, its ages are solved once for new
/// and once for reground steel, and then the sets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnifeProcess {
    /// Life of an edge of new steel.
    pub new: LifeLaw,
    /// Life of a reground edge.
    pub reground: LifeLaw,
    /// How often metal or stone comes, per wear hour.
    pub strikes_per_hour: f64,
    /// Share of the wear so far that a touch-up takes back.
    pub touch_up_share: f64,
    /// What things cost.
    pub costs: KnifeCosts,
    /// Cutting edges on a knife.
    pub edges: u32,
    /// Grinds that a new set lasts.
    pub regrinds: u32,
    /// Touch-ups that an edge takes between two grinds.
    pub touch_ups: u32,
    /// Hours from one decision to the next.
    pub step: WearHours,
}

/// How the cost rate of a process compares with the first guesses at it: draws of one machine are alike in this.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Likeness {
    /// The rate of decisions far apart over the first guess.
    coarse: f64,
    /// The rate over that.
    fine: f64,
}

impl Default for Likeness {
    fn default() -> Self {
        Self {
            coarse: 1.0,
            fine: 1.0,
        }
    }
}

impl Likeness {
    /// A comparison that makes no sense is none.
    fn of(coarse: f64, fine: f64) -> Self {
        let sound = |ratio: f64| (0.01..=100.0).contains(&ratio);
        if sound(coarse) && sound(fine) {
            Self { coarse, fine }
        } else {
            Self::default()
        }
    }
}

impl KnifeProcess {
    /// Finds the least cost per wear hour.
    ///
    /// # Errors
    ///
    /// [`DecisionError::CostOutOfRange`] for a cost that makes no sense or a step of no hours, and
    /// [`DecisionError::ParameterOutOfRange`] for a law or a share that makes none.
    pub fn solve(&self) -> Result<SolvedProcess, DecisionError> {
        self.solve_like(&mut Likeness::default())
    }

    /// The same, where the process solved last tells how far off the first guesses are; told of this one's.
    pub(super) fn solve_like(&self, last: &mut Likeness) -> Result<SolvedProcess, DecisionError> {
        self.check()?;
        let step = self.step.get();
        let first = self.first_rate();
        let near = self.settled(COARSE * step, last.coarse * first, ABOUT).rate;
        let start = if near.is_finite() { near } else { first };
        let solved = self.settled(step, last.fine * start, SETTLED);
        let rate = solved.rate;
        if rate.is_finite() {
            *last = Likeness::of(start / first, rate / start);
            Ok(solved)
        } else {
            Err(DecisionError::ParameterOutOfRange {
                parameter: "the cost rate of a draw",
                low: 0.0,
                high: f64::MAX,
                found: rate,
            })
        }
    }

    /// Policy iteration with decisions so far apart, until the rate moves by less than a share of itself.
    fn settled(&self, step: f64, first_rate: f64, share: f64) -> SolvedProcess {
        let running = self.running_costs();
        let new_steps = AgeSteps::of_law(&self.new, &running, step);
        let reground_steps = AgeSteps::of_law(&self.reground, &running, step);
        let mut solved = self.at_rate(&new_steps, &reground_steps, first_rate);
        for _ in 0..MOST_ROUNDS {
            let whole = solved.whole();
            let next = whole.cost / whole.hours;
            let moved = (next - solved.rate).abs();
            if moved <= share * next.abs() {
                solved.rate = next;
                break;
            }
            solved = self.at_rate(&new_steps, &reground_steps, next);
        }
        solved
    }

    fn check(&self) -> Result<(), DecisionError> {
        self.costs.check()?;
        let within = |parameter, low: f64, high: f64, found: f64| {
            let fits = (low..=high).contains(&found);
            fits.then_some(())
                .ok_or(DecisionError::ParameterOutOfRange {
                    parameter,
                    low,
                    high,
                    found,
                })
        };
        within("hours between decisions", 1e-9, 1e12, self.step.get())?;
        within("edges on a knife", 1.0, 100.0, f64::from(self.edges))?;
        within("grinds of a new set", 0.0, 1000.0, f64::from(self.regrinds))?;
        within(
            "share taken back by a touch-up",
            0.0,
            1.0,
            self.touch_up_share,
        )?;
        within("strikes per hour", 0.0, 1e9, self.strikes_per_hour)?;
        for law in [&self.new, &self.reground] {
            within("the log of median life", -200.0, 200.0, law.log_median)?;
            within("the spread of log life", 0.001, 8.0, law.sigma)?;
        }
        Ok(())
    }

    pub(super) fn running_costs(&self) -> RunningCosts {
        RunningCosts {
            forced_extra: self.costs.forced_extra.get(),
            strike_extra: self.costs.strike_extra.get(),
            running_at_dull: self.costs.running_at_dull.get(),
            call_at: self.costs.call_at.get(),
            strikes_per_hour: self.strikes_per_hour,
        }
    }

    pub(super) fn touch_up(&self) -> TouchUp {
        TouchUp {
            cost: self.costs.touch_up.get(),
            share: self.touch_up_share,
        }
    }

    /// Somewhere near: a planned change for each median life, running at half dull.
    fn first_rate(&self) -> f64 {
        let costs = &self.costs;
        let each = costs.change.get()
            + (costs.new_set.get() + f64::from(self.regrinds) * costs.grind.get())
                / f64::from((self.regrinds + 1) * self.edges);
        each / self.reground.log_median.exp() + 0.5 * costs.running_at_dull.get()
    }

    fn at_rate(&self, new: &AgeSteps, reground: &AgeSteps, rate: f64) -> SolvedProcess {
        let fresh =
            |steps| EdgeWorth::at_rate(steps, self.touch_up(), self.touch_ups, rate, 0.0).fresh();
        SolvedProcess {
            process: *self,
            rate,
            new: fresh(new),
            reground: fresh(reground),
        }
    }
}
