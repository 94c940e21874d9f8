//! What somebody sees of a set on the bench, as typed.

use crate::failure::Failure;
use clap::Args;
use keenspan::lives::{SetState, Sight};
use keenspan::logbook::Logbook;
use keenspan::logbook::read::read_width;
use keenspan::quantities::{Grade, Units, WearFraction, Width};

/// What can be given of the set named; it stands before what the log says.
#[derive(Debug, Clone, Default, Args)]
pub struct Bench {
    /// What the edge looks like: keen, working, dull or overrun
    #[arg(long, requires = "set", value_parser = grade)]
    grade: Option<Grade>,
    /// Width of the bright flat along the edge, such as "0.4 mm"
    #[arg(
        long,
        value_name = "WIDTH",
        requires = "set",
        conflicts_with = "grade",
        allow_hyphen_values = true
    )]
    flat: Option<String>,
    /// Depth of the deepest nick
    #[arg(
        long,
        value_name = "DEPTH",
        requires = "set",
        allow_hyphen_values = true
    )]
    nick: Option<String>,
    /// Width of the narrowest knife now
    #[arg(
        long,
        value_name = "WIDTH",
        requires = "set",
        allow_hyphen_values = true
    )]
    width: Option<String>,
    /// Fresh edges beside the one at work
    #[arg(long, value_name = "N", requires = "set", value_parser = clap::value_parser!(u32).range(..=9))]
    edges_left: Option<u32>,
    /// A knife of the set is cracked
    #[arg(long, requires = "set")]
    cracked: bool,
    /// The knives do not match in width or weight
    #[arg(long, requires = "set")]
    unmatched: bool,
    /// Somebody qualified has looked it over since it was struck, and found it sound
    #[arg(long, requires = "set")]
    inspected: bool,
}

/// The same, understood.
#[derive(Debug, Clone, Default)]
pub struct SeenOnBench {
    pub sight: Option<Sight>,
    pub nick: Option<Width>,
    pub width: Option<Width>,
    pub edges_left: Option<u32>,
    pub cracked: bool,
    pub unmatched: bool,
    pub inspected: bool,
    /// In words, as typed.
    pub words: Vec<String>,
}

fn grade(text: &str) -> Result<Grade, String> {
    let word = text.to_lowercase();
    let grade = Grade::ALL.into_iter().find(|grade| grade.word() == word);
    grade.ok_or_else(|| "write keen, working, dull or overrun".to_string())
}

impl Bench {
    pub fn read(&self, log: &Logbook, units: Units) -> Result<SeenOnBench, Failure> {
        let width = |option: &str, text: &Option<String>| {
            let read = |text: &String| {
                let below_zero = text.trim().starts_with(['-', '\u{2212}']);
                if below_zero {
                    return Err(Failure::Usage(format!(
                        "{option} {text}: must be above zero; leave {option} out where you have not measured"
                    )));
                }
                let wrong = |wanted| Failure::Usage(format!("{option} {text}: {wanted}"));
                read_width(text, units).map_err(wrong)
            };
            text.as_ref().map(read).transpose()
        };
        let flat = width("--flat", &self.flat)?;
        let measured = flat.map(|flat| fraction(flat, log)).transpose()?;
        Ok(SeenOnBench {
            words: self.words(units),
            sight: measured.or(self.grade.map(Sight::Graded)),
            nick: width("--nick", &self.nick)?,
            width: width("--width", &self.width)?,
            edges_left: self.edges_left,
            cracked: self.cracked,
            unmatched: self.unmatched,
            inspected: self.inspected,
        })
    }
}

impl Bench {
    /// What was typed, a clause each.
    fn words(&self, units: Units) -> Vec<String> {
        let unit = |text: &str| match units {
            _ if text.parse::<f64>().is_err() => "",
            Units::Us => " in",
            Units::Metric => " mm",
        };
        let width = |what: &str, text: &Option<String>| {
            let text = text.as_ref().map(|text| text.trim());
            text.map(|text| format!("{what} {text}{}", unit(text)))
        };
        let told = [
            self.grade.map(|grade| format!("graded {}", grade.word())),
            width("bright flat", &self.flat),
            width("deepest nick", &self.nick),
            width("narrowest knife", &self.width),
            self.edges_left
                .map(|left| format!("{left} fresh edges beside the one at work")),
            self.cracked.then(|| "cracked".to_string()),
            self.unmatched.then(|| "knives do not match".to_string()),
            self.inspected
                .then(|| "looked over by somebody qualified and found sound".to_string()),
        ];
        told.into_iter().flatten().collect()
    }
}

/// Typed widths above the log's by more than this are no slip of the rule, millimetres. Basis: judged; a
/// rule in a shop reads to a tenth or two.
const READING: f64 = 0.2;

impl SeenOnBench {
    /// Refuses more fresh edges beside the one at work than the set has.
    pub fn check(&self, set: &SetState) -> Result<(), Failure> {
        let edges = set.edges_per_knife.max(1);
        let Some(left) = self.edges_left.filter(|left| *left >= edges) else {
            return Ok(());
        };
        let each = match edges {
            1 => "one cutting edge each, so that none is left beside the one at work: write 0"
                .to_string(),
            edges => format!("{edges} cutting edges each: write at most {}", edges - 1),
        };
        Err(Failure::Usage(format!(
            "--edges-left {left}: the knives of {} have {each}, or leave it out",
            set.set
        )))
    }

    /// That no typed nick is shallower than the one that the log has, unless a grind came between.
    fn nick_agrees(&self, set: &SetState, units: Units) -> Result<(), Failure> {
        let known = set.nick.filter(|_| !set.nick_was_ground);
        let Some((typed, known)) = self.nick.zip(known) else {
            return Ok(());
        };
        if typed.millimetres() + READING >= known.millimetres() {
            return Ok(());
        }
        let words = |width| in_words(width, units);
        Err(Failure::Usage(format!(
            "--nick {}: a nick does not close: the log has one of {} for set {}, not ground since; correct the log \
             or the figure",
            words(typed),
            words(known),
            set.set
        )))
    }

    /// That no typed width is above what the log has last, and no typed nick below it.
    pub fn agrees_with(&self, set: &SetState, units: Units) -> Result<(), Failure> {
        self.nick_agrees(set, units)?;
        let known = set.width.or(set.width_at_most);
        let Some((typed, known)) = self.width.zip(known) else {
            return Ok(());
        };
        if typed.millimetres() <= known.millimetres() + READING {
            return Ok(());
        }
        let words = |width| in_words(width, units);
        let at_most = if set.width.is_none() { "at most " } else { "" };
        Err(Failure::Usage(format!(
            "--width {}: steel does not grow: the log has {at_most}{} for set {}; correct the log or the figure",
            words(typed),
            words(known),
            set.set
        )))
    }
}

fn in_words(width: Width, units: Units) -> String {
    match units {
        Units::Us => format!("{:.3} in", width.inches()),
        Units::Metric => format!("{:.1} mm", width.millimetres()),
    }
}

/// A flat against the width at which this crew calls an edge dull.
fn fraction(flat: Width, log: &Logbook) -> Result<Sight, Failure> {
    let dull = log.costs.flat_when_dull.ok_or_else(|| {
        Failure::Usage(
            "--flat: shop.csv does not say at which width this crew calls an edge dull \
             (flat_when_dull): fill in its row there, such as \"flat_when_dull,0.6 mm\", or give --grade instead"
                .to_string(),
        )
    })?;
    WearFraction::new(flat.millimetres() / dull.millimetres())
        .ok()
        .filter(|fraction| fraction.get() > 0.0)
        .map(Sight::Measured)
        .ok_or_else(|| {
            Failure::Usage("--flat: a flat above zero; a fresh edge has none".to_string())
        })
}
