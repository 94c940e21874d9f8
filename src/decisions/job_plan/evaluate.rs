//! The plan under every draw.

use super::answer::{JobPlan, Leaving, OrderFound, PlannedJob, Sets};
use super::operators::{Operators, change_from, cost_at};
use super::order::best_order;
use super::play::{Kind, Live, Play, Prices, Sums};
use super::question::{JobQuestion, PresentEdge};
use super::scaled::{Scaled, prices, scale};
use crate::decisions::spread::{estimate, mean};
use crate::decisions::{Caveat, DecisionError, caveats};
use crate::quantities::{Estimate, MeterHours, Money, Probability, QuantityError};
use rayon::prelude::*;

/// What is done at the yard before leaving.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Leave {
    Keep,
    Change,
}

/// An order with its changes.
struct Course {
    order: Vec<usize>,
    /// For each job, what leaving with an edge costs beyond changing it first.
    gains: Vec<Vec<f64>>,
    leave: Leave,
}

/// A course reckoned under every draw.
struct Reckoned {
    course: Course,
    outcomes: Vec<Outcome>,
    leaving: Leaving,
    /// Chance that the edge now on lasts the first job if it is left on, draw by draw.
    present_lasts: Option<Vec<f64>>,
}

/// What one draw expects of one job.
#[derive(Debug, Clone, Copy, Default)]
struct Expected {
    change_before: f64,
    lasts: f64,
    sums: Sums,
    cost: f64,
}

/// What one draw expects of a course.
#[derive(Debug, Clone, Default)]
struct Outcome {
    jobs: Vec<Expected>,
    /// The chance of each place of the sets being the one at work at the end.
    places: Vec<f64>,
}

impl Outcome {
    fn cost(&self) -> f64 {
        self.jobs.iter().map(|job| job.cost).sum()
    }

    fn changes(&self) -> f64 {
        let jobs = self.jobs.iter();
        jobs.map(|job| job.change_before + changes_on(&job.sums))
            .sum()
    }

    fn forced_stops(&self) -> f64 {
        let jobs = self.jobs.iter();
        jobs.map(|job| job.sums.called + job.sums.struck).sum()
    }
}

fn changes_on(sums: &Sums) -> f64 {
    sums.called + sums.struck + sums.planned
}

/// Everything that a plan is reckoned with.
struct Reckoning<'a> {
    question: &'a JobQuestion,
    draws: Vec<Scaled>,
    prices: Prices,
    places: usize,
}

/// The plan of least expected cost: the order of the jobs, where to change, what to take and what it costs.
///
/// The order and the changes at the yard are found in the middle of the posterior; every figure of the
/// answer is then reckoned under each draw. No randomness: the same question has the same answer.
///
/// # Errors
///
/// [`DecisionError::NoJobs`], [`DecisionError::NoDraws`], [`DecisionError::ParameterOutOfRange`] and
/// [`DecisionError::CostOutOfRange`] for a question that makes no sense.
pub fn plan_jobs(question: &JobQuestion) -> Result<JobPlan, DecisionError> {
    let costs = question.costs.check()?;
    let (draws, middle) = scale(question, &costs)?;
    let prices = prices(&costs);
    let operators = Operators::new(&middle, prices, question.usual.changed_on_plan);
    let reckoning = Reckoning {
        places: places(question, &middle),
        question,
        draws,
        prices,
    };
    let (order, exact) = best_order(&operators);
    let written: Vec<usize> = (0..question.jobs.len()).collect();
    let as_written = reckoning.best_leave(&operators, written.clone())?;
    let mut plan = None;
    let mut saves = vec![0.0; as_written.outcomes.len()];
    if order != written {
        let found = reckoning.best_leave(&operators, order)?;
        let found_saves = saved(&as_written.outcomes, &found.outcomes);
        // The order as written stands unless another is cheaper over the draws, not only in their middle.
        if mean(&found_saves) > 0.0 {
            plan = Some(found);
            saves = found_saves;
        }
    }
    let order = OrderFound {
        exact,
        changed: plan.is_some(),
        saves: reckoning.money(&saves)?,
        chance_cheaper: share_above_zero(&saves)?,
    };
    reckoning.answer(&plan.unwrap_or(as_written), order)
}

/// Places of the sets that are told apart: twice what is expected and some more, in whole sets.
fn places(question: &JobQuestion, middle: &Scaled) -> usize {
    let wear: f64 = middle.jobs.iter().map(|job| job.wear).sum();
    let strikes: f64 = middle.jobs.iter().map(|job| job.strikes).sum();
    let sets = 6.0 + (2.0 * (wear + strikes)).ceil().min(100.0);
    question.edges.per_set.max(1) as usize * sets as usize
}

/// What the second course saves against the first, draw by draw.
fn saved(first: &[Outcome], second: &[Outcome]) -> Vec<f64> {
    let pairs = first.iter().zip(second);
    pairs
        .map(|(one, other)| one.cost() - other.cost())
        .collect()
}

fn share_above_zero(draws: &[f64]) -> Result<Probability, QuantityError> {
    let above = draws.iter().filter(|draw| **draw > 0.0).count();
    Probability::new(above as f64 / draws.len() as f64)
}

impl Reckoning<'_> {
    /// An order with the better of leaving with the edge that is on and of changing it first.
    fn best_leave(
        &self,
        operators: &Operators,
        order: Vec<usize>,
    ) -> Result<Reckoned, DecisionError> {
        let course = |leave| Course {
            gains: operators.gains(&order),
            order: order.clone(),
            leave,
        };
        let run = |leave| (course(leave), self.outcomes(&course(leave)));
        let first = |run: &(Course, Vec<Outcome>)| -> Option<Vec<f64>> {
            let outcomes = run.1.iter();
            let jobs = outcomes.map(|outcome| outcome.jobs.first());
            jobs.map(|job| job.map(|job| job.lasts)).collect()
        };
        let mut present_lasts = None;
        let (leaving, (course, outcomes)) = match self.question.present {
            PresentEdge::Fresh | PresentEdge::Unknown => {
                let keep = run(Leave::Keep);
                present_lasts = first(&keep);
                (Leaving::Fresh, keep)
            }
            PresentEdge::Struck => (Leaving::MustChange, run(Leave::Change)),
            PresentEdge::Worn(_) => {
                let (keep, change) = (run(Leave::Keep), run(Leave::Change));
                present_lasts = first(&keep);
                let change_saves = saved(&keep.1, &change.1);
                if mean(&change_saves) > 0.0 {
                    (self.leaving(Leave::Change, &change_saves)?, change)
                } else {
                    let keep_saves = saved(&change.1, &keep.1);
                    (self.leaving(Leave::Keep, &keep_saves)?, keep)
                }
            }
        };
        Ok(Reckoned {
            course,
            outcomes,
            leaving,
            present_lasts,
        })
    }

    fn leaving(&self, leave: Leave, saves: &[f64]) -> Result<Leaving, DecisionError> {
        let chance_cheaper = share_above_zero(saves)?;
        let saves = self.money(saves)?;
        Ok(match leave {
            Leave::Keep => Leaving::Keep {
                saves,
                chance_cheaper,
            },
            Leave::Change => Leaving::Change {
                saves,
                chance_cheaper,
            },
        })
    }

    fn outcomes(&self, course: &Course) -> Vec<Outcome> {
        let draws = self.draws.par_iter();
        draws.map(|draw| self.outcome(draw, course)).collect()
    }

    fn per_set(&self) -> usize {
        self.question.edges.per_set.max(1) as usize
    }

    /// The place of the edge on the machine within its set.
    fn first_place(&self) -> usize {
        let left = self.question.edges.left_on_machine as usize;
        self.per_set().saturating_sub(1).saturating_sub(left)
    }

    fn outcome(&self, draw: &Scaled, course: &Course) -> Outcome {
        let play = Play {
            tables: &draw.tables,
            prices: self.prices,
            per_set: self.per_set(),
            on_plan: self.question.usual.changed_on_plan,
        };
        let mut live = vec![self.start(draw)];
        let mut jobs = Vec::with_capacity(course.order.len());
        for (at, (job, gains)) in course.order.iter().zip(&course.gains).enumerate() {
            let Some(stretch) = draw.jobs.get(*job) else {
                continue;
            };
            let begins = draw.owed(&live);
            let change_before = play.change(&mut live, |edge| match at {
                0 => course.leave == Leave::Change,
                _ => edge.age > 0.0 && cost_at(gains, edge.kind, edge.age) > 0.0,
            });
            let lasts = draw.lasts(&live, stretch.wear) * (-stretch.strikes).exp();
            let (after, sums) = play.job(live, stretch);
            live = after;
            let cost = sums.cost + self.prices.planned * change_before + draw.owed(&live) - begins;
            jobs.push(Expected {
                change_before,
                lasts,
                sums,
                cost,
            });
        }
        let mut places = vec![0.0; self.places];
        for edge in &live {
            let pairs = places.iter_mut().zip(&edge.mass);
            pairs.for_each(|(place, mass)| *place += mass);
        }
        Outcome { jobs, places }
    }

    fn start(&self, draw: &Scaled) -> Live {
        let mut mass = vec![0.0; self.places];
        if let Some(first) = mass.get_mut(self.first_place()) {
            *first = 1.0;
        }
        Live {
            kind: match draw.tables.present {
                Some(_) => Kind::Present,
                None => Kind::Fresh,
            },
            // A struck edge is as good as due: it owes a whole change.
            age: if self.question.present == PresentEdge::Struck {
                1.0
            } else {
                0.0
            },
            mass,
        }
    }

    fn answer(&self, plan: &Reckoned, order: OrderFound) -> Result<JobPlan, DecisionError> {
        let (course, outcomes, leave) = (&plan.course, &plan.outcomes, plan.leaving);
        let question = self.question;
        let jobs = course.order.iter().enumerate();
        let jobs = jobs.map(|(at, job)| self.planned_job(course, outcomes, at, *job));
        let each = |of: fn(&Outcome) -> f64| outcomes.iter().map(of).collect::<Vec<f64>>();
        let strike = |draw: &Scaled| {
            let strikes: f64 = draw.jobs.iter().map(|job| job.strikes).sum();
            -(-strikes).exp_m1()
        };
        let strikes: Vec<f64> = self.draws.iter().map(strike).collect();
        Ok(JobPlan {
            jobs: jobs.collect::<Result<_, _>>()?,
            leave,
            present_lasts: plan
                .present_lasts
                .as_ref()
                .map(|draws| self.chance(draws))
                .transpose()?,
            sets: self.sets(outcomes, leave.changes())?,
            changes: self.number(&each(Outcome::changes))?,
            forced_stops: self.number(&each(Outcome::forced_stops))?,
            strike: self.chance(&strikes)?,
            cost: self.money(&each(Outcome::cost))?,
            order,
            interval: question.usual.interval,
            changed_on_plan: question.usual.changed_on_plan,
            caveats: self.caveats()?,
        })
    }

    fn caveats(&self) -> Result<Vec<Caveat>, DecisionError> {
        let mut caveats = caveats::of_jobs(&self.question.evidence)?;
        if self.question.present == PresentEdge::Unknown {
            caveats.push(Caveat::PresentEdgeUnknown);
        }
        Ok(caveats)
    }

    fn planned_job(
        &self,
        course: &Course,
        outcomes: &[Outcome],
        at: usize,
        job: usize,
    ) -> Result<PlannedJob, DecisionError> {
        let each = |of: fn(&Expected) -> f64| -> Vec<f64> {
            let jobs = outcomes.iter().filter_map(|outcome| outcome.jobs.get(at));
            jobs.map(of).collect()
        };
        let stretches = || self.draws.iter().filter_map(|draw| draw.jobs.get(job));
        let strikes: Vec<f64> = stretches().map(|it| -(-it.strikes).exp_m1()).collect();
        let interval = self.question.usual.interval.get();
        let wears: Vec<f64> = stretches().map(|it| interval * it.wear).collect();
        let from = course.gains.get(at).and_then(|gains| change_from(gains));
        let level = self.question.level;
        let hours = self
            .question
            .jobs
            .get(job)
            .map_or(MeterHours::ZERO, |job| job.hours);
        Ok(PlannedJob {
            written: job,
            hours,
            wears_like: estimate(mean(&wears), &wears, level, MeterHours::new)?,
            change_before: self.chance(&each(|job| job.change_before))?,
            change_from: from
                .map(|from| MeterHours::new(interval * from))
                .transpose()?,
            lasts: self.chance(&each(|job| job.lasts))?,
            changes: self.number(&each(|job| changes_on(&job.sums)))?,
            strike: self.chance(&strikes)?,
            cost: self.money(&each(|job| job.cost))?,
        })
    }

    /// The fewest sets beyond the one on the machine at leaving that run out with no more than the risk.
    fn sets(&self, outcomes: &[Outcome], changed_first: bool) -> Result<Sets, DecisionError> {
        let per_set = self.per_set();
        let leaving = self.first_place() + usize::from(changed_first);
        let first_beyond = |sets: usize| (leaving / per_set + 1 + sets) * per_set;
        let short = |sets: usize| {
            let beyond = outcomes
                .iter()
                .map(|outcome| outcome.places.iter().skip(first_beyond(sets)).sum::<f64>());
            (beyond.sum::<f64>() / outcomes.len() as f64).clamp(0.0, 1.0)
        };
        let most = self.places / per_set;
        let take = (0..most)
            .find(|sets| short(*sets) <= self.question.risk.get())
            .unwrap_or(most);
        let less = take.checked_sub(1).map(short);
        Ok(Sets {
            take: take as u32,
            risk: self.question.risk,
            chance_short: Probability::new(short(take))?,
            chance_short_with_one_less: less.map(Probability::new).transpose()?,
        })
    }

    fn money(&self, draws: &[f64]) -> Result<Estimate<Money>, DecisionError> {
        estimate(mean(draws), draws, self.question.level, Money::new)
    }

    fn number(&self, draws: &[f64]) -> Result<Estimate<f64>, DecisionError> {
        estimate(mean(draws), draws, self.question.level, Ok)
    }

    /// A chance; sums over many cells may miss one by rounding.
    fn chance(&self, draws: &[f64]) -> Result<Estimate<Probability>, DecisionError> {
        let dress = |chance: f64| Probability::new(chance.clamp(0.0, 1.0));
        estimate(mean(draws), draws, self.question.level, dress)
    }
}

impl Scaled {
    /// What the wear on the edge at work is worth.
    fn owed(&self, live: &[Live]) -> f64 {
        let worth = |edge: &Live| match (edge.kind, &self.worth_of_present) {
            (Kind::Present, Some(worth)) => worth.at(edge.age),
            _ => self.worth_of_fresh.at(edge.age),
        };
        live.iter().map(|edge| edge.chance() * worth(edge)).sum()
    }

    /// Chance that the edge at work is not called within further wear.
    fn lasts(&self, live: &[Live], wear: f64) -> f64 {
        let of = |edge: &Live| {
            let table = self.tables.of(edge.kind);
            let now = if edge.age > 0.0 {
                table.survival(edge.age)
            } else {
                1.0
            };
            if now > 0.0 {
                edge.chance() * table.survival(edge.age + wear) / now
            } else {
                0.0
            }
        };
        live.iter().map(of).sum()
    }
}
