//! The sheet that goes with a set of knives to the bench.

use super::PrintedPages;
use super::blocks::Sheet;
use super::history::history;
use super::page::{Page, Paper, Role, Shade, Style};
use super::steel::{Steel, steel};
use crate::lives::{Ending, Grind};
use crate::quantities::{Grade, MeterHours, Units};
use crate::views::format::{capital, width};
use crate::views::knives::Grinding;
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
        self.to_measure(&mut sheet, set.grinding());
        history(&mut sheet, &self.lives, self.set_aside);
        sheet.finished()
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
        let (own, others) = self.advice.standing.alarms_about(&set.set);
        let mut warnings = set.must_not_words(self.units());
        warnings.extend(own.into_iter().chain(set.caveats()).chain(others));
        sheet.warnings(&warnings, 5, "keenspan knives");
        sheet.top += 1.0;
    }

    /// Room for what is measured on the bench; knives that must not run are not told to be ground.
    fn to_measure(&self, sheet: &mut Sheet, grinding: Grinding) {
        sheet.heading_for_pen("Match across the knives: width of each, and weight");
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
                Style::bold(3.6).for_pen(),
                (sheet.left + 4.0, y),
                &(number + 1).to_string(),
            );
        }
        sheet.top += height + 4.0;
        let first = match grinding {
            Grinding::Free => "Grind all to the narrowest",
            Grinding::NotYet => "Not ground yet: see above",
            Grinding::NoMore => "Not ground again: see above",
            Grinding::NorRun => "Neither ground nor run: see above",
        };
        let rule =
            format!("{first}. Match as the machine's manual says. Allowed apart by it: width");
        let rule = rule.as_str();
        let style = SMALL.for_pen();
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
}

fn edges(per_knife: u32) -> String {
    match per_knife {
        1 => "one edge each".to_string(),
        edges => format!("{edges} edges each"),
    }
}
