//! What was typed.

use crate::commands::Command;
use clap::error::ErrorKind;
use clap::{Args, CommandFactory, Parser, ValueEnum};
use keenspan::quantities::Units;
use std::path::PathBuf;

/// Learns from a tree crew's own log how long wood-chipper knives stay sharp, and when to change them.
///
/// Exit status: 0 answered, 2 wrong usage, 3 no trustworthy answer from these data, 4 the log has
/// problems that stop the answer.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100, arg_required_else_help = true)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,
    /// Print the JSON Schema of what --json prints; it takes no command
    #[arg(long)]
    pub schema: bool,
    #[command(subcommand)]
    pub command: Option<Command>,
}

impl Arguments {
    /// The command typed; `None` where the schema was asked for. Anything else ends the program as any other
    /// wrong usage does.
    pub fn checked_command(&self) -> Option<&Command> {
        let wrong = |kind, words| -> ! { Self::command().error(kind, words).exit() };
        match (&self.command, self.schema) {
            (Some(_), true) => wrong(
                ErrorKind::ArgumentConflict,
                "--schema prints one schema for every command: type it alone",
            ),
            (None, false) => wrong(
                ErrorKind::MissingSubcommand,
                "a command is missing; keenspan --help lists them",
            ),
            (command, _) => command.as_ref(),
        }
    }
}

/// What every command understands.
#[derive(Debug, Args)]
pub struct Shared {
    /// The folder of the log
    #[arg(long, global = true, value_name = "FOLDER", default_value = ".")]
    pub log: PathBuf,
    /// Answer in JSON
    #[arg(long, global = true)]
    pub json: bool,
    /// Inches or millimetres; the log's own where not given
    #[arg(long, global = true, value_name = "UNITS")]
    pub units: Option<UnitsWord>,
    /// Start of the random numbers; the same seed gives the same answer
    #[arg(long, global = true, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

/// Units as they are typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum UnitsWord {
    /// Inches and pound-feet
    Us,
    /// Millimetres and newton metres
    Metric,
}

impl From<UnitsWord> for Units {
    fn from(word: UnitsWord) -> Units {
        match word {
            UnitsWord::Us => Units::Us,
            UnitsWord::Metric => Units::Metric,
        }
    }
}
