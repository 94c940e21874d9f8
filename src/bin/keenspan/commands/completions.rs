//! What a shell needs to complete this program's commands.

use crate::answer::{ANSWERED, Answer};
use crate::arguments::Arguments;
use crate::failure::Failure;
use crate::settings::Settings;
use clap::{Args, CommandFactory};
use clap_complete::Shell;
use serde_json::{Map, json};

/// Print what a shell needs to complete commands and options with the tab key
///
/// Bash, for one: keenspan completions bash > ~/.local/share/bash-completion/completions/keenspan
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    shell: Shell,
}

impl Completions {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let mut script = Vec::new();
        let mut program = Arguments::command();
        clap_complete::generate(self.shell, &mut program, "keenspan", &mut script);
        let script = String::from_utf8_lossy(&script).into_owned();
        Ok(Answer {
            command: "completions",
            fields: Map::from_iter([
                ("shell".to_string(), json!(self.shell.to_string())),
                ("script".to_string(), json!(script)),
            ]),
            words: script,
            warnings: Vec::new(),
            units: settings.units.unwrap_or_default(),
            status: ANSWERED,
        })
    }
}
