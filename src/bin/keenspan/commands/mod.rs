//! One file a command, each with its arguments and its `execute`. A new command is its file, its `mod`
//! line and its line in the list.

mod add;
mod card;
mod due;
mod fit;
mod interval;
mod job;
mod knives;
mod lifedata;
mod new;
mod replacement;
mod report;
mod sets;
pub mod snippet;
mod verify;

use crate::answer::Answer;
use crate::failure::Failure;
use crate::settings::Settings;

/// Makes the list of commands and hands each to its `execute`.
macro_rules! commands {
    ($($name:ident($arguments:ty)),* $(,)?) => {
        /// What to do.
        #[derive(Debug, clap::Subcommand)]
        pub enum Command {
            $($name($arguments)),*
        }

        impl Command {
            /// Carries out the command.
            pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
                match self {
                    $(Self::$name(arguments) => arguments.execute(settings)),*
                }
            }
        }
    };
}

commands! {
    New(new::New),
    Add(add::Add),
    Verify(verify::Verify),
    Fit(fit::Fit),
    Interval(interval::Interval),
    Due(due::Due),
    Report(report::Report),
    Knives(knives::Knives),
    Card(card::Card),
    Job(job::Job),
    Lifedata(lifedata::Lifedata),
    Replacement(replacement::Replacement),
    Sets(sets::Sets),
}
