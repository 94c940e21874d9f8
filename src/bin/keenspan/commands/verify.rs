//! Is the log in order?

use crate::answer::{ANSWERED, Answer, LOG_PROBLEMS};
use crate::clock::today;
use crate::commands::add::heed;
use crate::commands::snippet;
use crate::failure::Failure;
use crate::settings::Settings;
use clap::Args;
use keenspan::decisions::handling_knives;
use keenspan::lives::{Tally, edge_lives};
use keenspan::logbook::read::{FileCount, Reading};
use keenspan::logbook::{LogFile, Problem, UnreadColumn};
use keenspan::views::{ReadingReport, View};
use serde_json::{Map, Value, json};

/// Show what in the log cannot be read, with file, line and column, and how the rest was read
///
/// Exit status 4 where a row was set aside, 0 where none was.
#[derive(Debug, Args)]
pub struct Verify {}

impl Verify {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log()?;
        let in_order = reading.problems.is_empty();
        let mut tally = edge_lives(&reading.logbook).tally;
        tally.note_days(&reading.logbook, today());
        let cautions = cautions(&tally);
        let report = ReadingReport { tally };
        let mut all_fields = fields(&reading);
        all_fields.insert("cautions".to_owned(), json!(cautions));
        all_fields.extend(report.json());
        let mut warnings = unread_columns(&reading);
        warnings.extend(report.warnings());
        Ok(Answer {
            command: "verify",
            words: words(&reading) + "\n" + &report.text() + &below(&heed(cautions)),
            fields: all_fields,
            warnings,
            units: settings.units_for(&reading),
            status: if in_order { ANSWERED } else { LOG_PROBLEMS },
        })
    }
}

/// Where a note sends somebody to a set, what is to be heeded there.
fn cautions(tally: &Tally) -> &'static [&'static str] {
    let calls = tally.alarms().iter().any(|alarm| alarm.set.is_some());
    if calls { handling_knives() } else { &[] }
}

/// A paragraph of its own.
fn below(text: &str) -> String {
    let gap = if text.is_empty() { "" } else { "\n" };
    format!("{gap}{text}")
}

fn words(reading: &Reading) -> String {
    let mut lines: Vec<String> = reading
        .files
        .iter()
        .map(|count| of_file(reading, count))
        .collect();
    lines.extend(unread_columns(reading));
    lines.push(total(reading));
    lines.join("\n") + "\n"
}

fn of_file(reading: &Reading, count: &FileCount) -> String {
    let FileCount {
        file,
        rows,
        set_aside,
    } = count;
    let mut lines = vec![format!(
        "{file}: {} used, {set_aside} set aside",
        rows - set_aside
    )];
    let own = |problem: &&Problem| problem.file == *file;
    lines.extend(reading.problems.iter().filter(own).map(indented));
    lines.join("\n")
}

fn indented(problem: &Problem) -> String {
    format!("  {}", snippet::within_file(problem).replace('\n', "\n  "))
}

fn total(reading: &Reading) -> String {
    let rows: usize = reading.files.iter().map(|count| count.rows).sum();
    let set_aside = reading.set_aside();
    let used = rows - set_aside;
    match reading.problems.len() {
        0 => format!("All {rows} rows can be read."),
        1 => format!("1 problem: {used} rows used, {set_aside} set aside."),
        many => format!("{many} problems: {used} rows used, {set_aside} set aside."),
    }
}

/// A column of the crew's own is no fault, but a misspelt one would go unread without a word.
fn unread_columns(reading: &Reading) -> Vec<String> {
    let extras = reading.logbook.extras.iter();
    let mut lines: Vec<String> = extras
        .filter(|(file, columns)| **file != LogFile::Runs && !columns.names.is_empty())
        .map(|(file, columns)| {
            let names = columns.names.join("\", \"");
            format!("{file}: kept, but not read: column \"{names}\"")
        })
        .collect();
    let runs = reading.logbook.own_conditions().unread;
    lines.extend(runs.iter().map(|UnreadColumn { name, reason }| {
        format!("runs.csv: kept, but not read: column \"{name}\" ({reason})")
    }));
    lines
}

fn fields(reading: &Reading) -> Map<String, Value> {
    let problems: Vec<Value> = reading.problems.iter().map(problem).collect();
    let files: Vec<Value> = reading.files.iter().map(file).collect();
    Map::from_iter([
        ("problems".to_owned(), Value::Array(problems)),
        ("files".to_owned(), Value::Array(files)),
        ("unread_columns".to_owned(), json!(unread_columns(reading))),
    ])
}

fn problem(problem: &Problem) -> Value {
    json!({
        "file": problem.file.name(),
        "line": problem.line.0,
        "column": problem.column,
        "found": problem.found,
        "wanted": problem.wanted,
    })
}

fn file(count: &FileCount) -> Value {
    json!({
        "file": count.file.name(),
        "rows": count.rows,
        "set_aside": count.set_aside,
    })
}
