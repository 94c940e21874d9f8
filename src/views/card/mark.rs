//! What the card says large: the mark, or why there is none.

use super::blocks::Sheet;
use super::page::Style;
use crate::quantities::{Estimate, MeterHours};
use crate::views::due::{DueAhead, DueMark, EdgeDue, MachineDue};
use crate::views::format::{hours, per_cent};
use crate::views::unfit::quoted;

/// Height of the panel of the mark, above its sentences.
const MARK: f64 = 33.0;
const MARK_SIZE: f64 = 25.0;
const NOTE: Style = Style::plain(3.3);
/// What stands where a figure has to wait.
const WAITS: &str = "–";

/// What the card says large, over it and beside it.
struct Large {
    over: &'static str,
    /// In letters that do not reach below the line; `None`: a box to write in.
    mark: Option<String>,
    beside: [(&'static str, String); 2],
    sentence: String,
}

pub(super) fn mark_panel(sheet: &mut Sheet, due: &MachineDue) {
    let large = large(due);
    let (left, top, width) = (sheet.left, sheet.top, sheet.width);
    let split = 0.7 * width;
    let page = &mut sheet.page;
    page.text(Style::heading(4.4), (left + 4.0, top + 6.6), large.over);
    match &large.mark {
        Some(mark) => {
            let style = Style::bold(MARK_SIZE).fitted(mark, split - 10.0);
            page.text(style, (left + 3.0, top + MARK - 3.0), mark);
        }
        None => page.frame((left + 4.0, top + 9.0), (split - 12.0, MARK - 11.0), 0.5),
    }
    for (number, (label, value)) in large.beside.iter().enumerate() {
        let y = top + 14.0 * number as f64;
        page.text(Style::plain(3.3), (left + split, y + 6.6), label);
        let style = Style::bold(8.0).fitted(value, width - split - 3.0);
        page.text(style, (left + split, y + 14.6), value);
    }
    let below = page.paragraph(
        NOTE,
        (left + 4.0, top + MARK + 3.2),
        width - 8.0,
        &large.sentence,
    );
    let height = below - NOTE.size - top + 1.8;
    page.frame((left, top), (width, height), 1.1);
    sheet.top = top + height + 2.4;
}

fn large(due: &MachineDue) -> Large {
    let blank = || {
        [
            ("earliest", WAITS.to_string()),
            ("latest", WAITS.to_string()),
        ]
    };
    match &due.mark {
        DueMark::Known(edge) => match edge.ahead.first() {
            Some(ahead) => of_known(due, edge, ahead),
            None => Large {
                over: "Knives due at hour meter",
                mark: None,
                beside: blank(),
                sentence: due.headline(),
            },
        },
        DueMark::MustNotRun(edge, _) => Large {
            over: "Stop",
            mark: Some("not to be run".to_string()),
            beside: blank(),
            sentence: format!("{}. {}.", due.headline(), due.history(edge)),
        },
        DueMark::Struck(edge) => Large {
            over: "Look at the edge, or change it",
            mark: Some("no mark".to_string()),
            beside: blank(),
            sentence: format!("{}. {}.", due.headline(), due.history(edge)),
        },
        DueMark::UnknownEdge => Large {
            over: "Knives due at hour meter",
            mark: None,
            beside: blank(),
            sentence: "No row of the log says which edge is at work, or since when: no mark can be worked out. \
                       Look at the edge, write down what is in, and print this card again."
                .to_string(),
        },
        DueMark::WhenCalled => Large {
            over: "Change when the cut calls for it",
            mark: Some("no mark".to_string()),
            beside: blank(),
            sentence: "At these costs no planned change pays: it is cheapest to change when the cut calls for it."
                .to_string(),
        },
    }
}

fn of_known(due: &MachineDue, edge: &EdgeDue, ahead: &DueAhead) -> Large {
    let (words, answer) = (&ahead.conditions, &ahead.answer);
    if let Some(by) = answer.overdue {
        return overdue(due, edge, ahead, by);
    }
    let history = due.history(edge);
    let level = per_cent(answer.hours_left.level.get());
    let (earliest, latest) = match &answer.mark {
        Some(mark) => (due.reads(mark.lower), due.reads(mark.upper)),
        None => {
            let after = |left| format!("+{} h", hours(left));
            (
                after(answer.hours_left.lower),
                after(answer.hours_left.upper),
            )
        }
    };
    let (over, mark, from) = match &answer.mark {
        Some(mark) => ("Knives due at hour meter", due.reads(mark.point), ""),
        None => (
            "Knives due after another",
            format!("{} h", hours(answer.hours_left.point)),
            "Meter hours from the last record of the log. ",
        ),
    };
    Large {
        over,
        mark: Some(mark),
        beside: [("earliest", earliest), ("latest", latest)],
        sentence: format!("{from}Earliest and latest are {level} bounds, {words}. {history}."),
    }
}

/// The card of an edge that was due before now.
fn overdue(due: &MachineDue, edge: &EdgeDue, ahead: &DueAhead, by: Estimate<MeterHours>) -> Large {
    let was_due = ahead.was_due_at;
    let at = was_due.map_or(WAITS.to_string(), |at| due.reads(at.point));
    let late = if by.point.get() >= 0.05 {
        let [point, lower, upper] = [by.point, by.lower, by.upper].map(hours);
        format!("Overdue by about {point} meter hours ({lower} to {upper}). ")
    } else {
        String::new()
    };
    Large {
        over: "Knives due",
        mark: Some("now".to_string()),
        beside: [
            ("was due at", at),
            ("overdue by", format!("{} h", hours(by.point))),
        ],
        sentence: format!(
            "{late}The reading at which it was due is past, {}. {}. Touch up, flip, regrind, replace or run on: keenspan \
             knives {} says.",
            ahead.conditions,
            due.history(edge),
            quoted(&edge.set)
        ),
    }
}
