//! The owner's question: how many matched sets to own?

use crate::answer::Answer;
use crate::failure::Failure;
use crate::fitting::{Drawn, Fitted, Fitting, layout, machines};
use crate::settings::Settings;
use crate::unfit;
use crate::words::{any_number, hours_between, hours_of_a_year, risk};
use clap::Args;
use keenspan::decisions::{
    DecisionError, MustNot, Question, RotationQuestion, recommend, sets_to_own,
};
use keenspan::lives::{SetState, SetsOfMachine};
use keenspan::logbook::{Logbook, Machine};
use keenspan::quantities::{Level, MeterHours, Probability, Units, as_found};
use keenspan::views::{MachineSets, SetsReport, UnfitSet, View};
use keenspan::wear::{DrawUnderConditions, Draws};
use rayon::prelude::*;
use std::path::PathBuf;

/// How many matched knife sets to own, for the sharpener's turnaround and a named risk
///
/// A set serves each of its edges once and goes to the sharpener; another takes its place. The answer is
/// the fewest sets with which a used-up set finds another one ready but for the risk that you name, with
/// the year's grinding and buying beside it. Edges are changed at the recommended interval, or at --at.
#[derive(Debug, Args)]
pub struct Sets {
    /// Days from a set leaving the machine to its being back, sharp and ready
    #[arg(long, value_name = "DAYS", value_parser = any_number, allow_negative_numbers = true)]
    turnaround: Option<f64>,
    /// The chance that you bear of a used-up set finding none ready, in per cent
    #[arg(long, value_name = "PERCENT", default_value = "5", value_parser = risk, allow_negative_numbers = true)]
    risk: Probability,
    /// Only this machine
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// Edges changed after so many meter hours, rather than at the recommended interval
    #[arg(long, value_name = "HOURS", value_parser = hours_between, allow_negative_numbers = true)]
    at: Option<f64>,
    /// Meter hours in a year, rather than at the pace of the log
    #[arg(long, value_name = "HOURS", value_parser = hours_of_a_year, allow_negative_numbers = true)]
    hours_per_year: Option<f64>,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// A saved fit; used where neither the log nor the priors have changed since
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
}

/// Days that a set may be away: ten years. Basis: judged; no sharpener keeps one so long.
const MOST_DAYS: f64 = 3650.0;

impl Sets {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let turnaround = self.turnaround_days()?;
        let reading = settings.read_log_for_answer()?;
        let log = &reading.logbook;
        let machines = machines(log, self.machine.as_deref())?;
        let units = settings.units_for(&reading);
        let (priors, saved) = (self.priors.as_deref(), self.model.as_deref());
        let fitting = Fitting::of_decision(priors, saved, settings.seed);
        let Drawn { fitted, draws, .. } = fitting.fit(log, &|_| {})?.drawn(settings.seed);
        let answers = machines
            .par_iter()
            .map(|machine| {
                let (owned, unfit, waiting) = owned(&fitted, log, machine, units)?;
                Ok::<_, Failure>(MachineSets {
                    owned,
                    unfit,
                    waiting,
                    ..self.answer(&fitted, &draws, machine, turnaround)?
                })
            })
            .collect::<Vec<_>>();
        let answers: Vec<MachineSets> = answers.into_iter().collect::<Result<_, _>>()?;
        let report = SetsReport {
            needed: answers.iter().map(|it| it.rotation.sets.point).sum(),
            short: answers.iter().map(MachineSets::short_of).sum(),
            machines: answers,
            standing: fitted.standing(&reading, settings.seed),
        };
        Ok(Answer {
            command: "sets",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units,
            status: fitted.status(),
        })
    }

    fn turnaround_days(&self) -> Result<f64, Failure> {
        let meant = "the days from a set leaving the machine to its being back, sharp and ready";
        let Some(days) = self.turnaround else {
            return Err(Failure::Usage(format!(
                "--turnaround is missing: {meant}, such as 7; 0 where knives are ground while the machine stands anyway"
            )));
        };
        if (0.0..=MOST_DAYS).contains(&days) {
            return Ok(days);
        }
        let range = match days > MOST_DAYS {
            true => "from 0 to 3,650 days",
            false => "zero or more",
        };
        let found = as_found(days);
        Err(Failure::Usage(format!(
            "--turnaround must be {range} ({meant}); found {found}"
        )))
    }

    /// The answer, without what the log has of sets.
    fn answer(
        &self,
        fitted: &Fitted,
        draws: &Draws,
        machine: &Machine,
        turnaround_days: f64,
    ) -> Result<MachineSets, Failure> {
        let conditions = fitted.usual(machine);
        let asked = fitted.asked(machine, conditions.blend);
        let draws = draws.under(&asked);
        let question = RotationQuestion {
            interval: None,
            hours_per_year: self.hours_per_year(fitted, machine)?,
            turnaround_days,
            risk: self.risk,
            level: Level::NINETY,
            evidence: fitted.evidence(machine, &asked),
        };
        let question = RotationQuestion {
            interval: self.interval(fitted, machine, &draws, &question)?,
            ..question
        };
        let rotation = sets_to_own(&draws, &fitted.costs, layout(machine), &question);
        Ok(MachineSets {
            machine: machine.name.clone(),
            knives: machine.knives,
            conditions: conditions.words,
            rotation: rotation.map_err(refused)?,
            question,
            owned: SetsOfMachine::default(),
            unfit: Vec::new(),
            waiting: Vec::new(),
        })
    }

    /// The interval of --at, or the recommended one; `None` where none pays.
    fn interval(
        &self,
        fitted: &Fitted,
        machine: &Machine,
        draws: &[DrawUnderConditions],
        question: &RotationQuestion,
    ) -> Result<Option<MeterHours>, Failure> {
        if let Some(hours) = self.at {
            return Ok(Some(MeterHours::new(hours).map_err(DecisionError::from)?));
        }
        let question = Question {
            rule: None,
            service_every: None,
            hours_per_year: None,
            level: question.level,
            evidence: question.evidence,
        };
        match recommend(draws, &fitted.cycle_costs(machine)?, &question) {
            Ok(answer) => Ok(Some(answer.interval.point)),
            Err(DecisionError::RunUntilCalled { .. }) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    fn hours_per_year(&self, fitted: &Fitted, machine: &Machine) -> Result<MeterHours, Failure> {
        if let Some(hours) = self.hours_per_year {
            return Ok(MeterHours::new(hours).map_err(DecisionError::from)?);
        }
        let state = fitted.lives.machine(&machine.name);
        state.and_then(|state| state.hours_per_year).ok_or_else(|| {
            Failure::Usage(format!(
                "the log of {} spans less than half a year, so that its meter hours in a year are not known: give them with --hours-per-year, such as 400",
                machine.name
            ))
        })
    }
}

/// The sets that a machine can count on, those that must never be run in it again, and of the first those that
/// must not be run yet.
fn owned(
    fitted: &Fitted,
    log: &Logbook,
    machine: &Machine,
    units: Units,
) -> Result<(SetsOfMachine, Vec<UnfitSet>, Vec<UnfitSet>), Failure> {
    let owned = fitted.lives.sets_of(log, machine);
    let lacking = |set: &SetState| set.incomplete && set.machine.as_ref() == Some(&machine.name);
    let sets = fitted.lives.sets.iter();
    let own = sets.filter(|set| !set.discarded && (owned.has(&set.set) || lacking(set)));
    let mut found = Vec::new();
    for set in own {
        found.extend(unfit::in_machine(fitted, set, machine, units)?);
    }
    // A set that waits for an inspection or a grind is still one of them.
    let for_good = |set: &UnfitSet| set.must_not.iter().any(MustNot::is_for_good);
    let (unfit, waiting): (Vec<_>, Vec<_>) = found.into_iter().partition(for_good);
    let owned = owned.without(unfit.iter().map(|unfit| unfit.set.as_str()));
    Ok((owned, unfit, waiting))
}

/// A turnaround out of reach is a matter of what was typed.
fn refused(error: DecisionError) -> Failure {
    match error {
        DecisionError::LongTurnaround { .. } => Failure::Usage(format!(
            "{error}. Look at --turnaround and --hours-per-year"
        )),
        error => error.into(),
    }
}
