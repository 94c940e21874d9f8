//! A stretch of chipping.

use super::{NewRow, day, machine, or_blank};
use crate::failure::Failure;
use crate::fitting::which_machine;
use clap::Args;
use keenspan::logbook::LogFile;
use keenspan::logbook::read::Reading;

/// Add what was chipped: one machine, one kind of work
#[derive(Debug, Args)]
pub struct Run {
    /// The day; today where not given
    #[arg(long)]
    date: Option<String>,
    /// The machine, by name; may be left out where the log has only one
    #[arg(long)]
    machine: Option<String>,
    /// How long it ran by the hour meter, such as 3.5 or 3:30
    #[arg(long, allow_hyphen_values = true)]
    hours: Option<String>,
    /// Hour-meter reading at the start, instead of hours
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    start: Option<String>,
    /// Hour-meter reading at the end
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    end: Option<String>,
    /// What was chipped, such as "oak 60%, ash 40%"
    #[arg(long)]
    wood: Option<String>,
    /// clean, dusty, dirty or gritty
    #[arg(long)]
    dirt: Option<String>,
    /// green, dry or frozen
    #[arg(long)]
    state: Option<String>,
    /// Truck or trailer loads
    #[arg(long, allow_hyphen_values = true)]
    loads: Option<String>,
    /// Who ran it
    #[arg(long, allow_hyphen_values = true)]
    who: Option<String>,
    /// Whatever else
    #[arg(long, allow_hyphen_values = true)]
    note: Option<String>,
}

impl Run {
    pub fn row(&self, reading: &Reading) -> Result<NewRow, Failure> {
        let machines = &reading.logbook.machines;
        if self.machine.is_none() && machines.len() > 1 {
            return Err(which_machine(machines));
        }
        Ok(NewRow {
            file: LogFile::Runs,
            cells: vec![
                ("date", day(&self.date)),
                ("machine", machine(&self.machine, reading)),
                ("hours", or_blank(&self.hours)),
                ("meter start", or_blank(&self.start)),
                ("meter end", or_blank(&self.end)),
                ("wood", or_blank(&self.wood)),
                ("dirt", or_blank(&self.dirt)),
                ("state", or_blank(&self.state)),
                ("loads", or_blank(&self.loads)),
                ("who", or_blank(&self.who)),
                ("note", or_blank(&self.note)),
            ],
            cautions: &[],
        })
    }
}
