//! The sheet that goes with a set of knives to the bench.

use super::PrintedPages;
use super::blocks::{HEADING, Sheet};
use super::page::{Anchor, Page, Paper, Role, Shade, Style};
use super::steel::{Steel, steel};
use crate::lives::{Ending, Grind};
use crate::quantities::{Grade, MeterHours, Units};
use crate::views::format::{hours, width};
use crate::views::{KnivesReport, SetKnives};

/// One life of one edge of the set.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetLife {
    /// Which edge, from 1.
    pub edge: u32,
    /// The machine it worked in.
    pub machine: String,
    /// The day it went to work, where known, as year-month-day.
    pub from: Option<String>,
    /// The day it came out for the last time; `None` where it is at work, or not known.
    pub to: Option<String>,
    /// Meter hours.
    pub hours: MeterHours,
    /// The last grade given to it.
    pub grade: Option<Grade>,
    /// How it ended.
    pub ending: Ending,
    /// Who ground it; blank for new steel, or where nobody says.
    pub ground_by: String,
    /// How often the knives had been ground before.
    pub regrinds: u32,
}

/// The sheet of one set.
#[derive(Debug, Clone, PartialEq)]
pub struct SetSheet {
    /// What the shop calls itself; may be blank.
    pub shop: String,
    /// Knives in the set; `None` where sets.csv does not list it.
    pub knives: Option<u32>,
    /// Edges on each.
    pub edges_per_knife: u32,
    /// Steel, as written; may be blank.
    pub kind_of_steel: String,
    /// What to do with it, and what that stands on: an answer for this set alone.
    pub advice: KnivesReport,
    /// Lives of its edges, the oldest first.
    pub lives: Vec<SheetLife>,
    /// Lives that could not be used.
    pub set_aside: usize,
    /// Its grinds, the oldest first.
    pub grinds: Vec<Grind>,
    /// Its width.
    pub steel: Steel,
}

/// Height of a row of the history.
const LINE: f64 = 5.0;
/// Height of a row to write in.
const ROW: f64 = 7.4;
/// A sheet has room to measure so many knives.
const MOST_KNIVES: u32 = 8;
const SMALL: Style = Style::plain(2.9);

impl SetSheet {
    /// Laid out on this paper.
    pub fn printed(&self, paper: Paper) -> PrintedPages {
        let pages: Vec<Page> = self
            .advice
            .sets
            .iter()
            .map(|set| self.page(paper, set))
            .collect();
        let names: Vec<&str> = pages.iter().map(|page| page.title.as_str()).collect();
        PrintedPages {
            title: names.join(", "),
            paper,
            pages,
        }
    }

    fn units(&self) -> Units {
        self.advice.units
    }

    fn page(&self, paper: Paper, set: &SetKnives) -> Page {
        let knives = self
            .knives
            .map_or("knives not listed".to_string(), |knives| {
                format!("{knives} knives, {}", edges(self.edges_per_knife))
            });
        let kind = &self.kind_of_steel;
        let about = if kind.is_empty() {
            knives
        } else {
            format!("{knives}, {kind}")
        };
        let title = format!("Set {}", set.set);
        let mut sheet = Sheet::new(paper, &title, [&about, &self.shop]);
        sheet.close_below(&self.advice.standing);
        self.advise(&mut sheet, set);
        self.warn(&mut sheet, set);
        sheet.heading("Steel left");
        steel(&mut sheet, &self.steel, self.units());
        self.ground(&mut sheet);
        self.to_measure(&mut sheet);
        self.history(&mut sheet);
        sheet.page
    }

    /// What to do, in a frame.
    fn advise(&self, sheet: &mut Sheet, set: &SetKnives) {
        let (left, top, width) = (sheet.left, sheet.top, sheet.width);
        let room = width - 8.0;
        let page = &mut sheet.page;
        let place = format!("What to do: {}", set.place());
        let heading = Style::heading(4.4);
        let heading = Style {
            size: heading.fitted(&place, room).size.max(3.3),
            ..heading
        };
        page.cell(heading, (left + 4.0, top + 6.6), room, &place);
        let large = Style {
            role: Role::Text,
            ..Style::bold(7.0)
        };
        let words = capital(&set.advice_words());
        // Long advice grows smaller, down to a size at which it takes two lines.
        let large = Style {
            size: large.fitted(&words, room).size.max(4.6),
            ..large
        };
        let mut line = page.paragraph_of(large, (left + 4.0, top + 15.0), room, &words, 2);
        line -= large.leading() - 6.0;
        for (label, sentence) in set.figures(self.units()) {
            let text = format!("{label}: {sentence}");
            line = page.paragraph_of(Style::plain(3.3), (left + 4.0, line), room, &text, 2) + 0.4;
        }
        let height = line - 3.3 - top + 1.4;
        page.frame((left, top), (width, height), 1.1);
        sheet.top = top + height + 2.4;
    }

    fn warn(&self, sheet: &mut Sheet, set: &SetKnives) {
        let mut warnings = set.must_not_words(self.units());
        warnings.extend(self.advice.standing.alarms());
        warnings.extend(set.caveats());
        sheet.warnings(&warnings, 5, "keenspan knives");
        sheet.top += 1.0;
    }

    /// Room for what is measured on the bench.
    fn to_measure(&self, sheet: &mut Sheet) {
        sheet.heading("Match across the knives: width of each, and weight");
        let rows = self.knives.unwrap_or(4).clamp(1, MOST_KNIVES);
        let unit = match self.units() {
            Units::Us => "in",
            Units::Metric => "mm",
        };
        let columns = [
            ("knife".to_string(), 13.0),
            (format!("left end ({unit})"), 33.0),
            (format!("right end ({unit})"), 33.0),
            ("weight".to_string(), 26.0),
            ("deepest nick".to_string(), 28.0),
        ];
        let used: f64 = columns.iter().map(|(_, width)| width).sum();
        let mut columns: Vec<(&str, f64)> = columns
            .iter()
            .map(|(name, width)| (name.as_str(), *width))
            .collect();
        columns.push(("cracks looked for by", sheet.width - used));
        let at = (sheet.left, sheet.top);
        let height = sheet.ruled(at, &columns, rows as usize, ROW);
        for number in 0..rows {
            let y = sheet.top + 5.0 + ROW * f64::from(number) + 5.2;
            sheet.page.text(
                Style::bold(3.6),
                (sheet.left + 4.0, y),
                &(number + 1).to_string(),
            );
        }
        sheet.top += height + 4.0;
        let rule = "Grind all to the narrowest; match as the machine's manual says. Allowed apart by it: width";
        let style = SMALL;
        let long = style.weight.width(rule, style.size);
        let y = sheet.top;
        sheet.page.text(style, (sheet.left, y), rule);
        let from = sheet.left + long + 1.5;
        let middle = (from + sheet.right()) / 2.0;
        sheet
            .page
            .rule((from, y + 0.6), (middle - 9.0, y + 0.6), 0.3, Shade::Ink);
        sheet.page.text(style, (middle - 7.5, y), "weight");
        sheet.page.rule(
            (middle + 5.0, y + 0.6),
            (sheet.right(), y + 0.6),
            0.3,
            Shade::Ink,
        );
        sheet.top += 3.0;
    }

    /// Grinds on a line or two.
    fn ground(&self, sheet: &mut Sheet) {
        let units = self.units();
        let words = |grind: &Grind| {
            let took = grind.removed.map_or("not said how much".to_string(), |it| {
                format!("took {}", width(it, units))
            });
            if grind.by.is_empty() {
                format!("{} {took}", grind.on)
            } else {
                format!("{} {took}, {}", grind.on, grind.by)
            }
        };
        let grinds: Vec<String> = self.grinds.iter().rev().map(words).collect();
        let said = if grinds.is_empty() {
            "No grind in this log.".to_string()
        } else {
            format!("Grinds, the last first: {}.", grinds.join("; "))
        };
        let at = (sheet.left, sheet.top + SMALL.size);
        let below = sheet.page.paragraph_of(SMALL, at, sheet.width, &said, 2);
        sheet.top = below + 0.6;
    }

    /// Lives, as many of the last as there is room for.
    fn history(&self, sheet: &mut Sheet) {
        let top = sheet.top;
        sheet.heading("Edges so far, the last first");
        let rows = ((sheet.bottom - sheet.top) / LINE).floor().max(2.0) as usize - 1;
        let lives = columns(&LIVES, sheet.width);
        let rows = self.lives.iter().rev().map(life_row).take(rows);
        let shown = table(sheet, &lives, rows);
        let mut more = Vec::new();
        let hidden = self.lives.len() - shown;
        if hidden > 0 {
            more.push(format!("{hidden} earlier not shown"));
        }
        if self.set_aside > 0 {
            more.push(format!("{} set aside: keenspan verify", self.set_aside));
        }
        let at = (sheet.right(), top + HEADING.size);
        let style = SMALL.at(Anchor::Right);
        if !more.is_empty() {
            sheet.page.cell(style, at, 90.0, &more.join("; "));
        }
    }
}

/// With a capital at its head.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

fn edges(per_knife: u32) -> String {
    match per_knife {
        1 => "one edge each".to_string(),
        edges => format!("{edges} edges each"),
    }
}

/// Name, share of the width, whether its figures stand at the right.
type Column = (&'static str, f64, bool);

const LIVES: [Column; 7] = [
    ("edge", 0.07, false),
    ("from", 0.13, false),
    ("to", 0.13, false),
    ("in", 0.18, false),
    ("hours", 0.08, true),
    ("came out", 0.18, false),
    ("ground before", 0.23, false),
];

/// Columns by name, with where each begins and how wide it is.
fn columns(columns: &[Column], width: f64) -> Vec<(Column, f64, f64)> {
    let mut from = 0.0;
    let place = |column: &Column| {
        let wide = column.1 * width;
        let placed = (*column, from, wide);
        from += wide;
        placed
    };
    columns.iter().map(place).collect()
}

/// A table of lines; returns how many there were.
fn table(
    sheet: &mut Sheet,
    columns: &[(Column, f64, f64)],
    rows: impl Iterator<Item = Vec<String>>,
) -> usize {
    let (left, top, width) = (sheet.left, sheet.top, sheet.width);
    sheet.page.filled((left, top), (width, LINE), Shade::Pale);
    let mut line = |number: usize, cells: &[String], style: Style| {
        let y = top + LINE * number as f64 + 3.5;
        for (cell, ((_, _, right), from, wide)) in cells.iter().zip(columns) {
            let room = wide - 2.4;
            let cut = style.weight.cut(cell, style.size, room);
            if *right {
                let x = left + from + wide - 1.6;
                sheet.page.text(style.at(Anchor::Right), (x, y), &cut);
            } else {
                sheet.page.text(style, (left + from + 1.2, y), &cut);
            }
        }
        let y = top + LINE * (number + 1) as f64;
        sheet
            .page
            .rule((left, y), (left + width, y), 0.2, Shade::Grey);
    };
    let names: Vec<String> = columns.iter().map(|it| it.0.0.to_string()).collect();
    line(0, &names, Style::bold(2.9));
    let mut shown = 0;
    for row in rows {
        shown += 1;
        line(shown, &row, SMALL);
    }
    shown
}

fn life_row(life: &SheetLife) -> Vec<String> {
    let day = |day: &Option<String>| day.clone().unwrap_or_else(|| "?".to_string());
    let to = match life.ending {
        Ending::Running => "at work".to_string(),
        _ => day(&life.to),
    };
    let seen = match (life.grade, life.ending) {
        (Some(grade), Ending::Struck) => format!("{}, struck", grade.word()),
        (None, Ending::Struck) => "struck".to_string(),
        (Some(grade), _) => grade.word().to_string(),
        (None, Ending::NoticedDull) => "noticed dull".to_string(),
        (None, Ending::Running) => String::new(),
        (None, Ending::PulledOnSchedule) => "not graded".to_string(),
    };
    let ground = match (life.regrinds, life.ground_by.as_str()) {
        (0, _) => "new".to_string(),
        (1, "") => "once".to_string(),
        (1, by) => format!("once, {by}"),
        (grinds, "") => format!("{grinds} times"),
        (grinds, by) => format!("{grinds} times, {by}"),
    };
    vec![
        life.edge.to_string(),
        day(&life.from),
        to,
        life.machine.clone(),
        hours(life.hours),
        seen,
        ground,
    ]
}
