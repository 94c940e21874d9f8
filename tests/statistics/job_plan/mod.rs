//! The plan of jobs against crews played out one by one, and against every order on a grid of its own.

use keenspan::decisions::{
    AgeReplacement, CycleCosts, EdgesAtHand, Job, JobPlan, JobQuestion, Leaving, PresentEdge,
    UsualWork, plan_jobs,
};
use keenspan::quantities::{Level, MeterHours, Money, Probability, WearFraction};
use keenspan::wear::{AgedDraw, Family, LifeDistribution, LifeLaw};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

mod crews;
mod grid;

use crews::{Draw, Edge, held_against_crews};

const PLANNED: f64 = 90.0;
const CALLED: f64 = 240.0;
const STRUCK: f64 = 440.0;
const RUNNING: f64 = 6.0;
const CALL_AT: f64 = 1.3;
const INTERVAL: f64 = 38.0;
const CREWS: usize = 150_000;

fn hours(hours: f64) -> MeterHours {
    MeterHours::new(hours).unwrap()
}

fn costs() -> CycleCosts {
    let money = |amount| Money::new(amount).unwrap();
    CycleCosts {
        planned: money(PLANNED),
        forced_extra: money(CALLED - PLANNED),
        strike_extra: money(STRUCK - PLANNED),
        running_at_dull: money(RUNNING),
        call_at: Some(WearFraction::new(CALL_AT).unwrap()),
    }
}

fn law(family: Family, median: f64, sigma: f64) -> LifeLaw {
    LifeLaw {
        family,
        log_median: median.ln(),
        sigma,
    }
}

fn life(law: &LifeLaw, chance: f64) -> f64 {
    (law.location() + law.sigma * law.family.quantile(chance)).exp()
}

/// An edge that has worked so many wear hours and was not called: many lives, all as likely.
fn worked(law: &LifeLaw, wear: f64) -> AgedDraw {
    let lives: Vec<f64> = (0..2000)
        .map(|i| life(law, (f64::from(i) + 0.5) / 2000.0))
        .filter(|life| CALL_AT * life > wear)
        .collect();
    let chance = 1.0 / lives.len() as f64;
    AgedDraw {
        wear,
        lives: lives.into_iter().map(|life| (life, chance)).collect(),
    }
}

/// Three draws that differ.
fn question(jobs: &[(f64, f64, f64)], present: Option<f64>) -> JobQuestion {
    let laws = [
        law(Family::Weibull, 60.0, 0.33),
        law(Family::Lognormal, 50.0, 0.30),
        law(Family::Weibull, 72.0, 0.40),
    ];
    let job = |&(length, rate, strikes): &(f64, f64, f64)| Job {
        hours: hours(length),
        wear_rates: vec![rate, 0.8 * rate, 1.25 * rate],
        strike_rates: vec![strikes, 0.5 * strikes, 2.0 * strikes],
    };
    JobQuestion {
        jobs: jobs.iter().map(job).collect(),
        fresh: laws.to_vec(),
        present: match present {
            Some(wear) => PresentEdge::Worn(laws.iter().map(|law| worked(law, wear)).collect()),
            None => PresentEdge::Fresh,
        },
        usual: UsualWork {
            wear_rates: vec![1.3, 1.2, 1.45],
            strike_rates: vec![0.004, 0.003, 0.006],
            interval: hours(INTERVAL),
            changed_on_plan: true,
            day: hours(6.0),
        },
        costs: costs(),
        edges: EdgesAtHand {
            per_set: 2,
            left_on_machine: 1,
        },
        risk: Probability::new(0.05).unwrap(),
        level: Level::NINETY,
        evidence: Vec::new(),
    }
}

/// The same question with one of its draws alone.
fn of_draw(question: &JobQuestion, draw: usize) -> Draw<'_> {
    let interval = INTERVAL * question.usual.wear_rates[draw];
    let usual = (INTERVAL, INTERVAL * question.usual.strike_rates[draw]);
    let law = question.fresh[draw];
    let fresh: Vec<(f64, f64)> = (0..8000)
        .map(|i| {
            (
                life(&law, (f64::from(i) + 0.5) / 8000.0) / interval,
                1.0 / 8000.0,
            )
        })
        .collect();
    let exact = AgeReplacement::new(
        &LifeLaw {
            log_median: law.log_median - question.usual.wear_rates[draw].ln(),
            ..law
        },
        question.usual.strike_rates[draw],
        &costs(),
    )
    .unwrap();
    let long_run = INTERVAL * exact.cost_per_hour(hours(INTERVAL)).unwrap().get();
    let table = |worn: f64, lives: &[(f64, f64)]| -> Vec<f64> {
        (0..=400)
            .map(|i| worth(lives, worn, f64::from(i) / 400.0, usual, long_run))
            .collect()
    };
    let aged = match &question.present {
        PresentEdge::Worn(aged) => Some(&aged[draw]),
        _ => None,
    };
    let scaled = aged.map(|aged| {
        let lives = aged.lives.iter();
        let lives: Vec<(f64, f64)> = lives
            .map(|(life, chance)| (life / interval, *chance))
            .collect();
        (aged.wear / interval, lives)
    });
    Draw {
        question,
        draw,
        interval,
        worth_of_present: scaled.as_ref().map(|(worn, lives)| table(*worn, lives)),
        present: scaled,
        worth_of_fresh: table(0.0, &fresh),
    }
}

/// What the wear on an edge is worth after `further` wear, in closed form over each life: with strikes at
/// rate `s`, `L` left until it is called or due.
fn worth(lives: &[(f64, f64)], worn: f64, further: f64, usual: (f64, f64), long_run: f64) -> f64 {
    let age = worn + further;
    if age >= 1.0 {
        return PLANNED;
    }
    let (hours, s) = usual;
    let mut sums = (0.0, 0.0);
    for &(life, chance) in lives.iter().filter(|(life, _)| CALL_AT * life > age) {
        let left = (CALL_AT * life).min(1.0) - age;
        let spared = (-s * left).exp();
        let worked = (1.0 - spared) / s;
        // Integral of e^(-s x) (age + x) over the wear left.
        let worn_time = age * worked + (worked - left * spared) / s;
        let called = if CALL_AT * life < 1.0 { spared } else { 0.0 };
        let cost = PLANNED
            + (CALLED - PLANNED) * called
            + (STRUCK - PLANNED) * (1.0 - spared)
            + RUNNING * hours * worn_time / life
            - long_run * worked;
        sums.0 += chance * cost;
        sums.1 += chance;
    }
    sums.0 / sums.1
}

#[test]
fn one_job_goes_as_for_crews_played_one_by_one() {
    // A short clean job, a dirty day, and three days of grit on an edge that is nearly due.
    for (seed, job, worn) in [
        (1, (5.0, 1.0, 0.003), 30.0),
        (2, (6.0, 3.0, 0.02), 20.0),
        (3, (18.0, 4.0, 0.03), 40.0),
    ] {
        let plan = held_against_crews(&question(&[job], Some(worn)), seed);
        assert!(plan.present_lasts.is_some());
        assert!(!matches!(plan.leave, Leaving::Fresh | Leaving::MustChange));
    }
}

#[test]
fn a_list_of_jobs_goes_as_for_crews_played_one_by_one() {
    let jobs = [
        (5.0, 3.5, 0.03),
        (8.0, 1.0, 0.003),
        (6.0, 1.6, 0.006),
        (14.0, 1.2, 0.004),
    ];
    held_against_crews(&question(&jobs, None), 4);
}
