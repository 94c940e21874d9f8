//! Starting a log.

use super::add::heed;
use crate::answer::{ANSWERED, Answer};
use crate::failure::Failure;
use crate::settings::Settings;
use crate::terminal::ask;
use crate::typed_next;
use crate::words::{hours_between, typed};
use clap::{Args, ValueEnum};
use keenspan::decisions::handling_knives;
use keenspan::logbook::write::write_new_logbook;
use keenspan::logbook::{DateOrder, Line, LogFile, Logbook, Machine, Rotor, ShopSettings};
use keenspan::quantities::{MeterHours, Units};
use serde_json::{Map, json};
use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

const README: &str = include_str!("new_readme.txt");
const README_NAME: &str = "README.txt";

/// Start a log: a folder of tables that open in any spreadsheet, and a page on how to fill them
///
/// Asks for the machine on a terminal where it is not given. A log that exists is never touched.
#[derive(Debug, Args)]
pub struct New {
    /// The folder to make; it may exist, but hold no log
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// What the crew calls the machine
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// How its rotor carries the knives
    #[arg(long)]
    rotor: Option<RotorWord>,
    /// Knives in a set
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=200))]
    knives: Option<u32>,
    /// Cutting edges on each knife: 1, or 2 where they are reversible
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=8))]
    edges: u32,
    /// Today's rule: change after this many meter hours
    #[arg(long, value_name = "HOURS", value_parser = rule)]
    rule: Option<MeterHours>,
    /// What the hour meter reads today
    #[arg(long, value_name = "READING", value_parser = hours)]
    meter: Option<MeterHours>,
    /// What the shop calls itself
    #[arg(long, value_name = "NAME", default_value = "")]
    shop: String,
    /// How the crew writes 5/3/2026; dates with the year first are always understood
    #[arg(long, value_name = "ORDER")]
    dates: Option<DatesWord>,
}

/// Drum or disc, as typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum RotorWord {
    /// Knives along a drum
    Drum,
    /// Knives on the face of a disc
    Disc,
}

/// Which way round dates are written, as typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum DatesWord {
    /// 5/3/2026 is the fifth of March
    #[value(name = "day-first", alias = "day first")]
    Day,
    /// 5/3/2026 is the third of May
    #[value(name = "month-first", alias = "month first")]
    Month,
    /// Only 2026-03-05
    #[value(name = "year-first", alias = "year first")]
    Year,
}

impl New {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let logbook = self.logbook(settings)?;
        write_new_logbook(&self.folder, &logbook)?;
        let readme = write_readme(&self.folder);
        let mut files: Vec<&str> = LogFile::ALL.iter().map(|file| file.name()).collect();
        files.extend(readme.is_ok().then_some(README_NAME));
        Ok(Answer {
            command: "new",
            words: self.words(&files),
            fields: Map::from_iter([
                (
                    "folder".to_owned(),
                    json!(self.folder.display().to_string()),
                ),
                ("files".to_owned(), json!(files)),
                ("cautions".to_owned(), json!(handling_knives())),
            ]),
            warnings: readme.err().into_iter().collect(),
            units: logbook.shop.units,
            status: ANSWERED,
        })
    }

    fn logbook(&self, settings: &Settings) -> Result<Logbook, Failure> {
        Ok(Logbook {
            machines: vec![self.machine()?],
            shop: ShopSettings {
                name: self.shop.clone(),
                units: settings.units.or_else(ask_units).unwrap_or_default(),
                dates: self.dates.map(DateOrder::from).or_else(ask_dates),
            },
            ..Logbook::default()
        })
    }

    fn machine(&self) -> Result<Machine, Failure> {
        Ok(Machine {
            line: Line(2),
            name: self.name()?,
            rotor: self.rotor()?,
            knives: self.knives()?,
            edges_per_knife: self.edges,
            meter: self.meter,
            rule: self.rule,
            service_every: None,
            wrench: String::new(),
            bolt_torque: None,
            bed_knife_gap: None,
            discard_width: None,
            note: String::new(),
        })
    }

    fn name(&self) -> Result<String, Failure> {
        let name = |text: &str| match text.trim() {
            "" => Err("with a name".to_owned()),
            name => Ok(name.to_owned()),
        };
        match &self.machine {
            Some(given) => name(given).map_err(|_| missing("--machine NAME")),
            None => ask("What does the crew call the machine?", name)
                .ok_or_else(|| missing("--machine NAME")),
        }
    }

    fn rotor(&self) -> Result<Rotor, Failure> {
        let rotor = |text: &str| {
            let word = RotorWord::from_str(text, true);
            word.map_err(|_| "drum or disc".to_owned())
        };
        self.rotor
            .or_else(|| ask("Does it have a drum or a disc?", rotor))
            .map(Rotor::from)
            .ok_or_else(|| missing("--rotor drum or --rotor disc"))
    }

    fn knives(&self) -> Result<u32, Failure> {
        let number = |text: &str| {
            let number = text
                .parse()
                .ok()
                .filter(|number| (1..=200).contains(number));
            number.ok_or_else(|| "with a number, such as 2".to_owned())
        };
        self.knives
            .or_else(|| ask("How many knives are in a set?", number))
            .ok_or_else(|| missing("--knives N"))
    }

    fn words(&self, files: &[&str]) -> String {
        let next = |command: &str| typed_next::in_a_line(command, &self.folder);
        format!(
            "A new log in {}: {}.\n{README_NAME} says how to fill each file.\nNext, the knives, and which of them are \
             in:\n  {}\n  {}\n\n{}",
            self.folder.display(),
            files.join(", "),
            next("keenspan add set --name NAME --knives N"),
            next("keenspan add event fitted --set NAME --meter READING"),
            heed(handling_knives())
        )
    }
}

fn ask_units() -> Option<Units> {
    ask(
        "Does the crew measure in inches or in millimetres?",
        |text| match text.to_lowercase().as_str() {
            "inches" | "inch" | "in" => Ok(Units::Us),
            "millimetres" | "millimeters" | "mm" => Ok(Units::Metric),
            _ => Err("inches or millimetres".into()),
        },
    )
}

/// Asked with a day that tells the orders apart.
fn ask_dates() -> Option<DateOrder> {
    const QUESTION: &str =
        "How does the crew write the last day of March: 31/3/2026, 3/31/2026 or 2026-03-31?";
    ask(QUESTION, |text| match text {
        "31/3/2026" => Ok(DateOrder::DayFirst),
        "3/31/2026" => Ok(DateOrder::MonthFirst),
        "2026-03-31" => Ok(DateOrder::YearFirst),
        _ => Err("with one of the three".into()),
    })
}

fn missing(flag: &str) -> Failure {
    Failure::Usage(format!(
        "a new log needs its first machine: give {flag}; nothing was written"
    ))
}

/// Keeps a page that is there already.
fn write_readme(folder: &Path) -> Result<(), String> {
    let path = folder.join(README_NAME);
    OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&path)
        .and_then(|mut file| file.write_all(README.as_bytes()))
        .map_err(|error| format!("{README_NAME} was not written: {error}"))
}

fn hours(text: &str) -> Result<MeterHours, String> {
    let number = typed(text, "hours, such as 50 or 1234.5")?;
    MeterHours::new(number).map_err(|error| error.to_string())
}

fn rule(text: &str) -> Result<MeterHours, String> {
    MeterHours::new(hours_between(text)?).map_err(|error| error.to_string())
}

impl From<RotorWord> for Rotor {
    fn from(word: RotorWord) -> Rotor {
        match word {
            RotorWord::Drum => Rotor::Drum,
            RotorWord::Disc => Rotor::Disc,
        }
    }
}

impl From<DatesWord> for DateOrder {
    fn from(word: DatesWord) -> DateOrder {
        match word {
            DatesWord::Day => DateOrder::DayFirst,
            DatesWord::Month => DateOrder::MonthFirst,
            DatesWord::Year => DateOrder::YearFirst,
        }
    }
}
