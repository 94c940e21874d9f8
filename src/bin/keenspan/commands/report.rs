//! One page for the whole crew: the answers first, then pictures.

use super::drift::Drift;
use super::due::{Due, Telling};
use super::interval::Interval;
use super::knives::Knives;
use crate::answer::Answer;
use crate::failure::Failure;
use crate::fitting::{Drawn, Fitting};
use crate::models::check_target;
use crate::settings::Settings;
use crate::words::hours_of_a_year;
use clap::Args;
use keenspan::decisions::dull_chances;
use keenspan::lives::{EdgeLife, Ending, Observation, Stay};
use keenspan::logbook::read::Reading;
use keenspan::logbook::write::write_text_file;
use keenspan::logbook::{Logbook, Machine};
use keenspan::quantities::{Level, MeterHours};
use keenspan::views::{
    IntervalReport, LineEnd, LineStay, MachineDull, MachineLine, Picture, Recommended, ReportPage,
    View,
};
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};
use rayon::join;
use rayon::prelude::*;
use serde_json::{Map, Value, json};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// Steps of a curve of the chance of dull.
const STEPS: u32 = 24;
/// What the page says of itself.
const MARK: &str = "keenspan report";
/// What each picture says of itself.
const PICTURE_MARK: &str = "<!-- keenspan report";

/// One page of answers and pictures, as an HTML file that needs no network
///
/// The interval and the due mark of each machine, what an hour costs, how soon edges go dull, every edge so
/// far, what to do with each knife set, whether edges last as they should, what the log has taught. It can be
/// printed, mailed, and read on a phone.
#[derive(Debug, Args)]
pub struct Report {
    /// Where the page goes
    #[arg(long, value_name = "FILE.html", required_unless_present = "pictures")]
    out: Option<PathBuf>,
    /// A folder for the page's pictures, each an SVG file of its own
    #[arg(long, value_name = "FOLDER")]
    pictures: Option<PathBuf>,
    /// Meter hours in a year of each machine, for the year's budget, rather than at the pace of the log
    #[arg(long, value_name = "HOURS", value_parser = hours_of_a_year, allow_negative_numbers = true)]
    hours_per_year: Option<f64>,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
}

impl Report {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        if let Some(out) = &self.out {
            check_target(out, |text| text.contains(MARK))?;
        }
        let reading = settings.read_log_for_answer()?;
        let log = &reading.logbook;
        let fitting = Fitting::of_decision(self.priors.as_deref(), None, settings.seed);
        let fitted = fitting.fit(log, &|_| {})?;
        let status = fitted.status();
        let drawn = fitted.drawn(settings.seed);
        let page = self.page(&reading, &drawn, settings)?;
        let (words, fields) = self.write(&page)?;
        // Whoever takes the pictures alone sees none of what stands above them.
        let alarms = page.interval.standing.alarms().into_iter();
        let alarms: String = alarms.map(|alarm| format!("! {alarm}\n")).collect();
        let answer = Answer {
            command: "report",
            words: alarms + &words,
            fields,
            warnings: page.interval.warnings(),
            units: settings.units_for(&reading),
            status,
        };
        // The process ends here; to give back a fleet's log piece by piece would keep people waiting.
        std::mem::forget((reading, drawn, page));
        Ok(answer)
    }

    /// All that the page shows.
    fn page(
        &self,
        reading: &Reading,
        drawn: &Drawn,
        settings: &Settings,
    ) -> Result<ReportPage, Failure> {
        let (log, seed, fitted) = (&reading.logbook, settings.seed, &drawn.fitted);
        let units = settings.units_for(reading);
        let telling = Telling {
            units,
            seed,
            by_dirt: false,
        };
        // Each has stretches that only one thread can work at.
        let (drift, (knives, (due, interval))) = join(
            || Drift::default().report(reading, fitted, seed),
            || {
                join(
                    || Knives::default().report(reading, fitted, units, seed),
                    || {
                        join(
                            || Due::default().report(reading, drawn, telling),
                            || {
                                Interval::of_report(self.hours_per_year).report(
                                    reading,
                                    drawn,
                                    (seed, units),
                                )
                            },
                        )
                    },
                )
            },
        );
        let interval = interval?;
        let (dull, lines) = join(
            || dull(drawn, log, &interval),
            || lines(drawn, log, &interval),
        );
        Ok(ReportPage {
            shop: log.shop.name.clone(),
            last_day: last_day(log),
            due: due?,
            drift: drift?,
            knives: knives?,
            learned: fitted.posterior.learned(&super::fit::rotors(log)),
            strikes: fitted.strikes.rates(),
            dull: dull?,
            lines,
            interval,
        })
    }

    /// Writes what was asked for; what was written, in words and for programs.
    fn write(&self, page: &ReportPage) -> Result<(String, Map<String, Value>), Failure> {
        let (mut words, mut files) = (String::new(), Vec::new());
        if let Some(out) = &self.out {
            write_text_file(out, &page.html())?;
            words.push_str(&format!("The report is in {}.\n", out.display()));
        }
        if let Some(folder) = &self.pictures {
            files = write_pictures(folder, &page.pictures())?;
            let (count, folder) = (files.len(), folder.display());
            words.push_str(&format!("{count} pictures are in {folder}.\n"));
        }
        let fields = [
            ("file".to_string(), json!(self.out)),
            ("pictures".to_string(), json!(files)),
        ];
        Ok((words, Map::from_iter(fields)))
    }
}

/// Writes each picture into the folder, over nothing but pictures that this program wrote; their files.
fn write_pictures(folder: &Path, pictures: &[Picture]) -> Result<Vec<PathBuf>, Failure> {
    let files: Vec<PathBuf> = pictures.iter().map(|it| folder.join(&it.file)).collect();
    for file in &files {
        check_target(file, |text| text.contains(PICTURE_MARK))?;
    }
    std::fs::create_dir_all(folder)
        .map_err(|error| Failure::Usage(format!("{}: {error}", folder.display())))?;
    for (file, picture) in files.iter().zip(pictures) {
        write_text_file(file, &picture.svg)?;
    }
    Ok(files)
}

/// The day of the last run or event; blank in an empty log.
fn last_day(log: &Logbook) -> String {
    let runs = log.runs.iter().map(|run| run.date);
    let events = log.events.iter().map(|event| event.date);
    runs.chain(events)
        .max()
        .map_or(String::new(), |day| day.to_string())
}

/// Curves up to twice the longest recommended interval or so, in green hardwood of each class.
fn dull(
    drawn: &Drawn,
    log: &Logbook,
    interval: &IntervalReport,
) -> Result<Vec<MachineDull>, Failure> {
    let hardwood = WoodMix::parse("hardwood")?;
    let of_machine = |machine: &Machine| {
        let told = interval
            .machines
            .iter()
            .find(|it| it.machine == machine.name);
        let longest = told
            .iter()
            .flat_map(|told| &told.by_wood)
            .filter(|row| row.wood == "hardwood")
            .filter_map(|row| Some(row.interval.as_ref()?.0.point.get()))
            .fold(30.0, f64::max);
        let until = MeterHours::new(2.0 * longest)
            .map_err(|error| Failure::NoTrustworthyAnswer(error.to_string()))?;
        let classes = Contamination::ALL.into_iter().map(|class| {
            let blend = Blend::of(&hardwood, class, WoodState::Green);
            let laws = drawn.few.under(&drawn.fitted.asked(machine, blend));
            Ok((
                class.word(),
                dull_chances(&laws, until, STEPS, Level::NINETY)?,
            ))
        });
        Ok(MachineDull {
            machine: machine.name.clone(),
            classes: classes.collect::<Result<_, Failure>>()?,
        })
    };
    let curves: Vec<_> = log.machines.par_iter().map(of_machine).collect();
    curves.into_iter().collect()
}

fn lines(drawn: &Drawn, log: &Logbook, interval: &IntervalReport) -> Vec<MachineLine> {
    let mut stays: HashMap<&str, Vec<&Stay>> = HashMap::new();
    for stay in &drawn.fitted.lives.stays {
        stays.entry(&stay.machine).or_default().push(stay);
    }
    let of_machine = |machine: &Machine| {
        let own = stays.get(machine.name.as_str());
        let mut own = own.cloned().unwrap_or_default();
        own.sort_by(|a, b| a.from.get().total_cmp(&b.from.get()));
        let lives = own.iter().map(|stay| life_of(drawn, stay));
        let due = match best_interval(drawn, machine, interval) {
            Some(best) => due_after(drawn, &best, lives),
            None => vec![None; own.len()],
        };
        let stays = own.into_iter().zip(due);
        MachineLine {
            machine: machine.name.clone(),
            stays: stays
                .map(|(stay, due)| line_stay(drawn, stay, due))
                .collect(),
        }
    };
    log.machines.par_iter().map(of_machine).collect()
}

/// The recommended interval, and each draw's wear rate in the wood that it is for.
struct BestInterval {
    hours: MeterHours,
    rates: Vec<f64>,
}

/// `None` where no planned change pays.
fn best_interval(
    drawn: &Drawn,
    machine: &Machine,
    interval: &IntervalReport,
) -> Option<BestInterval> {
    let mut answers = interval.machines.iter();
    let told = answers.find(|it| it.machine == machine.name)?;
    match &told.answer {
        Recommended::At(answer) => Some(BestInterval {
            hours: answer.interval.point,
            rates: drawn.few.wear_rates(&drawn.fitted.usual(machine).blend),
        }),
        Recommended::WhenCalled { .. } => None,
    }
}

fn life_of<'d>(drawn: &'d Drawn, stay: &Stay) -> Option<&'d EdgeLife> {
    stay.life.map(|life| &drawn.fitted.lives.lives[life])
}

/// For each life the hours, of work such as it had, after which the interval would have been up.
fn due_after<'d>(
    drawn: &Drawn,
    best: &BestInterval,
    lives: impl Iterator<Item = Option<&'d EdgeLife>>,
) -> Vec<Option<MeterHours>> {
    let blends: Vec<Option<Blend>> = lives.map(|life| life?.exposure.blend()).collect();
    let known: Vec<Blend> = blends.iter().flatten().cloned().collect();
    let each = drawn.few.equal_wear_each(best.hours, &best.rates, &known);
    let mut each = each.into_iter();
    let of_blend = |blend: &Option<Blend>| blend.as_ref().and_then(|_| each.next().flatten());
    blends.iter().map(of_blend).collect()
}

/// `due`: the hours after which the interval would have been up.
fn line_stay(drawn: &Drawn, stay: &Stay, due: Option<MeterHours>) -> LineStay {
    let life = life_of(drawn, stay).filter(|_| stay.last);
    let end = life.map_or(LineEnd::NotLooked, end_of);
    // The edge at work has its mark, which knows more than the interval.
    let due = due.filter(|_| end != LineEnd::AtWork);
    LineStay {
        set: stay.set.clone(),
        edge: stay.edge,
        from: stay.from,
        to: stay.to,
        end,
        was_due: due.and_then(|hours| MeterHours::new(stay.from.get() + hours.get()).ok()),
    }
}

fn end_of(life: &EdgeLife) -> LineEnd {
    if life.ending == Ending::Struck {
        return LineEnd::Struck;
    }
    if life.ending == Ending::Running {
        return LineEnd::AtWork;
    }
    let noticed = || {
        matches!(
            &life.observation,
            Observation::Graded {
                noticed: Some(_),
                ..
            }
        )
    };
    match life.observation.last_grade() {
        Some(grade) => LineEnd::Graded(grade),
        None if noticed() => LineEnd::Noticed,
        None => LineEnd::NotLooked,
    }
}
