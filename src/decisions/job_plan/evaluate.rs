//! The plan under every draw.

use super::answer::{JobPlan, Leaving, OrderFound};
use super::operators::{Operators, cost_at};
use super::order::best_order;
use super::play::{Kind, Live, Play, Prices, Sums};
use super::question::{JobQuestion, PresentEdge};
use super::scaled::{Scaled, prices, scale};
use crate::decisions::DecisionError;
use crate::decisions::spread::mean;
use crate::quantities::{Probability, QuantityError};
use rayon::prelude::*;

/// What is done at the yard before leaving.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Leave {
    Keep,
    Change,
}

/// An order with its changes.
pub(super) struct Course {
    pub order: Vec<usize>,
    /// For each job, what leaving with an edge costs beyond changing it first.
    pub gains: Vec<Vec<f64>>,
    pub leave: Leave,
}

/// A course reckoned under every draw.
pub(super) struct Reckoned {
    pub course: Course,
    pub outcomes: Vec<Outcome>,
    pub leaving: Leaving,
    /// Chance that the edge now on lasts the first job if it is left on, draw by draw.
    pub present_lasts: Option<Vec<f64>>,
}

/// What one draw expects of one job.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Expected {
    pub change_before: f64,
    pub lasts: f64,
    pub sums: Sums,
    pub cost: f64,
}

/// What one draw expects of a course.
#[derive(Debug, Clone, Default)]
pub(super) struct Outcome {
    pub jobs: Vec<Expected>,
    /// The chance of each place of the sets being the one at work at the end.
    pub places: Vec<f64>,
}

impl Outcome {
    pub fn cost(&self) -> f64 {
        self.jobs.iter().map(|job| job.cost).sum()
    }

    pub fn changes(&self) -> f64 {
        let jobs = self.jobs.iter();
        jobs.map(|job| job.change_before + changes_on(&job.sums))
            .sum()
    }

    pub fn forced_stops(&self) -> f64 {
        let jobs = self.jobs.iter();
        jobs.map(|job| job.sums.called + job.sums.struck).sum()
    }
}

pub(super) fn changes_on(sums: &Sums) -> f64 {
    sums.called + sums.struck + sums.planned
}

/// Everything that a plan is reckoned with.
pub(super) struct Reckoning<'a> {
    pub question: &'a JobQuestion,
    pub draws: Vec<Scaled>,
    pub prices: Prices,
    pub places: usize,
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
///
/// # Examples
///
/// Two jobs, the second in wood that wears six times as fast, with a fresh edge on the machine.
///
/// ```
/// use keenspan::decisions::{
///     ChangeRule, EdgesAtHand, Evidence, Job, JobQuestion, KnifeLayout, PresentEdge, ShopCosts,
///     UsualWork, plan_jobs,
/// };
/// use keenspan::quantities::{Level, MeterHours, Probability};
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// # let evidence = Evidence {
/// #     edges_finished: 12,
/// #     edges_graded: 10,
/// #     prior_variance: 0.16,
/// #     posterior_variance: 0.02,
/// # };
/// let costs = ShopCosts::common_practice()?.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
/// let rule = ChangeRule::best(&draws, &costs)?;
/// let job = |hours, wear: f64| -> Result<Job, keenspan::quantities::QuantityError> {
///     Ok(Job {
///         hours: MeterHours::new(hours)?,
///         wear_rates: vec![wear; 3],
///         strike_rates: vec![0.002; 3],
///     })
/// };
/// let plan = plan_jobs(&JobQuestion {
///     jobs: vec![job(8.0, 1.0)?, job(12.0, 6.0)?],
///     fresh: draws.iter().map(|draw| draw.law).collect(),
///     present: PresentEdge::Fresh,
///     usual: UsualWork {
///         wear_rates: vec![1.0; 3],
///         strike_rates: vec![0.002; 3],
///         interval: rule.interval,
///         changed_on_plan: rule.changed_on_plan,
///         day: MeterHours::new(6.0)?,
///     },
///     costs,
///     edges: EdgesAtHand { per_set: 2, left_on_machine: 1 },
///     risk: Probability::new(0.05)?,
///     level: Level::NINETY,
///     evidence: vec![evidence; 2],
/// })?;
/// // Each job once, in the order that costs least.
/// let mut order: Vec<usize> = plan.jobs.iter().map(|job| job.written).collect();
/// order.sort_unstable();
/// assert_eq!(order, [0, 1]);
/// assert!(plan.cost.point.get() > 0.0 && plan.changes.point > 0.5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
        // Costs are compared without telling the places of the sets apart, which takes longer.
        let run = |leave| (course(leave), self.outcomes(&course(leave), 1));
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
            PresentEdge::Unfit => (Leaving::MustChange, run(Leave::Change)),
            PresentEdge::Missing => (Leaving::FitFirst, run(Leave::Change)),
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

    pub fn outcomes(&self, course: &Course, places: usize) -> Vec<Outcome> {
        let draws = self.draws.par_iter();
        draws
            .map(|draw| self.outcome(draw, course, places))
            .collect()
    }

    pub fn per_set(&self) -> usize {
        self.question.edges.per_set.max(1) as usize
    }

    /// The place of the edge on the machine within its set.
    pub fn first_place(&self) -> usize {
        let left = self.question.edges.left_on_machine as usize;
        self.per_set().saturating_sub(1).saturating_sub(left)
    }

    fn outcome(&self, draw: &Scaled, course: &Course, places: usize) -> Outcome {
        let play = Play {
            tables: &draw.tables,
            prices: self.prices,
            per_set: self.per_set(),
            on_plan: self.question.usual.changed_on_plan,
        };
        let mut live = vec![self.start(draw, places)];
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
        let mut at_end = vec![0.0; places];
        for edge in &live {
            let pairs = at_end.iter_mut().zip(&edge.mass);
            pairs.for_each(|(place, mass)| *place += mass);
        }
        Outcome {
            jobs,
            places: at_end,
        }
    }

    fn start(&self, draw: &Scaled, places: usize) -> Live {
        let mut mass = vec![0.0; places];
        let first = self.first_place().min(places.saturating_sub(1));
        if let Some(first) = mass.get_mut(first) {
            *first = 1.0;
        }
        Live {
            kind: match draw.tables.present {
                Some(_) => Kind::Present,
                None => Kind::Fresh,
            },
            // An edge that must come off, or has come off, is as good as due: it owes a whole change.
            age: match self.question.present {
                PresentEdge::Unfit | PresentEdge::Missing => 1.0,
                _ => 0.0,
            },
            mass,
        }
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
