//! Why there is no answer, in sentences that somebody can act on. The one place that prints them.

use crate::commands::snippet;
use crate::terminal::say;
use crate::typed_next;
use keenspan::logbook::Problem;
use keenspan::logbook::read::LogbookError;
use keenspan::logbook::write::{AppendError, WriteError};
use std::path::Path;

/// Why there is no answer.
#[derive(Debug)]
pub enum Failure {
    /// What was typed cannot be carried out.
    Usage(String),
    /// These data carry no trustworthy answer.
    NoTrustworthyAnswer(String),
    /// The log cannot be read or written.
    Log(String),
    /// What was to be written would be a problem in the log.
    Refused(Vec<Problem>),
}

impl Failure {
    /// Prints it, commands to type next with the log's folder, and returns the exit status.
    pub fn print(&self, log: &Path) -> u8 {
        match self {
            Self::Usage(message) | Self::NoTrustworthyAnswer(message) | Self::Log(message) => {
                let message = typed_next::in_a_line(message, log);
                say(&format!("keenspan: {message}"));
            }
            Self::Refused(problems) => {
                for problem in problems {
                    say(&format!("keenspan: {}", snippet::with_row(problem)));
                }
                say("Nothing was written.");
            }
        }
        self.status()
    }

    /// The same, and what must be said whatever cannot be answered.
    pub fn and_say(self, more: &str) -> Self {
        let with = |message: String| format!("{message}\n{more}");
        match self {
            Self::Usage(message) => Self::Usage(with(message)),
            Self::NoTrustworthyAnswer(message) => Self::NoTrustworthyAnswer(with(message)),
            Self::Log(message) => Self::Log(with(message)),
            refused @ Self::Refused(_) => refused,
        }
    }

    fn status(&self) -> u8 {
        match self {
            Self::Usage(_) | Self::Refused(_) => 2,
            Self::NoTrustworthyAnswer(_) => 3,
            Self::Log(_) => 4,
        }
    }
}

impl From<LogbookError> for Failure {
    fn from(error: LogbookError) -> Self {
        const START: &str =
            "Name the log's folder with --log FOLDER, or start a log: keenspan new FOLDER";
        match error {
            LogbookError::NoFolder { .. } | LogbookError::NoMachines { .. } => {
                Self::Log(format!("{error}.\n{START}"))
            }
            LogbookError::Unreadable { .. } => Self::Log(error.to_string()),
        }
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        match error {
            WriteError::AlreadyThere { ref path } => {
                let folder = path.parent().unwrap_or(Path::new("."));
                let add = typed_next::in_a_line("keenspan add", folder);
                Self::Usage(format!(
                    "{error}.\nChoose another folder for a new log, or add to this one: {add}"
                ))
            }
            WriteError::WouldLose { .. } => {
                Self::Log(format!("{error}.\nkeenspan verify shows them"))
            }
            WriteError::Folder { .. } | WriteError::File { .. } => Self::Log(format!(
                "{error}.\nMake room on the disk or see to the folder's permissions, close the file \
                 where another program holds it, and try again"
            )),
        }
    }
}

impl From<AppendError> for Failure {
    fn from(error: AppendError) -> Self {
        match error {
            AppendError::Log(error) => error.into(),
            AppendError::Write(error) => error.into(),
            AppendError::Refused { problems, .. } => Self::Refused(problems),
            AppendError::NoColumn { .. } => Self::Log(format!(
                "{error}.\nAdd the column to the file's header and try again"
            )),
        }
    }
}
