//! The crew lead's question: will the edge last the job, what to take, where to change, what to bid?

mod ready;
mod typed;

use crate::answer::Answer;
use crate::failure::Failure;
use crate::fitting::{Drawn, Fitted, Fitting, machines, which_machine};
use crate::settings::Settings;
use crate::unfit;
use crate::words::{hours, hours_of_a_day, risk};
use clap::Args;
use keenspan::decisions::{
    ChangeRule, EdgesAtHand, Job as AskedJob, JobQuestion, PresentEdge, UsualWork, plan_jobs,
};
use keenspan::lives::{hours_per_day, hours_per_load};
use keenspan::logbook::{JobLength, JobToCome, Logbook, Machine};
use keenspan::quantities::{Level, MeterHours, Probability};
use keenspan::views::{JobReport, UnfitSet, View};
use keenspan::wear::Draws;
use keenspan::wood::Blend;
use std::path::PathBuf;
use typed::loads;

/// Meter hours of a day where the log tells none. Basis: judged; a chipper stands for half of a crew's day.
const DAY: f64 = 4.0;

/// Whether the edge lasts the job, what to take, where to change, what to bid
///
/// Ask about one job with --hours (or --loads), --wood, --dirt and --state, or about a week's list with
/// --list FILE: columns name, hours (or loads), wood, dirt, state. What is left blank is as the machine
/// usually has it. Jobs of a list are put into the order of least expected knife cost: up to nine every
/// order is considered; beyond that each job is put where it costs least, then jobs are moved and exchanged
/// as long as that saves anything (0.07 % dearer than the best on average over forty invented lists of seven
/// jobs, 0.4 % at worst).
#[derive(Debug, Args)]
pub struct Job {
    /// Which machine; may be left out where the log has one
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// A list of jobs
    #[arg(long, value_name = "FILE", conflicts_with_all = ["hours", "loads", "wood", "dirt", "state"])]
    list: Option<PathBuf>,
    /// Meter hours of the job
    #[arg(long, value_name = "HOURS", value_parser = hours, conflicts_with = "loads", allow_negative_numbers = true)]
    hours: Option<f64>,
    /// Loads of the job, at the log's own hours per load
    #[arg(long, value_name = "LOADS", value_parser = loads, allow_negative_numbers = true)]
    loads: Option<f64>,
    /// Its wood, such as oak or "oak 60 %, ash 40 %"
    #[arg(long, value_name = "WOOD")]
    wood: Option<String>,
    /// How dirty: clean, dusty, dirty or gritty
    #[arg(long, value_name = "CLASS")]
    dirt: Option<String>,
    /// Green, dry or frozen
    #[arg(long, value_name = "STATE")]
    state: Option<String>,
    /// The risk of running out of fresh edges to accept, in per cent
    #[arg(long, value_name = "PERCENT", value_parser = risk, default_value = "5", allow_negative_numbers = true)]
    risk: Probability,
    /// A fresh edge is on now, whatever the log says
    #[arg(long)]
    fresh: bool,
    /// Meter hours of a day's work; the log's own where not given
    #[arg(long, value_name = "HOURS", value_parser = hours_of_a_day, allow_negative_numbers = true)]
    day: Option<f64>,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// A saved fit; used where neither the log nor the priors have changed since
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
}

/// A machine with its fit and its draws.
struct Planning<'a> {
    log: &'a Logbook,
    machine: &'a Machine,
    fitted: &'a Fitted,
    draws: &'a Draws,
    /// The set on the machine, where it must not be run.
    unfit: Option<UnfitSet>,
}

impl Job {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log_for_answer()?;
        let log = &reading.logbook;
        let machine = self.machine(log)?;
        let jobs = self.jobs(log)?;
        let units = settings.units_for(&reading);
        let (priors, saved) = (self.priors.as_deref(), self.model.as_deref());
        let fitting = Fitting::of_decision(priors, saved, settings.seed);
        let Drawn { fitted, draws, .. } = &fitting.fit(log, &|_| {})?.drawn(settings.seed);
        let planning = Planning {
            log,
            machine,
            fitted,
            draws,
            // With --fresh, whatever was on is not on any more.
            unfit: match self.fresh {
                true => None,
                false => unfit::at_work(fitted, machine, units)?,
            },
        };
        let day = self.day(&planning);
        jobs.iter()
            .try_for_each(|job| planning.not_too_long(job, day))?;
        let question = self.question(&planning, &jobs)?;
        let mut plan = plan_jobs(&question)?;
        let works_on = !self.fresh && planning.unfit.is_none();
        let nicked = works_on.then(|| unfit::nicked(fitted, machine)).flatten();
        plan.caveats.extend(nicked);
        let report = JobReport {
            machine: machine.name.clone(),
            edge: planning.edge(&question.present, self.fresh),
            jobs: jobs.iter().map(|job| planning.named(job)).collect(),
            day: question.usual.day,
            ready: planning.sets_ready(&plan.sets, units)?,
            plan,
            standing: fitted.standing(&reading, settings.seed),
            unfit: planning.unfit,
        };
        Ok(Answer {
            command: "job",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units,
            status: fitted.status(),
        })
    }

    /// The machine named, or the only one.
    fn machine<'a>(&self, log: &'a Logbook) -> Result<&'a Machine, Failure> {
        let found = machines(log, self.machine.as_deref())?;
        match found.as_slice() {
            [one] => Ok(one),
            many => Err(which_machine(many.iter().copied())),
        }
    }

    fn question(&self, planning: &Planning, jobs: &[JobToCome]) -> Result<JobQuestion, Failure> {
        let Planning {
            machine, fitted, ..
        } = planning;
        let usual = fitted.asked(machine, fitted.usual(machine).blend);
        let fresh = fitted.asked(machine, Blend::reference());
        let costs = fitted.cycle_costs(machine)?;
        let blends: Vec<Blend> = jobs.iter().map(|job| planning.blend(job)).collect();
        let rule = ChangeRule::best(&planning.draws.under(&usual), &costs)?;
        let asked = jobs.iter().zip(&blends);
        let evidence =
            |blend: &Blend| fitted.evidence(machine, &fitted.asked(machine, blend.clone()));
        Ok(JobQuestion {
            jobs: asked
                .map(|(job, blend)| planning.asked(job, blend))
                .collect::<Result<_, _>>()?,
            fresh: planning
                .draws
                .under(&fresh)
                .iter()
                .map(|draw| draw.law)
                .collect(),
            present: planning.present(self.fresh)?,
            usual: UsualWork {
                wear_rates: planning.draws.wear_rates(&usual.blend),
                strike_rates: planning.draws.strike_rates(&usual.blend),
                interval: rule.interval,
                changed_on_plan: rule.changed_on_plan,
                day: self.day(planning),
            },
            costs,
            edges: EdgesAtHand {
                per_set: machine.edges_per_knife,
                left_on_machine: planning.edges_left(self.fresh),
            },
            risk: self.risk,
            level: Level::NINETY,
            evidence: blends.iter().map(evidence).collect(),
        })
    }

    fn day(&self, planning: &Planning) -> MeterHours {
        let typed = self.day.and_then(|hours| MeterHours::new(hours).ok());
        typed
            .or_else(|| hours_per_day(planning.log, &planning.machine.name))
            .or_else(|| MeterHours::new(DAY).ok())
            .unwrap_or_default()
    }
}

impl Planning<'_> {
    /// What goes through on a job; what was left blank is as usual.
    fn blend(&self, job: &JobToCome) -> Blend {
        let usual = self.fitted.usual(self.machine).blend;
        let woods = job.wood.as_ref();
        let blend = woods.map_or(usual.clone(), |woods| usual.of_woods(woods));
        blend.with(job.contamination, job.state)
    }

    fn asked(&self, job: &JobToCome, blend: &Blend) -> Result<AskedJob, Failure> {
        Ok(AskedJob {
            hours: self.hours(job)?,
            wear_rates: self.draws.wear_rates(blend),
            strike_rates: self.draws.strike_rates(blend),
        })
    }

    fn hours(&self, job: &JobToCome) -> Result<MeterHours, Failure> {
        let loads = match job.length {
            JobLength::Hours(hours) => return Ok(hours),
            JobLength::Loads(loads) => loads,
        };
        let hours = hours_per_load(self.log, &self.machine.name)
            .and_then(|per_load| MeterHours::new(loads * per_load.get()).ok());
        hours.ok_or_else(|| {
            Failure::NoTrustworthyAnswer(format!(
                "\"{}\" is given in loads, and no run in runs.csv tells how many loads it made: fill in the column \"loads\" for some runs, or give the job in hours",
                job.name
            ))
        })
    }

    fn present(&self, fresh: bool) -> Result<PresentEdge, Failure> {
        if fresh {
            return Ok(PresentEdge::Fresh);
        }
        let state = self.fitted.lives.machine(&self.machine.name);
        let Some(at_work) = state.and_then(|state| state.at_work.as_ref()) else {
            return Ok(PresentEdge::Missing);
        };
        if self.unfit.is_some() || at_work.struck {
            return Ok(PresentEdge::Unfit);
        }
        Ok(match at_work.life {
            Some(life) => PresentEdge::Worn(self.draws.aged(&self.fitted.aged(life)?)),
            None if at_work.hours_since == MeterHours::ZERO => PresentEdge::Fresh,
            None => PresentEdge::Unknown,
        })
    }

    fn edges_left(&self, fresh: bool) -> u32 {
        if fresh || self.unfit.is_some() {
            // Whatever was on is not on any more; its other edge may be the one that is. Of a set that must not
            // be run no edge counts.
            0
        } else {
            self.fitted.lives.fresh_edges_left(self.machine)
        }
    }
}
