//! What every card and sheet has: the band at its head, the cautions, the foot.

use super::page::{Anchor, Item, Page, Paper, Role, Shade, Style};
use crate::views::Standing;

/// Around every page, in millimetres: more than printers leave white.
pub(super) const MARGIN: f64 = 10.0;
/// Height of the band.
const BAND: f64 = 16.0;
const CAUTION: Style = Style::plain(2.85);
const FOOT: Style = Style::plain(2.5);
pub(super) const HEADING: Style = Style::heading(4.0);

/// A page, and what of it is still free, from above and from below.
pub(super) struct Sheet {
    pub(super) page: Page,
    pub(super) left: f64,
    pub(super) width: f64,
    /// Where the next block begins.
    pub(super) top: f64,
    /// Where the blocks at the foot begin.
    pub(super) bottom: f64,
    /// What stands at the foot: laid out first, read last.
    foot: Vec<Item>,
}

impl Sheet {
    /// A page with a name, and two lines about it, on a band at its head.
    pub(super) fn new(paper: Paper, title: &str, about: [&str; 2]) -> Self {
        let (width, height) = paper.size();
        let mut sheet = Self {
            page: Page::new(title),
            left: MARGIN,
            width: width - 2.0 * MARGIN,
            top: MARGIN + BAND + 3.0,
            bottom: height - MARGIN,
            foot: Vec::new(),
        };
        sheet.band(title, about);
        sheet
    }

    /// The page, its foot last.
    pub(super) fn finished(self) -> Page {
        let mut page = self.page;
        page.items.extend(self.foot);
        page
    }

    pub(super) fn right(&self) -> f64 {
        self.left + self.width
    }

    fn band(&mut self, title: &str, about: [&str; 2]) {
        let (left, right, width) = (self.left, self.right(), self.width);
        let page = &mut self.page;
        page.filled((left, MARGIN), (width, BAND), Shade::Ink);
        let name = Style {
            role: Role::Title,
            ..Style::bold(9.0)
        };
        let room = 0.58 * width;
        // A long name grows smaller, down to half; what is longer yet is cut.
        let fitted = name.fitted(title, room);
        let name = Style {
            size: fitted.size.max(0.5 * name.size),
            ..name
        };
        let title = name.weight.cut(title, name.size, room);
        page.text(name.on_ink(), (left + 4.0, MARGIN + 11.2), &title);
        let small = Style::plain(3.3).at(Anchor::Right).on_ink();
        for (line, about) in about.into_iter().enumerate() {
            let at = (right - 4.0, MARGIN + 6.6 + 5.0 * line as f64);
            page.cell(small, at, 0.36 * width, about);
        }
    }

    /// A heading where the next block begins.
    pub(super) fn heading(&mut self, words: &str) {
        self.heading_in(HEADING, words);
    }

    /// The same over something to write in.
    pub(super) fn heading_for_pen(&mut self, words: &str) {
        self.heading_in(HEADING.for_pen(), words);
    }

    fn heading_in(&mut self, style: Style, words: &str) {
        let at = (self.left, self.top + style.size);
        self.page.text(style, at, words);
        self.top += style.size + 2.0;
    }

    /// The foot, then the cautions above it, in two columns.
    pub(super) fn close_below(&mut self, standing: &Standing) {
        let first = self.page.items.len();
        self.foot(standing);
        let foot = self.page.items.split_off(first);
        let gap = 5.0;
        let width = 0.5 * (self.width - gap);
        let half = standing.cautions.len().div_ceil(2);
        let height = |cautions: &[&str]| {
            let lines = |caution: &&str| {
                let lines = CAUTION.weight.broken(caution, CAUTION.size, width - 3.5);
                lines.len() as f64 * CAUTION.leading() + 0.7
            };
            cautions.iter().map(lines).sum::<f64>()
        };
        let columns: Vec<&[&str]> = standing.cautions.chunks(half.max(1)).collect();
        let tallest = columns.iter().map(|it| height(it)).fold(0.0, f64::max);
        let top = self.bottom - tallest - HEADING.size - 4.0;
        self.bottom = top - 2.0;
        let (left, right) = (self.left, self.right());
        self.page.rule((left, top), (right, top), 0.7, Shade::Ink);
        self.page.text(
            HEADING,
            (left, top + HEADING.size + 1.6),
            "Before hands go near knives",
        );
        for (number, column) in columns.into_iter().enumerate() {
            let left = left + number as f64 * (width + gap);
            let mut line = top + HEADING.size + 4.2 + CAUTION.size;
            for caution in column {
                self.page.filled((left, line - 1.9), (1.5, 1.5), Shade::Ink);
                let below = self
                    .page
                    .paragraph(CAUTION, (left + 3.5, line), width - 3.5, caution);
                line = below + 0.7;
            }
        }
        self.foot = self.page.items.split_off(first);
        self.foot.extend(foot);
    }

    fn foot(&mut self, standing: &Standing) {
        let words = format!(
            "keenspan {}. Log: {}. Costs: {}. Seed {}.",
            env!("CARGO_PKG_VERSION"),
            standing.log_sentence(),
            standing.costs_sentence(),
            standing.seed
        );
        let lines = FOOT
            .weight
            .broken(&words, FOOT.size, self.width)
            .len()
            .min(3);
        let top = self.bottom - (lines as f64 - 1.0) * FOOT.leading() - 0.6;
        self.page
            .paragraph_of(FOOT, (self.left, top), self.width, &words, 3);
        self.bottom = top - FOOT.size - 1.5;
    }

    /// Alarms and caveats as one block of few lines; what has no room is said to be elsewhere.
    pub(super) fn warnings(&mut self, warnings: &[String], most: usize, elsewhere: &str) {
        let style = Style::bold(3.1);
        let mut left = most;
        for (number, warning) in warnings.iter().enumerate() {
            let text = format!("{}.", warning.trim_end_matches('.'));
            let room = self.width - 6.0;
            let lines = style.weight.broken(&text, style.size, room).len();
            let others = warnings.len() - number - 1;
            if lines > left.saturating_sub(usize::from(others > 0)) {
                let text = format!("{} more to know: {elsewhere}", others + 1);
                self.warning(style, &text);
                return;
            }
            self.warning(style, &text);
            left -= lines;
        }
    }

    fn warning(&mut self, style: Style, text: &str) {
        let line = self.top + style.size;
        self.page.text(style, (self.left + 1.0, line), "!");
        let room = self.width - 6.0;
        let below = self
            .page
            .paragraph(style, (self.left + 5.0, line), room, text);
        self.top = below - style.size + 0.8;
    }

    /// A table to write in: a head, and as many rows as are asked for.
    pub(super) fn ruled(
        &mut self,
        at: (f64, f64),
        columns: &[(&str, f64)],
        rows: usize,
        row: f64,
    ) -> f64 {
        let head = 5.0;
        let width: f64 = columns.iter().map(|(_, width)| width).sum();
        let height = head + rows as f64 * row;
        let page = &mut self.page;
        page.filled(at, (width, head), Shade::Pale);
        let mut x = at.0;
        for (name, wide) in columns {
            let style = Style::bold(2.9).for_pen();
            page.cell(style, (x + 1.5, at.1 + 3.6), wide - 2.0, name);
            if x > at.0 {
                page.rule((x, at.1), (x, at.1 + height), 0.25, Shade::Ink);
            }
            x += wide;
        }
        for number in 0..rows {
            let y = at.1 + head + number as f64 * row;
            page.rule((at.0, y), (at.0 + width, y), 0.25, Shade::Ink);
        }
        page.frame(at, (width, height), 0.5);
        height
    }

    /// A label with what the log says, or with a line to fill in.
    pub(super) fn figure(&mut self, at: (f64, f64), width: f64, label: &str, value: Option<&str>) {
        let plain = Style::plain(3.1);
        let right = at.0 + width;
        match value {
            Some(value) => {
                self.page.text(plain, at, label);
                let style = Style::bold(3.9).at(Anchor::Right);
                let room = width - Style::plain(3.1).weight.width(label, 3.1) - 2.0;
                let style = style.fitted(value, room);
                self.page.text(style, (right, at.1), value);
            }
            None => {
                self.page.text(plain.for_pen(), at, label);
                let from = at.0 + 0.52 * width;
                self.page
                    .rule((from, at.1 + 0.6), (right, at.1 + 0.6), 0.3, Shade::Ink);
            }
        }
    }
}
