//! The figures of the plan, from what each draw expects.

use super::answer::{JobPlan, OrderFound, PlannedJob, Sets};
use super::evaluate::{Course, Expected, Outcome, Reckoned, Reckoning, changes_on};
use super::operators::change_from;
use super::question::PresentEdge;
use super::scaled::Scaled;
use crate::decisions::spread::{estimate, mean};
use crate::decisions::{Caveat, DecisionError, caveats};
use crate::quantities::{Estimate, MeterHours, Money, Probability};

impl Reckoning<'_> {
    pub fn answer(&self, plan: &Reckoned, order: OrderFound) -> Result<JobPlan, DecisionError> {
        let (course, leave) = (&plan.course, plan.leaving);
        let outcomes = &self.outcomes(course, self.places);
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
            fit_first: u32::from(changed_first && self.question.edges.left_on_machine == 0),
            risk: self.question.risk,
            chance_short: Probability::new(short(take))?,
            chance_short_with_one_less: less.map(Probability::new).transpose()?,
        })
    }

    pub fn money(&self, draws: &[f64]) -> Result<Estimate<Money>, DecisionError> {
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
