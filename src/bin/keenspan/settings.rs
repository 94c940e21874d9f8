//! What the shared arguments mean.

use crate::arguments::Shared;
use crate::commands::snippet;
use crate::failure::Failure;
use keenspan::logbook::LogFile;
use keenspan::logbook::read::{Reading, read_logbook};
use keenspan::quantities::Units;
use std::path::PathBuf;

/// What every command works with.
#[derive(Debug)]
pub struct Settings {
    /// The log folder.
    pub log: PathBuf,
    /// Answer in JSON rather than words.
    pub json: bool,
    /// Units asked for; the log's own where none were.
    pub units: Option<Units>,
    /// Start of the random numbers.
    pub seed: u64,
}

impl Settings {
    /// Reads nothing yet.
    pub fn of(shared: &Shared) -> Self {
        Self {
            log: shared.log.clone(),
            json: shared.json,
            units: shared.units.map(Units::from),
            seed: shared.seed,
        }
    }

    /// Reads the log.
    pub fn read_log(&self) -> Result<Reading, Failure> {
        Ok(read_logbook(&self.log)?)
    }

    /// Reads the log for an answer. A fault in shop.csv stops it, as does a log without a machine.
    pub fn read_log_for_answer(&self) -> Result<Reading, Failure> {
        let reading = self.read_log()?;
        let faults = faults_of(&reading, LogFile::Shop);
        if !faults.is_empty() {
            return Err(Failure::Log(format!(
                "{faults}\nUnits and the order of dates decide what every other row means: mend shop.csv first"
            )));
        }
        if reading.logbook.machines.is_empty() {
            let faults = faults_of(&reading, LogFile::Machines);
            let none = "Every answer is about a machine, and machines.csv has none that can be read: it wants a row for each";
            let lines = [faults.as_str(), none];
            let lines: Vec<&str> = lines.into_iter().filter(|line| !line.is_empty()).collect();
            return Err(Failure::Log(lines.join("\n")));
        }
        Ok(reading)
    }

    /// The units to answer in.
    pub fn units_for(&self, reading: &Reading) -> Units {
        self.units.unwrap_or(reading.logbook.shop.units)
    }
}

/// What is wrong with one file, each fault with its row.
fn faults_of(reading: &Reading, file: LogFile) -> String {
    let own = reading
        .problems
        .iter()
        .filter(|problem| problem.file == file);
    own.map(snippet::with_row).collect::<Vec<_>>().join("\n")
}
