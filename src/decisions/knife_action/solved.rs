//! What each action costs in a state, by a solved process.

use super::age_steps::{AgeSteps, PossibleLives};
use super::edge_worth::{EdgeWorth, Worth};
use super::process::KnifeProcess;
use crate::decisions::DecisionError;
use crate::quantities::Money;
use crate::wear::AgedDraw;

/// A knife set as it stands, for the process.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetNow<'e> {
    /// Whether putting its edge to work costs a change: it lies on the bench.
    pub on_bench: bool,
    /// Whether its knives have been ground before.
    pub reground: bool,
    /// Fresh edges beside the one at work.
    pub fresh_edges: u32,
    /// Grinds left after the next one; `None` where there is no next one.
    pub grinds_after_next: Option<u32>,
    /// Touch-ups since the last grind.
    pub touched_up: u32,
    /// The edge at work.
    pub edge: EdgeNow<'e>,
}

/// The edge at work, as one draw has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EdgeNow<'e> {
    /// It has not worked.
    Fresh,
    /// It has.
    Worked(&'e AgedDraw),
    /// Nobody knows.
    Unknown,
}

/// What each action costs beyond the hours it buys at the least cost rate, the best done ever after. Absent
/// where the state does not allow it, or where the edge at work is not known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ActionCosts {
    /// Run on for one step at least.
    pub keep_running: Option<f64>,
    /// Touch up in place.
    pub touch_up: Option<f64>,
    /// Turn to a fresh edge.
    pub flip: Option<f64>,
    /// Grind, all edges fresh.
    pub regrind: Option<f64>,
    /// A new set.
    pub replace: Option<f64>,
}

/// A process with its least cost rate.
#[derive(Debug, Clone)]
pub struct SolvedProcess {
    pub(super) process: KnifeProcess,
    pub(super) rate: f64,
    /// A fresh edge of new steel, to the end of its work.
    pub(super) new: Worth,
    /// A fresh reground edge.
    pub(super) reground: Worth,
}

impl SolvedProcess {
    /// The least long-run cost per wear hour.
    ///
    /// # Errors
    ///
    /// None: it was found to be finite.
    pub fn cost_per_hour(&self) -> Result<Money, DecisionError> {
        Ok(Money::new(self.rate)?)
    }

    /// From one new set, its first edge at work, to the next, at work.
    pub(super) fn whole(&self) -> Worth {
        let edges = self.process.edges;
        let grinds = self.process.regrinds.checked_sub(1);
        self.new.plus(self.rest(false, edges - 1, grinds))
    }

    /// What is to come once the edge at work has ended, with so many fresh edges beside it and so many
    /// grinds after the next one, up to a new set at work.
    fn rest(&self, reground: bool, fresh_edges: u32, grinds_after_next: Option<u32>) -> Worth {
        let replace = self.replaced();
        let mut best = replace;
        if let Some(grinds) = grinds_after_next {
            best = best.cheaper(self.ground(grinds), self.rate);
        }
        // With each further fresh edge: turn to it, or not.
        for _ in 0..fresh_edges {
            best = best.cheaper(self.flipped(reground).plus(best), self.rate);
        }
        best
    }

    fn fresh(&self, reground: bool) -> Worth {
        if reground { self.reground } else { self.new }
    }

    fn replaced(&self) -> Worth {
        let costs = &self.process.costs;
        Worth::default().costing(costs.new_set.get() + costs.change.get())
    }

    fn flipped(&self, reground: bool) -> Worth {
        self.fresh(reground)
            .costing(self.process.costs.change.get())
    }

    /// Ground now, and all that comes after, with so many grinds left then.
    fn ground(&self, grinds: u32) -> Worth {
        let costs = &self.process.costs;
        let edges = self.process.edges;
        let mut best = self.replaced();
        for left in 0..=grinds {
            // Edges of a set with `left` grinds left; `best` is what comes after them.
            for _ in 1..edges {
                best = best.cheaper(self.flipped(true).plus(best), self.rate);
            }
            let ground = self.fresh(true).plus(best);
            let ground = ground.costing(costs.grind.get() + costs.change.get());
            if left == grinds {
                return ground;
            }
            best = self.replaced().cheaper(ground, self.rate);
        }
        best
    }

    /// What each action costs in this state.
    pub fn actions(&self, now: &SetNow<'_>) -> ActionCosts {
        let rest = self.rest(now.reground, now.fresh_edges, now.grinds_after_next);
        let put_in = if now.on_bench {
            self.process.costs.change.get()
        } else {
            0.0
        };
        let (run, touched) = self.of_edge(now);
        let then = |worth: Worth| worth.plus(rest).beyond(self.rate);
        let flip = || {
            let fewer = now.fresh_edges.checked_sub(1)?;
            let after = self.rest(now.reground, fewer, now.grinds_after_next);
            Some(self.flipped(now.reground).plus(after).beyond(self.rate))
        };
        ActionCosts {
            keep_running: run.map(|run| then(run.costing(put_in))),
            touch_up: touched
                .map(|touched| then(touched.costing(self.process.costs.touch_up.get() + put_in))),
            flip: flip(),
            regrind: now
                .grinds_after_next
                .map(|grinds| self.ground(grinds).beyond(self.rate)),
            replace: Some(self.replaced().beyond(self.rate)),
        }
    }

    /// Running on with the edge at work, and going on with it once touched up.
    fn of_edge(&self, now: &SetNow<'_>) -> (Option<Worth>, Option<Worth>) {
        match now.edge {
            EdgeNow::Unknown => (None, None),
            EdgeNow::Fresh => (Some(self.fresh(now.reground)), None),
            EdgeNow::Worked(aged) => self.of_worked(aged, now.touched_up),
        }
    }

    fn of_worked(&self, aged: &AgedDraw, touched_up: u32) -> (Option<Worth>, Option<Worth>) {
        let Some(lives) = PossibleLives::new(&aged.lives) else {
            return (None, None);
        };
        let running = self.process.running_costs();
        let steps = AgeSteps::of_lives(&lives, &running, self.process.step.get());
        let left = self.process.touch_ups.saturating_sub(touched_up);
        let touch_up = self.process.touch_up();
        let worth = EdgeWorth::at_rate(&steps, touch_up, left, self.rate, aged.wear);
        // Lives that would have been called by now are called as soon as it runs.
        let else_called = |age: f64, on: Worth| {
            let uncalled = lives.longer_than(age / running.call_at);
            Worth {
                cost: uncalled * on.cost + (1.0 - uncalled) * running.forced_extra,
                hours: uncalled * on.hours,
            }
        };
        let later = (1.0 - self.process.touch_up_share) * aged.wear;
        let touched = worth.once_touched(later);
        (
            Some(else_called(aged.wear, worth.run_on(aged.wear))),
            touched.map(|touched| else_called(later, touched)),
        )
    }
}
