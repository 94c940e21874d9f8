//! The mechanic's question: keep running, touch up, flip, regrind or replace?

mod bench;
mod machine;
mod unfit;

use crate::answer::Answer;
use crate::failure::Failure;
use crate::fitting::{Fitted, Fitting};
use crate::settings::Settings;
use bench::SeenOnBench;
use clap::Args;
use keenspan::lives::{SetPlace, SetState};
use keenspan::logbook::read::Reading;
use keenspan::logbook::{Logbook, Machine};
use keenspan::quantities::{Units, Width};
use keenspan::views::{KnivesReport, LookAgainstLog, SetKnives, View};
use machine::{Drawn, life_of};
use rayon::prelude::*;
use std::path::PathBuf;

pub use bench::Bench;

/// What to do with each knife set now: keep running, touch up, flip, regrind or replace
///
/// Answers for every set, or for the one named. What the log does not know of that one, or somebody sees
/// on the bench, can be given beside it.
#[derive(Debug, Default, Args)]
pub struct Knives {
    /// Only this set
    #[arg(value_name = "SET")]
    set: Option<String>,
    #[command(flatten)]
    bench: Bench,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// A saved fit; used where neither the log nor the priors have changed since
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
}

impl Knives {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log_for_answer()?;
        let units = settings.units_for(&reading);
        let fitted = self.fitting(settings.seed).fit(&reading.logbook, &|_| {})?;
        if self.set.is_none() && fitted.lives.sets.is_empty() {
            return Err(Failure::Usage(
                "the log has no knife sets yet; add one: keenspan add set".to_string(),
            ));
        }
        let report = self.report(&reading, &fitted, units, settings.seed)?;
        Ok(Answer {
            command: "knives",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units,
            status: fitted.status(),
        })
    }

    /// As asked for the sheet of one set.
    pub fn of_sheet(
        set: String,
        bench: Bench,
        priors: Option<PathBuf>,
        model: Option<PathBuf>,
    ) -> Self {
        Self {
            set: Some(set),
            bench,
            priors,
            model,
        }
    }

    /// The width measured on the bench, where one was typed.
    pub fn measured(&self, log: &Logbook, units: Units) -> Result<Option<Width>, Failure> {
        Ok(self.bench.read(log, units)?.width)
    }

    /// The fit that the answers stand on.
    pub fn fitting(&self, seed: u64) -> Fitting<'_> {
        Fitting::of_decision(self.priors.as_deref(), self.model.as_deref(), seed)
    }

    /// The answers, as they were asked for; none where every set was asked about and there is none.
    pub fn report(
        &self,
        reading: &Reading,
        fitted: &Fitted,
        units: Units,
        seed: u64,
    ) -> Result<KnivesReport, Failure> {
        let log = &reading.logbook;
        let seen = self.bench.read(log, units)?;
        let sets = self.sets(fitted)?;
        for set in &sets {
            seen.check(set)?;
            seen.agrees_with(set, units)?;
        }
        // What must not be done is known without any cost, and is said even where costs are refused.
        let answers = self.answers(&sets, log, fitted, (&seen, seed));
        let answers = match answers {
            Ok(answers) => answers,
            Err(failure) => {
                let must_not = unfit::as_seen(fitted, &sets, log, (&seen, units))?;
                return Err(match must_not.is_empty() {
                    true => failure,
                    false => failure.and_say(&must_not.join("\n")),
                });
            }
        };
        Ok(KnivesReport {
            sets: answers,
            standing: fitted.standing(reading, seed),
            units,
        })
    }

    fn answers(
        &self,
        sets: &[&SetState],
        log: &Logbook,
        fitted: &Fitted,
        (seen, seed): (&SeenOnBench, u64),
    ) -> Result<Vec<SetKnives>, Failure> {
        let drawn = Drawn::new(fitted, seed);
        let machines = machines_of(sets, log)?
            .par_iter()
            .map(|machine| Ok((machine.name.as_str(), drawn.machine(machine)?)))
            .collect::<Vec<_>>();
        let machines = machines.into_iter().collect::<Result<Vec<_>, Failure>>()?;
        let answers = sets
            .par_iter()
            .map(|set| {
                let machine = machine_of(set, log)?;
                let knives = machines.iter().find(|(name, _)| *name == machine.name);
                let at_hand = drawn.at_hand(set, machine, seen)?;
                let answer = match knives.filter(|_| !set.discarded) {
                    Some((_, knives)) => Some(knives.answer(&at_hand)?),
                    None => None,
                };
                let by_log = drawn.by_log(set, machine, seen)?;
                let worn_by_log = match (knives.filter(|_| !set.discarded), by_log) {
                    (Some((_, knives)), Some(by_log)) => knives.answer(&by_log)?.worn,
                    _ => None,
                };
                let at_work = set.edge_at_hand();
                let edge = at_work.map_or(1, |edge| edge.edge);
                Ok(SetKnives {
                    set: set.set.clone(),
                    machine: in_machine(set),
                    answered_for: machine.name.clone(),
                    edge,
                    has_worked: drawn.has_worked(set, seen),
                    fresh_edges: at_hand.fresh_edges,
                    crack_noted: set.crack.map(|row| row.to_string()),
                    doubt: set.doubt,
                    seen: seen.words.clone(),
                    last_look: at_work
                        .and_then(life_of)
                        .and_then(|life| fitted.last_look(life)),
                    look: worn_by_log
                        .zip(seen.sight)
                        .map(|(by_log, sight)| LookAgainstLog { by_log, sight }),
                    answer,
                })
            })
            .collect::<Vec<_>>();
        answers.into_iter().collect()
    }

    fn sets<'f>(&self, fitted: &'f Fitted) -> Result<Vec<&'f SetState>, Failure> {
        let sets = &fitted.lives.sets;
        let names = || {
            let names: Vec<&str> = sets.iter().map(|set| set.set.as_str()).collect();
            names.join(", ")
        };
        let Some(name) = &self.set else {
            return Ok(sets.iter().collect());
        };
        let named = |set: &&SetState| set.set.eq_ignore_ascii_case(name);
        let found: Vec<&SetState> = sets.iter().filter(named).collect();
        match found.is_empty() {
            true if sets.is_empty() => Err(Failure::Usage(format!(
                "the log has no set \"{name}\", nor any other; add it: keenspan add set"
            ))),
            true => Err(Failure::Usage(format!(
                "the log has no set \"{name}\"; it has {}",
                names()
            ))),
            false => Ok(found),
        }
    }
}

fn in_machine(set: &SetState) -> Option<String> {
    match &set.place {
        SetPlace::In { machine, .. } => Some(machine.clone()),
        SetPlace::Bench => None,
    }
}

/// The machine whose edges a set's are: its own, else the first in the log.
fn machine_of<'l>(set: &SetState, log: &'l Logbook) -> Result<&'l Machine, Failure> {
    let own = log
        .machines
        .iter()
        .find(|machine| Some(&machine.name) == set.machine.as_ref());
    own.or(log.machines.first())
        .ok_or_else(|| Failure::Log("machines.csv holds no machine that could be read".to_string()))
}

/// The machines of these sets, each once.
fn machines_of<'l>(sets: &[&SetState], log: &'l Logbook) -> Result<Vec<&'l Machine>, Failure> {
    sets.iter().try_fold(Vec::new(), |mut known, set| {
        let machine = machine_of(set, log)?;
        if !known.contains(&machine) {
            known.push(machine);
        }
        Ok(known)
    })
}
