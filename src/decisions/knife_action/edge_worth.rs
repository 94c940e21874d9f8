//! The best that can be made of one edge: run on, touch up, or end its work, at each age.

use super::age_steps::AgeSteps;

/// Expected cost and wear hours of what is to come.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Worth {
    pub cost: f64,
    pub hours: f64,
}

impl Worth {
    /// The cost beyond what these hours are worth at a cost rate.
    pub(super) fn beyond(self, rate: f64) -> f64 {
        self.cost - rate * self.hours
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            cost: self.cost + other.cost,
            hours: self.hours + other.hours,
        }
    }

    pub(super) fn costing(self, cost: f64) -> Self {
        Self {
            cost: self.cost + cost,
            ..self
        }
    }

    pub(super) fn cheaper(self, other: Self, rate: f64) -> Self {
        if other.beyond(rate) < self.beyond(rate) {
            other
        } else {
            self
        }
    }

    fn scaled(self, share: f64) -> Self {
        Self {
            cost: share * self.cost,
            hours: share * self.hours,
        }
    }
}

/// Touching up in place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TouchUp {
    /// What one costs.
    pub cost: f64,
    /// Share of the wear so far that it takes back.
    pub share: f64,
}

/// One edge at a cost rate `g`: what each age is worth, by touch-ups still to be made.
///
/// ```text
/// J_m(i) = min{ 0,  run_m(i),  c_t + J_(m-1)((1 - q) i) }        run_m(i) = step_i + goes on_i J_m(i + 1)
/// ```
///
/// each measured as cost less `g` times hours; 0 is to end the edge's work, whose cost comes after. An age
/// between two of the grid is one of them, with chances that keep its mean.
#[derive(Debug, Clone)]
pub(super) struct EdgeWorth {
    /// Ages a step apart.
    step: f64,
    /// With this many touch-ups left: running on from each age.
    run: Vec<Worth>,
    /// With one fewer left, the best from each age; empty where none is left.
    touched: Vec<Worth>,
}

impl EdgeWorth {
    pub(super) fn at_rate(grid: &AgeSteps, touch_up: TouchUp, most: u32, rate: f64) -> Self {
        let count = grid.steps.len();
        let (mut run, mut touched, mut best) = (Vec::new(), Vec::new(), Vec::new());
        for left in 0..=most {
            touched = std::mem::take(&mut best);
            run = vec![Worth::default(); count];
            best = vec![Worth::default(); count];
            let mut next = Worth::default();
            let places = grid.steps.iter().zip(&mut run).zip(&mut best);
            for (i, ((step, run), best)) in places.enumerate().rev() {
                let on = Worth {
                    cost: step.cost,
                    hours: step.hours,
                }
                .plus(next.scaled(step.goes_on));
                next = Worth::default().cheaper(on, rate);
                if left > 0 {
                    let age = (1.0 - touch_up.share) * i as f64;
                    let up = between(&touched, age).costing(touch_up.cost);
                    next = next.cheaper(up, rate);
                }
                (*run, *best) = (on, next);
            }
        }
        Self {
            step: grid.step,
            run,
            touched,
        }
    }

    /// A fresh edge put to work, for one step at least.
    pub(super) fn fresh(&self) -> Worth {
        self.run.first().copied().unwrap_or_default()
    }

    /// Running on from an age, for one step at least.
    pub(super) fn run_on(&self, age: f64) -> Worth {
        between(&self.run, age / self.step)
    }

    /// The best from an age after a touch-up; `None` where none is left.
    pub(super) fn once_touched(&self, age: f64) -> Option<Worth> {
        (!self.touched.is_empty()).then(|| between(&self.touched, age / self.step))
    }
}

/// Straight between two places; the last where `place` lies beyond it.
fn between(values: &[Worth], place: f64) -> Worth {
    // Places are zero or more: the cast takes the floor, without a call for it.
    let below = place as usize;
    let share = place - below as f64;
    if let Some([low, high]) = values.get(below..).and_then(<[Worth]>::first_chunk) {
        return low.scaled(1.0 - share).plus(high.scaled(share));
    }
    values.last().copied().unwrap_or_default()
}
