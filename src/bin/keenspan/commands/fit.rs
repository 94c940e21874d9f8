//! What has the log taught, how far is it to be trusted, and what would teach more?

use crate::answer::{ANSWERED, Answer, NO_ANSWER};
use crate::failure::Failure;
use crate::fitting::{Fitted, Fitting, set_aside};
use crate::models;
use crate::progress::Progress;
use crate::settings::Settings;
use crate::words::{FamilyWord, PosteriorWord};
use clap::Args;
use keenspan::decisions::handling_knives;
use keenspan::lives::Rotor;
use keenspan::logbook::write::write_text_file;
use keenspan::logbook::{Logbook, Machine};
use keenspan::quantities::MeterHours;
use keenspan::views::{FitReport, MachineHabits, View};
use keenspan::wear::{ChainLengths, PriorPack, WearError};
use rayon::prelude::*;
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
    /// Keep the fit in this file; keenspan interval --model FILE answers from it
    #[arg(long, value_name = "FILE")]
    save: Option<PathBuf>,
    /// Write what was learned as a prior pack for the crew's next machine
    #[arg(long, value_name = "FILE")]
    as_priors: Option<PathBuf>,
    /// How much of what was learned carries over to the next machine, above 0 and up to 1
    #[arg(long, value_name = "SHARE", default_value_t = 0.5, value_parser = share, requires = "as_priors")]
    discount: f64,
}

fn share(text: &str) -> Result<f64, String> {
    let wanted = || "write a share above 0 and up to 1, such as 0.5".to_string();
    let share: f64 = text.parse().map_err(|_| wanted())?;
    (share > 0.0 && share <= 1.0)
        .then_some(share)
        .ok_or_else(wanted)
}

impl Fit {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        self.check_targets()?;
        let reading = settings.read_log_for_answer()?;
        let fitting = Fitting {
            priors: self.priors.as_deref(),
            family: self.family.into(),
            method: self.posterior.into(),
            draws: DRAWS,
            seed: settings.seed,
            saved: None,
        };
        let chains = ChainLengths::default();
        let progress = Progress::of(chains.total());
        let fitted = fitting.fit(&reading.logbook, &|draws| progress.done(draws))?;
        drop(progress);
        let trusted = fitted.posterior.health().is_trustworthy();
        let kept = if trusted {
            self.keep(&fitted)?
        } else {
            self.not_kept()
        };
        let machines: Vec<&Machine> = reading.logbook.machines.iter().collect();
        let habits = machines
            .par_iter()
            .map(|machine| fitted.habits(machine))
            .collect::<Vec<_>>();
        let report = FitReport {
            adequacy: fitted.adequacy(settings.seed)?,
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
        Ok(Answer {
            command: "fit",
            words: report.text() + &kept,
            fields: report.json(),
            warnings: report.warnings(),
            units: settings.units_for(&reading),
            status: if trusted { ANSWERED } else { NO_ANSWER },
        })
    }
}

impl Fit {
    /// Refuses files that something else stands in, before any work is done.
    fn check_targets(&self) -> Result<(), Failure> {
        if self.save.is_some() && self.save == self.as_priors {
            let words = "--save and --as-priors name the same file: give each its own";
            return Err(Failure::Usage(words.to_string()));
        }
        if let Some(file) = &self.save {
            models::check_target(file, |text| text.contains("\"keenspan_model\""))?;
        }
        if let Some(file) = &self.as_priors {
            models::check_target(file, |text| text.contains("own log"))?;
        }
        Ok(())
    }

    fn not_kept(&self) -> String {
        if self.save.is_none() && self.as_priors.is_none() {
            return String::new();
        }
        "\nNothing was saved: numbers that are not to be trusted are not kept.\n".to_string()
    }

    /// Keeps the fit, and the prior pack, where files for them were named; what was written where.
    fn keep(&self, fitted: &Fitted) -> Result<String, Failure> {
        let mut words = String::new();
        if let Some(file) = &self.save {
            models::save(file, &fitted.posterior, &fitted.fingerprint()?)?;
            words += &format!(
                "\nSaved in {}. keenspan interval --model {} uses it, and due, knives, job and sets likewise, as long as the log \
                 stays as it is.\n",
                file.display(),
                file.display()
            );
        }
        if let Some(file) = &self.as_priors {
            let learned = PriorPack::from_posterior(
                &fitted.pack_text,
                &fitted.posterior,
                &fitted.strikes,
                self.discount,
            );
            let text = learned.map_err(|error| Failure::NoTrustworthyAnswer(error.to_string()))?;
            write_text_file(file, &text)?;
            words += &format!(
                "\nPrior pack in {}: {:.0} % of what was learned carries over. It is for another machine's log; \
                 with this one the same edges would count twice.\n",
                file.display(),
                100.0 * self.discount
            );
        }
        Ok(words)
    }
}

/// The rotor kinds that the crew has.
pub fn rotors(log: &Logbook) -> Vec<Rotor> {
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
