//! One more row in the log.

mod event;
mod knives_as_they_are;
mod run;
mod set;

use crate::answer::{ANSWERED, Answer};
use crate::clock::today;
use crate::failure::Failure;
use crate::settings::Settings;
use crate::unfit;
use clap::{Args, Subcommand};
use keenspan::decisions::ShopCosts;
use keenspan::lives::{Record, edge_lives};
use keenspan::logbook::read::Reading;
use keenspan::logbook::write::append_row;
use keenspan::logbook::{Line, LogFile, Machine};
use keenspan::quantities::Units;
use serde_json::{Map, json};

/// Add a run, an event, a knife set or a machine to the log
///
/// What is given is read back with the whole log first; a row that would be a problem is refused and
/// nothing is written.
#[derive(Debug, Args)]
pub struct Add {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    Run(run::Run),
    Event(event::Event),
    Set(set::Set),
    Machine(set::Machine),
}

impl Add {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log()?;
        let mut row = match &self.what {
            What::Run(run) => run.row(&reading)?,
            What::Event(event) => event.row(&reading)?,
            What::Set(set) => set.row(),
            What::Machine(machine) => machine.row(),
        };
        if let Some(units) = settings.units {
            row.say_units(units);
        }
        knives_as_they_are::check(&settings.log, row.file, &row.cells)?;
        let line = append_row(&settings.log, row.file, &row.cells, today())?;
        let units = settings.units_for(&reading);
        let mut answer = row.answer(line, units);
        for alarm in alarms(settings, &row, line, units)? {
            answer.words = format!("! {alarm}\n{}", answer.words);
            answer.warnings.push(alarm);
        }
        Ok(answer)
    }
}

/// What the log makes of the new row that the person should see at once.
fn alarms(
    settings: &Settings,
    row: &NewRow,
    line: Line,
    units: Units,
) -> Result<Vec<String>, Failure> {
    let record = match row.file {
        LogFile::Runs => Record::Run(line),
        LogFile::Events => Record::Event(line),
        _ => return Ok(Vec::new()),
    };
    let log = settings.read_log()?.logbook;
    let mut lives = edge_lives(&log);
    lives.tally.note_days(&log, today());
    let notes = lives.tally.notes.iter();
    let own = notes.filter(|note| note.record == record && note.matter.is_alarm());
    let mut alarms: Vec<String> = own.map(ToString::to_string).collect();
    // Whoever puts a set to work, works with it or writes of a crack must hear at once that it must not be run.
    let costs = ShopCosts::common_practice()?;
    let named = |machine: &&Machine| machine.name.eq_ignore_ascii_case(row.cell("machine"));
    if let Some(machine) = log.machines.iter().find(named) {
        let unfit = unfit::by_log(&lives, &costs, machine, units)?;
        alarms.extend(unfit.map(|set| set.alarm()));
    }
    Ok(alarms)
}

/// A row to be added.
#[derive(Debug)]
struct NewRow {
    file: LogFile,
    /// Column and text; blank text where nothing was given.
    cells: Vec<(&'static str, String)>,
    /// What to heed about it.
    cautions: &'static [&'static str],
}

/// Columns of widths; a bare number in them is in the log's units.
const WIDTHS: [&str; 6] = [
    "flat",
    "stock removed",
    "nick",
    "width",
    "bed knife gap",
    "discard width",
];

impl NewRow {
    /// Units asked for on the command line may not be the log's: bare numbers get theirs written out.
    fn say_units(&mut self, units: Units) {
        let (width, torque) = match units {
            Units::Us => ("in", "lb-ft"),
            Units::Metric => ("mm", "N m"),
        };
        for (column, text) in &mut self.cells {
            let unit = match *column {
                "bolt torque" => torque,
                name if WIDTHS.contains(&name) => width,
                _ => continue,
            };
            if text.ends_with(|last: char| last.is_ascii_digit()) {
                *text = format!("{text} {unit}");
            }
        }
    }

    fn answer(&self, Line(line): Line, units: Units) -> Answer {
        let fields = Map::from_iter([
            ("file".to_owned(), json!(self.file.name())),
            ("line".to_owned(), json!(line)),
            ("cautions".to_owned(), json!(self.cautions)),
        ]);
        Answer {
            command: "add",
            words: format!(
                "Added to {} as line {line}: {}\n{}",
                self.file,
                self.given(),
                heed(self.cautions)
            ),
            fields,
            warnings: Vec::new(),
            units,
            status: ANSWERED,
        }
    }

    /// The text of a cell; blank where nothing was given.
    fn cell(&self, column: &str) -> &str {
        let mut cells = self.cells.iter();
        let found = cells.find(|(name, _)| *name == column);
        found.map_or("", |(_, text)| text)
    }

    fn given(&self) -> String {
        let cells = self.cells.iter().filter(|(_, text)| !text.is_empty());
        let parts: Vec<String> = cells
            .map(|(column, text)| format!("{column} {text}"))
            .collect();
        parts.join("; ")
    }
}

/// Cautions with their head; nothing where there are none.
pub fn heed(cautions: &[&str]) -> String {
    if cautions.is_empty() {
        return String::new();
    }
    let lines = cautions.iter().map(|line| format!("  - {line}\n"));
    std::iter::once("Whenever knives are handled:\n".to_owned())
        .chain(lines)
        .collect()
}

/// Text as it was given, blank where it was not.
fn or_blank(given: &Option<String>) -> String {
    given.clone().unwrap_or_default()
}

/// The day given, or today.
fn day(given: &Option<String>) -> String {
    given.clone().unwrap_or_else(|| today().to_string())
}

/// The machine given, or the only one there is.
fn machine(given: &Option<String>, reading: &Reading) -> String {
    match (given, reading.logbook.machines.as_slice()) {
        (Some(name), _) => name.clone(),
        (None, [only]) => only.name.clone(),
        (None, _) => String::new(),
    }
}
