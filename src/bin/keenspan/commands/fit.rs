//! What has the log taught, how far is it to be trusted, and what would teach more?

use crate::answer::{ANSWERED, Answer, NO_ANSWER};
use crate::failure::Failure;
use crate::fitting::{Fitted, Fitting, set_aside};
use crate::parallel;
use crate::progress::Progress;
use crate::settings::Settings;
use crate::words::{FamilyWord, PosteriorWord};
use clap::Args;
use keenspan::decisions::handling_knives;
use keenspan::lives::Rotor;
use keenspan::logbook::{Logbook, Machine};
use keenspan::quantities::MeterHours;
use keenspan::views::{FitReport, MachineHabits, View};
use keenspan::wear::{ChainLengths, WearError};
use std::path::PathBuf;

/// Weighted draws behind the answer.
const DRAWS: usize = 4000;
/// So many further changes are looked ahead.
const CHANGES: usize = 12;

/// What the log has taught of your edges, how far to trust it, and what would teach more
///
/// Shows every quantity before and after your log, with bounds: how long edges last, what dirt, state and
/// kind of wood do, how machines, sets and grinders differ. Ends with status 3 where the numbers are not to
/// be trusted.
#[derive(Debug, Args)]
pub struct Fit {
    /// How the answer is found
    #[arg(long, value_name = "METHOD", default_value = "auto")]
    posterior: PosteriorWord,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// Law of life
    #[arg(long, value_name = "FAMILY", default_value = "weibull")]
    family: FamilyWord,
}

impl Fit {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log_for_answer()?;
        let fitting = Fitting {
            priors: self.priors.as_deref(),
            family: self.family.into(),
            method: self.posterior.into(),
            draws: DRAWS,
            seed: settings.seed,
        };
        let chains = ChainLengths::default();
        let progress = Progress::of(chains.total());
        let fitted = fitting.fit(&reading.logbook, &|draws| progress.done(draws))?;
        drop(progress);
        let machines: Vec<&Machine> = reading.logbook.machines.iter().collect();
        let habits = parallel::map(&machines, |machine| fitted.habits(machine));
        let report = FitReport {
            learned: fitted.posterior.learned(&rotors(&reading.logbook)),
            strikes: fitted.strikes.rates(),
            family: fitted.posterior.family(),
            health: fitted.posterior.health().clone(),
            chains: chains.chains,
            habits: habits.into_iter().collect::<Result<_, _>>()?,
            rows_set_aside: set_aside(&reading),
            seed: settings.seed,
            cautions: handling_knives(),
            tally: fitted.lives.tally,
        };
        let trusted = report.health.doubts.is_empty();
        Ok(Answer {
            command: "fit",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units: settings.units_for(&reading),
            status: if trusted { ANSWERED } else { NO_ANSWER },
        })
    }
}

/// The rotor kinds that the crew has.
fn rotors(log: &Logbook) -> Vec<Rotor> {
    let has = |rotor: &Rotor| log.machines.iter().any(|machine| machine.rotor == *rotor);
    Rotor::ALL.into_iter().filter(has).collect()
}

impl Fitted {
    /// At today's rule; a machine without one is taken to be changed when half of its edges are dull.
    fn habits(&self, machine: &Machine) -> Result<MachineHabits, Failure> {
        let conditions = self.usual(machine);
        let asked = self.asked(machine, conditions.blend);
        let interval = match machine.rule {
            Some(rule) => rule,
            None => MeterHours::new(self.posterior.law_at_mode(&asked).log_median.exp())
                .map_err(|_| WearError::NoWear { edge: 0 })?,
        };
        Ok(MachineHabits {
            machine: machine.name.clone(),
            conditions: conditions.words,
            ranges: self.posterior.habits(&asked, interval, CHANGES)?,
            interval,
        })
    }
}
