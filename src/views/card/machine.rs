//! The card that hangs at the chipper: the due mark, large.

use super::PrintedPages;
use super::blocks::{HEADING, Sheet};
use super::mark::mark_panel;
use super::page::{Anchor, Page, Paper, Shade, Style};
use super::wear_guide::{self, wear_guide};
use crate::decisions::DueAnswer;
use crate::lives::Rotor;
use crate::quantities::{Torque, Units, Width};
use crate::views::due::{DueMark, MachineDue};
use crate::views::format::{hours, torque, width};
use crate::views::{DueReport, Standing};

/// The figures that the log gives from the machine's own manual; nothing stands in for those it does not.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tools {
    /// Wrench sizes, as written; may be blank.
    pub wrench: String,
    /// Knife bolt torque.
    pub bolt_torque: Option<Torque>,
    /// Gap between knife and bed knife.
    pub bed_knife_gap: Option<Width>,
    /// Knives below this width are discarded.
    pub discard_width: Option<Width>,
}

/// What a machine's card says beside its due mark.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineCard {
    /// Drum or disc.
    pub rotor: Rotor,
    /// Knives in a set.
    pub knives: u32,
    /// Edges on each.
    pub edges_per_knife: u32,
    /// What work on its knives takes.
    pub tools: Tools,
}

/// Cards of machines, one page each.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineCards {
    /// What the shop calls itself; may be blank.
    pub shop: String,
    /// The answers, and what they stand on.
    pub due: DueReport,
    /// One for each answer, in their order.
    pub cards: Vec<MachineCard>,
    /// Units of widths and torque.
    pub units: Units,
}

/// Height of the boxes of the classes of dirt.
const DIRT: f64 = 19.0;
/// Height of a row to write in.
const ROW: f64 = 8.6;

impl MachineCards {
    /// Laid out on this paper.
    pub fn printed(&self, paper: Paper) -> PrintedPages {
        let cards = self.due.machines.iter().zip(&self.cards);
        let pages: Vec<Page> = cards
            .map(|(due, card)| self.page(paper, due, card))
            .collect();
        let names: Vec<&str> = pages.iter().map(|page| page.title.as_str()).collect();
        PrintedPages {
            title: format!("Knife card: {}", names.join(", ")),
            paper,
            pages,
        }
    }

    fn page(&self, paper: Paper, due: &MachineDue, card: &MachineCard) -> Page {
        let kind = format!(
            "{}, {} knives, {}",
            card.rotor.word(),
            card.knives,
            match card.edges_per_knife {
                1 => "one edge each".to_string(),
                edges => format!("{edges} edges each"),
            }
        );
        let mut sheet = Sheet::new(paper, &due.machine, [&kind, &self.shop]);
        sheet.close_below(&self.due.standing);
        mark_panel(&mut sheet, due);
        warn(&mut sheet, due, &self.due.standing);
        dirt_boxes(&mut sheet, due);
        let guide = sheet.bottom - wear_guide::HEIGHT;
        self.hand_and_tools(&mut sheet, card, guide - 3.0);
        sheet.top = guide;
        wear_guide(&mut sheet);
        sheet.finished()
    }

    /// Marks written by hand, and the figures of the tools beside them, down to `until`.
    fn hand_and_tools(&self, sheet: &mut Sheet, card: &MachineCard, until: f64) {
        let top = sheet.top;
        sheet.heading_for_pen("Cross out and write the next mark");
        let columns = [
            ("due at", 34.0),
            ("written on", 24.0),
            ("edge came out", 28.0),
            ("initials", 22.0),
        ];
        let wide: f64 = columns.iter().map(|(_, width)| width).sum();
        let rows = ((until - sheet.top - 5.0) / ROW).floor().max(1.0);
        let at = (sheet.left, sheet.top);
        let grow = (until - sheet.top - 5.0) / rows;
        sheet.ruled(at, &columns, rows as usize, grow.clamp(5.0, 1.3 * ROW));
        let left = sheet.left + wide + 6.0;
        let room = sheet.right() - left;
        sheet
            .page
            .text(HEADING, (left, top + HEADING.size), "Tools and figures");
        let tools = &card.tools;
        let wrench = Some(tools.wrench.clone()).filter(|wrench| !wrench.is_empty());
        let lines = [
            ("Wrench", wrench),
            (
                "Bolt torque",
                tools.bolt_torque.map(|it| torque(it, self.units)),
            ),
            (
                "Bed-knife gap",
                tools.bed_knife_gap.map(|it| width(it, self.units)),
            ),
            (
                "Discard below",
                tools.discard_width.map(|it| width(it, self.units)),
            ),
        ];
        let mut line = sheet.top + 4.2;
        for (label, value) in lines {
            sheet.figure((left, line), room, label, value.as_deref());
            line += 7.0;
        }
        let words = "As this shop wrote them down; the machine's manual comes first.";
        sheet
            .page
            .paragraph_of(Style::plain(2.6), (left, line - 1.0), room, words, 3);
        notes(sheet, (left, line + 9.0), room, until);
    }
}

/// Lines for notes, where there is room for a few.
fn notes(sheet: &mut Sheet, (left, top): (f64, f64), room: f64, until: f64) {
    let lines = ((until - top) / ROW).floor();
    if lines < 2.0 {
        return;
    }
    sheet
        .page
        .text(Style::plain(3.1).for_pen(), (left, top), "Notes");
    for line in 1..=lines as u32 {
        let y = top + f64::from(line) * ROW;
        sheet
            .page
            .rule((left, y), (left + room, y), 0.3, Shade::Ink);
    }
}

fn warn(sheet: &mut Sheet, due: &MachineDue, standing: &Standing) {
    let warnings: Vec<String> = match &due.mark {
        DueMark::Known(edge) => {
            let (own, others) = standing.alarms_about(&edge.set);
            let caveats = edge.ahead.first().map(|first| &first.answer.caveats);
            let caveats = caveats.into_iter().flatten().map(ToString::to_string);
            own.into_iter().chain(caveats).chain(others).collect()
        }
        _ => standing.alarms(),
    };
    sheet.warnings(&warnings, 4, "keenspan due");
    sheet.top += 1.0;
}

fn dirt_boxes(sheet: &mut Sheet, due: &MachineDue) {
    let by_dirt: &[(&str, DueAnswer)] = match &due.mark {
        DueMark::Known(edge) => &edge.by_dirt,
        _ => &[],
    };
    sheet.heading("Due at, if all of it from now on is …");
    let (gap, classes) = (3.0, ["clean", "dusty", "dirty", "gritty"]);
    let width = (sheet.width - 3.0 * gap) / 4.0;
    for (number, class) in classes.into_iter().enumerate() {
        let at = (sheet.left + number as f64 * (width + gap), sheet.top);
        let answer = by_dirt.iter().find(|(name, _)| *name == class);
        dirt_box(
            &mut sheet.page,
            (at, width),
            class,
            answer.map(|it| (&it.1, due)),
        );
    }
    sheet.top += DIRT + 4.0;
}

fn dirt_box(
    page: &mut Page,
    (at, width): ((f64, f64), f64),
    class: &str,
    answer: Option<(&DueAnswer, &MachineDue)>,
) {
    let (left, top) = at;
    page.filled(at, (width, 5.4), Shade::Pale);
    page.text(Style::bold(3.6), (left + 2.0, top + 4.0), class);
    if let Some((answer, due)) = answer {
        let mark = due.mark_of(answer);
        let style = Style::bold(7.2).fitted(&mark, width - 4.0);
        page.text(style, (left + 2.0, top + 12.8), &mark);
        let bounds = match &answer.mark {
            _ if answer.overdue.is_some() => "that is past".to_string(),
            Some(mark) => format!("{} to {}", due.reads(mark.lower), due.reads(mark.upper)),
            None => format!(
                "{} to {} hours",
                hours(answer.hours_left.lower),
                hours(answer.hours_left.upper)
            ),
        };
        let style = Style::plain(3.0)
            .at(Anchor::Left)
            .fitted(&bounds, width - 4.0);
        page.text(style, (left + 2.0, top + 17.2), &bounds);
    }
    page.frame(at, (width, DIRT), 0.5);
}
