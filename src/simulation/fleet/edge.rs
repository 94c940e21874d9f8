//! One edge of a fleet at work, run by run, and what the tables say of it.

use super::{Dice, FROZEN, FleetPlan, SAME_JOB, WOODS};
use crate::logbook::{EdgeRun, EdgeSeen, EdgeWithRuns};
use crate::quantities::MeterHours;

/// Share of edges whose dulling is seen at once.
const ATTENDED: f64 = 0.4;
/// An edge that nobody found dull goes out after so many times the runs that are planned.
const LONGEST: f64 = 1.6;
/// Runs between two looks at an edge that is not attended, as a share of the runs planned.
const BETWEEN_LOOKS: f64 = 0.35;
/// Mean wear rate of all conditions, for the length of runs only.
const MEAN_RATE: f64 = 1.25;

pub(super) struct WorkingEdge<'p, 'd> {
    plan: &'p FleetPlan,
    dice: &'d mut Dice,
    /// Wear hours at which it is dull.
    life: f64,
    /// Meter hours at which it is struck.
    strike: f64,
    covariates: Vec<f64>,
    worn: f64,
    run_hours: f64,
    runs: Vec<EdgeRun>,
}

/// How a run ended.
#[derive(Clone, Copy, PartialEq)]
enum End {
    Sharp,
    Dull,
    Struck,
}

impl<'p, 'd> WorkingEdge<'p, 'd> {
    pub(super) fn new(plan: &'p FleetPlan, effect: f64, dice: &'d mut Dice) -> Self {
        let truth = &plan.truth;
        let log_life = truth.log_eta + effect + dice.exponential().ln() * (-truth.log_kappa).exp();
        Self {
            life: log_life.exp(),
            strike: dice.exponential() / truth.strikes_per_hour,
            covariates: conditions(dice),
            plan,
            dice,
            worn: 0.0,
            run_hours: 0.0,
            runs: Vec::new(),
        }
    }

    pub(super) fn life(mut self, id: String) -> EdgeWithRuns {
        let attended = self.dice.chance(ATTENDED);
        let planned = self.plan.runs_per_edge as f64;
        let between = ((BETWEEN_LOOKS * planned).round() as usize).max(1);
        let longest = ((LONGEST * planned).round() as usize).max(1);
        let (mut sharp, mut dull, mut struck);
        (sharp, dull) = (0, false);
        let seen = loop {
            let end = self.run(attended);
            struck = end == End::Struck;
            let done = self.runs.len();
            dull |= end == End::Dull;
            let looked = done.is_multiple_of(between) || done >= longest;
            match end {
                End::Dull if attended => break EdgeSeen::Exact { dull_run: done },
                End::Struck if attended => break EdgeSeen::Right { sharp_run: done },
                // Nobody can tell by a struck edge whether it was dull.
                End::Struck => break EdgeSeen::Right { sharp_run: sharp },
                _ if attended && done >= longest => break EdgeSeen::Right { sharp_run: done },
                _ if !attended && looked && dull => break found(sharp, done),
                _ if !attended && looked => sharp = done,
                _ => {}
            }
            if done >= longest {
                break EdgeSeen::Right { sharp_run: sharp };
            }
        };
        EdgeWithRuns {
            id,
            level: None,
            seen,
            struck,
            runs: self.runs,
        }
    }

    /// One more run, cut at a strike, and at the dulling where that is seen at once.
    fn run(&mut self, attended: bool) -> End {
        if !self.dice.chance(SAME_JOB) {
            self.covariates = conditions(self.dice);
        }
        let beta = self.plan.truth.beta;
        let log_rate: f64 = beta.iter().zip(&self.covariates).map(|(b, x)| b * x).sum();
        let rate = log_rate.exp();
        let mean = self.plan.truth.log_eta.exp() / MEAN_RATE / self.plan.runs_per_edge as f64;
        let mut hours = hundredths(self.dice.between(0.5, 1.5) * mean);
        let (to_dull, to_strike) = ((self.life - self.worn) / rate, self.strike - self.run_hours);
        let mut end = End::Sharp;
        if to_strike <= hours && !(attended && to_dull < to_strike) {
            (hours, end) = (rounded_up(to_strike), End::Struck);
        } else if to_dull <= hours {
            end = End::Dull;
            if attended {
                hours = rounded_up(to_dull);
            }
        }
        self.worn += rate * hours;
        self.run_hours += hours;
        self.runs.push(EdgeRun {
            hours: MeterHours::new(hours).unwrap_or(MeterHours::ZERO),
            covariates: self.covariates.clone(),
        });
        end
    }
}

fn conditions(dice: &mut Dice) -> Vec<f64> {
    let wood = (dice.uniform() * WOODS.len() as f64) as usize;
    let hard = WOODS.get(wood).copied().unwrap_or_default();
    let dirt = dice.pick(&super::DIRT).unwrap_or_default();
    vec![hard, dirt, f64::from(u8::from(dice.chance(FROZEN)))]
}

fn found(sharp_run: usize, dull_run: usize) -> EdgeSeen {
    match sharp_run {
        0 => EdgeSeen::Left { dull_run },
        _ => EdgeSeen::Interval {
            sharp_run,
            dull_run,
        },
    }
}

/// As an hour meter is read; never nothing.
fn hundredths(hours: f64) -> f64 {
    ((hours * 100.0).round() / 100.0).max(0.01)
}

/// A moment, to a ten-thousandth of an hour and not before it.
fn rounded_up(hours: f64) -> f64 {
    ((hours * 1e4).ceil() / 1e4).max(1e-4)
}
