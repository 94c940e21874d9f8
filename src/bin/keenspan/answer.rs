//! An answer, in words and in JSON, and how it is printed.

use crate::settings::Settings;
use keenspan::quantities::Units;
use serde_json::{Map, Value, json};
use std::io::{self, Write};

/// Version of the JSON layout; it goes up when a field changes its meaning or goes away.
const SCHEMA: u32 = 1;

/// Exit status of an answer.
pub const ANSWERED: u8 = 0;
/// Exit status of an answer that problems of the log stand against.
pub const LOG_PROBLEMS: u8 = 4;

/// What a command has to say.
#[derive(Debug)]
pub struct Answer {
    /// The command, as typed.
    pub command: &'static str,
    /// The answer in words, ending with a line feed.
    pub words: String,
    /// The fields of the answer in JSON, beside the ones that every answer has.
    pub fields: Map<String, Value>,
    /// What weakens the answer; for people the words say it.
    pub warnings: Vec<String>,
    /// Units of every width and torque in it.
    pub units: Units,
    /// Exit status.
    pub status: u8,
}

impl Answer {
    /// Prints the answer and returns the exit status.
    pub fn print(&self, settings: &Settings) -> u8 {
        let text = if settings.json {
            format!("{:#}\n", self.envelope())
        } else {
            self.words.clone()
        };
        match write_out(&text) {
            Ok(()) => self.status,
            // Whoever read the answer has seen enough of it.
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => self.status,
            Err(error) => {
                crate::terminal::say(&format!(
                    "keenspan: the answer could not be written: {error}"
                ));
                LOG_PROBLEMS
            }
        }
    }

    fn envelope(&self) -> Value {
        let mut whole = Map::new();
        whole.insert(
            "keenspan".into(),
            json!({
                "version": env!("CARGO_PKG_VERSION"),
                "command": self.command,
                "schema": SCHEMA,
            }),
        );
        whole.insert("units".into(), json!(self.units));
        whole.insert("warnings".into(), json!(self.warnings));
        whole.extend(self.fields.clone());
        Value::Object(whole)
    }
}

fn write_out(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}
