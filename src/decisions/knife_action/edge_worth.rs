//! The best that can be made of one edge: run on, touch up, or end its work, at each age.

use super::age_steps::{AgeSteps, Step};

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

impl Step {
    /// With nothing after it.
    fn worth(&self) -> Worth {
        Worth {
            cost: self.cost,
            hours: self.hours,
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
    /// With this many touch-ups left: running on from each age that is asked about.
    run: Vec<Worth>,
    /// With one fewer left, the best from each age; empty where none is left.
    touched: Vec<Worth>,
}

impl EdgeWorth {
    /// For ages from `earliest` on. Ages from which nothing is worth more than to end the edge's work are left as
    /// they are, for each touch-up still to be made.
    pub(super) fn at_rate(
        grid: &AgeSteps,
        touch_up: TouchUp,
        most: u32,
        rate: f64,
        earliest: f64,
    ) -> Self {
        let count = grid.steps.len();
        let kept = 1.0 - touch_up.share;
        // A step that costs more than its hours are worth, as all after it do, is not run.
        let pays = |step: &Step| step.cost - rate * step.hours < 0.0;
        let mut end = grid.steps.iter().rposition(pays).map_or(0, |last| last + 1);
        let first = ((earliest / grid.step) as usize).min(count.saturating_sub(1));
        let starts = starts(first, kept, most);
        let (mut touched, mut best) = (Vec::new(), Vec::new());
        let mut run = vec![Worth::default(); count];
        for (left, start) in (0..=most).zip(starts.into_iter().rev()) {
            touched = std::mem::take(&mut best);
            best = vec![Worth::default(); count];
            if left > 0 {
                // A touch-up brings back what is within the last end.
                end = ((end as f64 / kept) as usize).saturating_add(2).min(count);
            }
            let mut next = Worth::default();
            let worked = start.min(end)..end;
            let steps = grid.steps[worked.clone()].iter();
            let places = steps
                .zip(&mut run[worked.clone()])
                .zip(&mut best[worked.clone()]);
            for (i, ((step, run), best)) in worked.zip(places).rev() {
                let on = step.worth().plus(next.scaled(step.goes_on));
                next = Worth::default().cheaper(on, rate);
                if left > 0 {
                    let up = between(&touched, kept * i as f64).costing(touch_up.cost);
                    next = next.cheaper(up, rate);
                }
                (*run, *best) = (on, next);
            }
        }
        let beyond = grid.steps.iter().zip(&mut run).skip(end);
        beyond.for_each(|(step, run)| *run = step.worth());
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

/// The first age that must be known with so many touch-ups left, and with each fewer.
fn starts(first: usize, kept: f64, most: u32) -> Vec<usize> {
    let earlier = |start: &usize| Some(((kept * *start as f64) as usize).saturating_sub(1));
    let starts = std::iter::successors(Some(first), earlier);
    starts.take(most as usize + 1).collect()
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

#[cfg(test)]
mod tests {
    use super::super::age_steps::RunningCosts;
    use super::*;
    use crate::wear::{Family, LifeLaw};

    /// Every age with every number of touch-ups left, with nothing left out.
    fn whole(grid: &AgeSteps, touch_up: TouchUp, most: u32, rate: f64) -> (Vec<Worth>, Vec<Worth>) {
        let (mut run, mut touched, mut best) = (Vec::new(), Vec::new(), Vec::new());
        for left in 0..=most {
            touched = std::mem::take(&mut best);
            run = vec![Worth::default(); grid.steps.len()];
            best = run.clone();
            let mut next = Worth::default();
            for (i, step) in grid.steps.iter().enumerate().rev() {
                run[i] = step.worth().plus(next.scaled(step.goes_on));
                next = Worth::default().cheaper(run[i], rate);
                if left > 0 {
                    let age = (1.0 - touch_up.share) * i as f64;
                    next = next.cheaper(between(&touched, age).costing(touch_up.cost), rate);
                }
                best[i] = next;
            }
        }
        (run, touched)
    }

    #[test]
    fn ages_left_out_do_not_count() {
        let costs = RunningCosts {
            forced_extra: 120.0,
            strike_extra: 300.0,
            running_at_dull: 6.0,
            call_at: 1.3,
            strikes_per_hour: 0.002,
        };
        let law = |sigma| LifeLaw {
            family: Family::Weibull,
            log_median: 50.0_f64.ln(),
            sigma,
        };
        for sigma in [0.1, 0.33, 0.9] {
            let grid = AgeSteps::of_law(&law(sigma), &costs, 1.25);
            for (share, cost) in [(0.0, 5.0), (0.25, 20.0), (0.6, 0.0), (1.0, 15.0)] {
                for (rate, most) in [(0.5, 2), (3.0, 2), (6.0, 1), (40.0, 0), (1e4, 2)] {
                    let touch_up = TouchUp { cost, share };
                    let (run, touched) = whole(&grid, touch_up, most, rate);
                    for earliest in [0.0, 3.0, 31.7, 70.0, 900.0] {
                        let own = EdgeWorth::at_rate(&grid, touch_up, most, rate, earliest);
                        assert_eq!(own.run_on(earliest), between(&run, earliest / 1.25));
                        let later = (1.0 - share) * earliest;
                        let once = (most > 0).then(|| between(&touched, later / 1.25));
                        assert_eq!(own.once_touched(later), once, "{touch_up:?} {rate}");
                    }
                }
            }
        }
    }
}
