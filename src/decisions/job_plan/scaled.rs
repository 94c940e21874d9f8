//! Posterior draws in units of the interval, and the middle of them.

use super::edge_table::EdgeTable;
use super::play::{Prices, Stretch, Tables};
use super::question::{JobQuestion, PresentEdge};
use super::worth::{UsualWear, Worth, long_run_cost};
use crate::decisions::DecisionError;
use crate::decisions::cycle_costs::CheckedCosts;
use crate::wear::LifeLaw;

/// Where no planned change pays, wear is worth what it is to the end of the table.
const UNTIL_CALLED: f64 = super::edge_table::REACH as f64;

/// Jobs and edges under one law of wear.
#[derive(Debug, Clone)]
pub struct Scaled {
    pub tables: Tables,
    /// In the order in which they were written.
    pub jobs: Vec<Stretch>,
    pub worth_of_fresh: Worth,
    pub worth_of_present: Option<Worth>,
}

/// Prices of a cycle's ends.
pub fn prices(costs: &CheckedCosts) -> Prices {
    Prices {
        planned: costs.planned,
        called: costs.planned + costs.forced_extra,
        struck: costs.planned + costs.strike_extra,
        running: costs.running_at_dull,
    }
}

/// Each draw by itself, and their middle: edges pooled over the draws, wear and strikes averaged. In
/// intervals the draws differ far less than in hours, so that the order and the changes that are best in
/// the middle are next to best on the average of the draws.
pub fn scale(
    question: &JobQuestion,
    costs: &CheckedCosts,
) -> Result<(Vec<Scaled>, Scaled), DecisionError> {
    let prices = prices(costs);
    let count = question.draws()?;
    let mut tables = Vec::with_capacity(count);
    let mut jobs = Vec::with_capacity(count);
    let mut usual = Vec::with_capacity(count);
    for draw in 0..count {
        tables.push(tables_of(question, costs, draw)?);
        jobs.push(stretches(question, draw)?);
        usual.push(usual_wear(question, draw)?);
    }
    let middle = Scaled::new(
        pooled(&tables),
        mean_jobs(&jobs),
        &mean_usual(&usual),
        &prices,
    );
    let draws = tables.into_iter().zip(jobs).zip(&usual);
    let draws = draws.map(|((tables, jobs), usual)| Scaled::new(tables, jobs, usual, &prices));
    Ok((draws.collect(), middle))
}

impl Scaled {
    fn new(tables: Tables, jobs: Vec<Stretch>, usual: &UsualWear, prices: &Prices) -> Self {
        let long_run = long_run_cost(&tables.fresh, usual, prices);
        let worth = |table: &EdgeTable| Worth::new(table, usual, prices, long_run);
        Self {
            worth_of_fresh: worth(&tables.fresh),
            worth_of_present: tables.present.as_ref().map(worth),
            tables,
            jobs,
        }
    }
}

/// One draw's number; draws were counted beforehand.
fn of(draws: &[f64], draw: usize) -> Result<f64, DecisionError> {
    draws.get(draw).copied().ok_or(DecisionError::NoDraws)
}

/// Wear hours in one interval of the usual wood.
fn interval(question: &JobQuestion, draw: usize) -> Result<f64, DecisionError> {
    Ok(question.usual.interval.get() * of(&question.usual.wear_rates, draw)?)
}

fn tables_of(
    question: &JobQuestion,
    costs: &CheckedCosts,
    draw: usize,
) -> Result<Tables, DecisionError> {
    let interval = interval(question, draw)?;
    let law = question.fresh.get(draw).ok_or(DecisionError::NoDraws)?;
    let law = LifeLaw {
        log_median: law.log_median - interval.ln(),
        ..*law
    };
    let present = match &question.present {
        PresentEdge::Worn(aged) => {
            let aged = aged.get(draw).ok_or(DecisionError::NoDraws)?;
            let lives = aged.lives.iter();
            let lives: Vec<(f64, f64)> = lives
                .map(|(life, chance)| (life / interval, *chance))
                .collect();
            Some(EdgeTable::worn(aged.wear / interval, &lives, costs.call_at))
        }
        PresentEdge::Fresh | PresentEdge::Unknown | PresentEdge::Unfit | PresentEdge::Missing => {
            None
        }
    };
    Ok(Tables {
        fresh: EdgeTable::fresh(law, costs.call_at),
        present,
    })
}

fn stretches(question: &JobQuestion, draw: usize) -> Result<Vec<Stretch>, DecisionError> {
    let interval = interval(question, draw)?;
    let day = question.usual.day.get();
    let jobs = question.jobs.iter();
    jobs.map(|job| {
        let hours = job.hours.get();
        Ok(Stretch {
            wear: hours * of(&job.wear_rates, draw)? / interval,
            hours,
            strikes: hours * of(&job.strike_rates, draw)?,
            days: (hours / day).ceil().max(1.0) as usize,
        })
    })
    .collect()
}

fn usual_wear(question: &JobQuestion, draw: usize) -> Result<UsualWear, DecisionError> {
    let hours = question.usual.interval.get();
    Ok(UsualWear {
        hours,
        strikes: hours * of(&question.usual.strike_rates, draw)?,
        change_at: if question.usual.changed_on_plan {
            1.0
        } else {
            UNTIL_CALLED
        },
    })
}

fn pooled(tables: &[Tables]) -> Tables {
    let present = tables.iter().filter_map(|tables| tables.present.as_ref());
    Tables {
        fresh: EdgeTable::pooled(tables.iter().map(|tables| &tables.fresh)),
        present: present
            .clone()
            .next()
            .map(|_| EdgeTable::pooled(present.clone())),
    }
}

fn mean_jobs(draws: &[Vec<Stretch>]) -> Vec<Stretch> {
    let count = draws.len() as f64;
    let mut mean = draws.first().cloned().unwrap_or_default();
    for (place, job) in mean.iter_mut().enumerate() {
        let of_job = || draws.iter().filter_map(|jobs| jobs.get(place));
        job.wear = of_job().map(|job| job.wear).sum::<f64>() / count;
        job.strikes = of_job().map(|job| job.strikes).sum::<f64>() / count;
    }
    mean
}

fn mean_usual(draws: &[UsualWear]) -> UsualWear {
    let count = draws.len() as f64;
    let mean = |of: fn(&UsualWear) -> f64| draws.iter().map(of).sum::<f64>() / count;
    UsualWear {
        hours: mean(|usual| usual.hours),
        strikes: mean(|usual| usual.strikes),
        change_at: mean(|usual| usual.change_at),
    }
}
