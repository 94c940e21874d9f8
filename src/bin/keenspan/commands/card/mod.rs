//! Paper for the shop: the card at the machine, the sheet with the set.

mod sheet;

use super::due::{self, Due, Telling};
use super::knives::{Bench, Knives};
use crate::answer::Answer;
use crate::failure::Failure;
use crate::fitting::Fitting;
use crate::models::check_target_bytes;
use crate::settings::Settings;
use clap::{Args, ValueEnum};
use keenspan::logbook::read::Reading;
use keenspan::logbook::write::write_file;
use keenspan::logbook::{Logbook, Machine};
use keenspan::quantities::Units;
use keenspan::views::{MachineCard, MachineCards, MachineDue, Paper, PrintedPages, Tools, View};
use serde_json::json;
use std::path::{Path, PathBuf};

/// A card to hang at the machine, or a sheet to go with a set to the bench, as PDF or HTML
///
/// The card has the due mark large, the marks for clean to gritty wood, room to write the next ones, drawings
/// to grade an edge by, and the machine's figures: one page a machine. With --set it is the mechanic's sheet:
/// what to do with the set, its steel to scale, room for measured widths, its history; what somebody sees on the
/// bench can be given beside it, as for `keenspan knives`.
#[derive(Debug, Args)]
pub struct Card {
    /// Where it goes; the ending says whether it is a PDF or HTML
    #[arg(long, value_name = "FILE.pdf|FILE.html")]
    out: PathBuf,
    /// Only this machine
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// The sheet of this set, and no machine
    #[arg(long, value_name = "SET", conflicts_with = "machine")]
    set: Option<String>,
    #[command(flatten)]
    bench: Bench,
    /// Letter where the log is in inches, A4 where it is in millimetres, unless given
    #[arg(long)]
    paper: Option<PaperWord>,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// A saved fit; used where neither the log nor the priors have changed since
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
}

/// Paper as it is typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum PaperWord {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

/// What a file's ending says that it is.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Pdf,
    Html,
}

impl Card {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let kind = kind(&self.out)?;
        check_target_bytes(&self.out, PrintedPages::wrote)?;
        let reading = settings.read_log_for_answer()?;
        let units = settings.units_for(&reading);
        let (pages, mut answer) = match &self.set {
            Some(set) => self.sheet(set, &reading, units, settings.seed)?,
            None => self.cards(&reading, units, settings.seed)?,
        };
        self.write(&pages, kind)?;
        answer.fields.insert("file".to_string(), json!(self.out));
        let paper = pages.paper().word();
        answer.fields.insert("paper".to_string(), json!(paper));
        let count = pages.count();
        answer.fields.insert("pages".to_string(), json!(count));
        let said = if count == 1 {
            "1 page".to_string()
        } else {
            format!("{count} pages")
        };
        let mut head = format!("Written: {}, {said}, {paper}.\n", self.out.display());
        if let Some(strange) = strange_letters(&pages, kind) {
            head.push_str(&strange);
            head.push('\n');
            answer.warnings.push(strange);
        }
        answer.words = head + "\n" + &answer.words;
        Ok(answer)
    }

    fn write(&self, pages: &PrintedPages, kind: Kind) -> Result<(), Failure> {
        let bytes = match kind {
            Kind::Html => pages.html().into_bytes(),
            Kind::Pdf => pages
                .pdf()
                .map_err(|error| Failure::Usage(error.to_string()))?,
        };
        Ok(write_file(&self.out, &bytes)?)
    }

    fn paper(&self, units: Units) -> Paper {
        match (self.paper, units) {
            (Some(PaperWord::A4), _) | (None, Units::Metric) => Paper::A4,
            (Some(PaperWord::Letter), _) | (None, Units::Us) => Paper::Letter,
        }
    }

    fn cards(
        &self,
        reading: &Reading,
        units: Units,
        seed: u64,
    ) -> Result<(PrintedPages, Answer), Failure> {
        let log = &reading.logbook;
        let asked = Due::of_card(self.machine.clone());
        let fitting = Fitting::of_decision(self.priors.as_deref(), self.model.as_deref(), seed);
        let fitted = fitting.fit(log, &|_| {})?;
        let status = fitted.status();
        let telling = Telling {
            units,
            seed,
            by_dirt: true,
        };
        let due = asked.report(reading, &fitted.drawn(seed), telling)?;
        let cards = MachineCards {
            shop: log.shop.name.clone(),
            cards: due
                .machines
                .iter()
                .map(|it| card_of(it, log))
                .collect::<Result<_, _>>()?,
            due,
            units,
        };
        let answer = due::answer("card", &cards.due, units, status);
        Ok((cards.printed(self.paper(units)), answer))
    }

    fn sheet(
        &self,
        set: &str,
        reading: &Reading,
        units: Units,
        seed: u64,
    ) -> Result<(PrintedPages, Answer), Failure> {
        let log = &reading.logbook;
        let asked = Knives::of_sheet(
            set.to_string(),
            self.bench.clone(),
            self.priors.clone(),
            self.model.clone(),
        );
        let fitted = asked.fitting(seed).fit(log, &|_| {})?;
        let advice = asked.report(reading, &fitted, units, seed)?;
        let answer = Answer {
            command: "card",
            words: advice.text(),
            fields: advice.json(),
            warnings: advice.warnings(),
            units,
            status: fitted.status(),
        };
        let measured = asked.measured(log, units)?;
        let sheet = sheet::of(log, &fitted.lives, advice, measured)?;
        Ok((sheet.printed(self.paper(units)), answer))
    }
}

/// By its ending.
fn kind(path: &Path) -> Result<Kind, Failure> {
    let ending = path
        .extension()
        .map(|it| it.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("pdf") => Ok(Kind::Pdf),
        Some("html" | "htm") => Ok(Kind::Html),
        _ => Err(Failure::Usage(format!(
            "--out {}: name a file that ends in .pdf or .html",
            path.display()
        ))),
    }
}

/// What a PDF cannot draw.
fn strange_letters(pages: &PrintedPages, kind: Kind) -> Option<String> {
    let missing = pages.missing_letters();
    if matches!(kind, Kind::Html) || missing.is_empty() {
        return None;
    }
    let letters: String = missing.iter().collect();
    Some(format!(
        "The letters of the PDF do not include {letters}; boxes stand for them. Written as .html, the card shows them."
    ))
}

fn card_of(due: &MachineDue, log: &Logbook) -> Result<MachineCard, Failure> {
    let named = |machine: &&Machine| machine.name == due.machine;
    let machine =
        log.machines.iter().find(named).ok_or_else(|| {
            Failure::Log(format!("machines.csv has no machine \"{}\"", due.machine))
        })?;
    Ok(MachineCard {
        rotor: machine.rotor,
        knives: machine.knives,
        edges_per_knife: machine.edges_per_knife,
        tools: Tools {
            wrench: machine.wrench.clone(),
            bolt_torque: machine.bolt_torque,
            bed_knife_gap: machine.bed_knife_gap,
            discard_width: machine.discard_width,
        },
    })
}
