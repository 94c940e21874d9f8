//! A knife set, or a machine.

use super::{NewRow, or_blank};
use clap::Args;
use keenspan::logbook::LogFile;

/// Add a matched set of knives
#[derive(Debug, Args)]
pub struct Set {
    /// What the crew calls it
    #[arg(long)]
    name: String,
    /// Knives in the set
    #[arg(long)]
    knives: String,
    /// Cutting edges on each knife: 1, or 2 where they are reversible
    #[arg(long)]
    edges: Option<String>,
    /// Width of the knives, such as "4.5 in"
    #[arg(long, allow_hyphen_values = true)]
    width: Option<String>,
    /// Regrinds it has had already
    #[arg(long)]
    regrinds: Option<String>,
    /// Steel
    #[arg(long, allow_hyphen_values = true)]
    steel: Option<String>,
    /// Whatever else
    #[arg(long, allow_hyphen_values = true)]
    note: Option<String>,
}

/// Add a machine; torque, gap and discard width are as its own manual gives them
#[derive(Debug, Args)]
pub struct Machine {
    /// What the crew calls it
    #[arg(long)]
    name: String,
    /// drum or disc
    #[arg(long)]
    rotor: String,
    /// Knives in a set
    #[arg(long)]
    knives: String,
    /// Cutting edges on each knife: 1, or 2 where they are reversible
    #[arg(long)]
    edges: Option<String>,
    /// Hour-meter reading today
    #[arg(long, value_name = "READING")]
    meter: Option<String>,
    /// Today's rule: change after this many meter hours
    #[arg(long, value_name = "HOURS")]
    rule: Option<String>,
    /// The machine is serviced every so many meter hours anyway
    #[arg(long, value_name = "HOURS")]
    service_every: Option<String>,
    /// Wrench sizes
    #[arg(long, allow_hyphen_values = true)]
    wrench: Option<String>,
    /// Knife bolt torque from the machine's manual, such as "50 lb-ft"
    #[arg(long, value_name = "TORQUE")]
    bolt_torque: Option<String>,
    /// Gap between knife and bed knife from the machine's manual
    #[arg(long, value_name = "WIDTH")]
    bed_knife_gap: Option<String>,
    /// Width below which the machine's manual has knives discarded
    #[arg(long, value_name = "WIDTH")]
    discard_width: Option<String>,
    /// Whatever else
    #[arg(long, allow_hyphen_values = true)]
    note: Option<String>,
}

impl Set {
    pub fn row(&self) -> NewRow {
        NewRow {
            file: LogFile::Sets,
            cells: vec![
                ("name", self.name.clone()),
                ("knives", self.knives.clone()),
                ("edges", or_blank(&self.edges)),
                ("width", or_blank(&self.width)),
                ("regrinds", or_blank(&self.regrinds)),
                ("steel", or_blank(&self.steel)),
                ("note", or_blank(&self.note)),
            ],
            cautions: &[],
        }
    }
}

impl Machine {
    pub fn row(&self) -> NewRow {
        NewRow {
            file: LogFile::Machines,
            cells: vec![
                ("name", self.name.clone()),
                ("rotor", self.rotor.clone()),
                ("knives", self.knives.clone()),
                ("edges", or_blank(&self.edges)),
                ("meter", or_blank(&self.meter)),
                ("rule", or_blank(&self.rule)),
                ("service every", or_blank(&self.service_every)),
                ("wrench", or_blank(&self.wrench)),
                ("bolt torque", or_blank(&self.bolt_torque)),
                ("bed knife gap", or_blank(&self.bed_knife_gap)),
                ("discard width", or_blank(&self.discard_width)),
                ("note", or_blank(&self.note)),
            ],
            cautions: &[],
        }
    }
}
