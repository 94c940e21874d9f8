//! An answer, in words and in JSON, and how it is printed.

use crate::page_width;
use crate::settings::Settings;
use anstyle::{AnsiColor, Style};
use keenspan::quantities::Units;
use serde_json::{Map, Value, json};
use std::io::{self, Write};

/// Version of the JSON layout; it goes up when a field changes its meaning or goes away. The published schema
/// (`views/schema.json`) has it too.
const SCHEMA: u32 = 2;

/// Exit status of an answer.
pub const ANSWERED: u8 = 0;
/// Exit status where these data carry no trustworthy answer.
pub const NO_ANSWER: u8 = 3;
/// Exit status of an answer that problems of the log stand against.
pub const LOG_PROBLEMS: u8 = 4;

/// Commands whose words are for a program: nothing in them is broken into lines or coloured.
const VERBATIM: [&str; 1] = ["completions"];

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
        } else if VERBATIM.contains(&self.command) {
            self.words.clone()
        } else {
            with_alarms(&page_width::fitted(
                &self.words,
                page_width::width(),
                &settings.log,
            ))
        };
        print_text(&text, self.status)
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

/// The mark of an alarm stands out where the output is a terminal that shows colours, and nobody asked for
/// none; elsewhere `write_out` takes the colour away.
fn with_alarms(words: &str) -> String {
    const ALARM: Style = AnsiColor::Red.on_default().bold();
    let marked = |line: &str| match line.split_once("! ") {
        Some((indent, alarm)) if indent.trim().is_empty() => {
            format!("{indent}{ALARM}!{ALARM:#} {alarm}\n")
        }
        _ => format!("{line}\n"),
    };
    words.lines().map(marked).collect()
}

/// Prints `text` and returns the exit status: the one given, unless it could not be written.
pub fn print_text(text: &str, status: u8) -> u8 {
    match write_out(text) {
        Ok(()) => status,
        // Whoever read the answer has seen enough of it.
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => status,
        Err(error) => {
            crate::terminal::say(&format!(
                "keenspan: the answer could not be written: {error}"
            ));
            LOG_PROBLEMS
        }
    }
}

fn write_out(text: &str) -> io::Result<()> {
    let mut out = anstream::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}
