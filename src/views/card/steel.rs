//! The steel of a set between its listed width and the width at which it is discarded, to scale.

use super::blocks::Sheet;
use super::page::{Anchor, Shade, Shape, Style};
use crate::quantities::{Units, Width};
use crate::views::format::width as in_words;

/// Widths of a set's knives.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Steel {
    /// As listed: when the log was started, or when bought.
    pub listed: Option<Width>,
    /// Now, by the stock that the logged grinds took.
    pub now: Option<Width>,
    /// At most so wide now, where some grinds do not say what they took.
    pub at_most: Option<Width>,
    /// That width was measured on the bench.
    pub measured: bool,
    /// Below this they are discarded, by the manual of the machine.
    pub discard: Option<Width>,
}

const TALL: f64 = 9.0;
const LABEL: Style = Style::plain(2.9);
/// Room at either side of the scale for words.
const SIDE: f64 = 30.0;
/// Ticks are at least this far apart.
const APART: f64 = 2.5;

/// Where the sheet's next block begins: a scale where widths are known, and the widths in words, each with a
/// line to fill in where it is not.
pub(super) fn steel(sheet: &mut Sheet, it: &Steel, units: Units) {
    let now = it.now.or(it.at_most);
    if let (Some(now), Some(discard)) = (now, it.discard) {
        scale(sheet, it.listed.unwrap_or(now), now, discard, units);
    }
    let words = |width: Option<Width>| width.map(|width| in_words(width, units));
    let at_most = it.at_most.filter(|_| it.now.is_none());
    let now =
        words(it.now).or_else(|| at_most.map(|it| format!("at most {}", in_words(it, units))));
    let third = sheet.width / 3.0;
    let figures = [
        ("listed", words(it.listed)),
        (
            if it.measured {
                "now, measured"
            } else {
                "now, by the log"
            },
            now,
        ),
        ("discard below", words(it.discard)),
    ];
    for (number, (label, value)) in figures.into_iter().enumerate() {
        let (x, y) = (sheet.left + number as f64 * third, sheet.top + 4.0);
        let style = Style::plain(3.1);
        sheet.page.text(style, (x, y), label);
        let beside = x + style.weight.width(label, style.size) + 2.0;
        let until = x + third - 6.0;
        match value {
            Some(value) => {
                let style = Style::bold(3.9).fitted(&value, until + 4.0 - beside);
                sheet.page.text(style, (beside, y), &value);
            }
            None => sheet
                .page
                .rule((beside, y + 0.6), (until, y + 0.6), 0.3, Shade::Ink),
        }
    }
    sheet.top += 8.0;
}

/// From the discard width, or the width now where that is less, up to the listed width.
fn scale(sheet: &mut Sheet, listed: Width, now: Width, discard: Width, units: Units) {
    let (listed, now, discard) = (
        listed.millimetres(),
        now.millimetres(),
        discard.millimetres(),
    );
    let least = now.min(discard);
    let most = listed.max(now).max(discard);
    let (left, top) = (sheet.left + SIDE, sheet.top + 4.5);
    let long = sheet.width - 2.0 * SIDE;
    // A little of the knife below the discard width, too.
    let from = least - 0.12 * (most - least).max(0.5);
    let per = long / (most - from).max(0.5);
    let at = |width: f64| left + (width - from) * per;
    let page = &mut sheet.page;
    let body = Shape::rectangle((left, top), (at(now) - left, TALL));
    let gone = Shape::rectangle((at(now), top), (at(most) - at(now), TALL));
    let mut shapes = vec![Shape::area(body.clone(), Shade::Pale)];
    let outline = |points| Shape {
        closed: true,
        ..Shape::path(points, 0.3, Shade::Ink)
    };
    shapes.push(outline(gone).dashed());
    shapes.push(outline(body));
    // The keen end of what is left.
    let keen = vec![(at(now), top), (at(now), top + TALL)];
    shapes.push(Shape::path(keen, 1.0, Shade::Ink));
    let line = vec![(at(discard), top - 1.5), (at(discard), top + TALL + 1.5)];
    shapes.push(Shape::path(line, 0.7, Shade::Ink).dashed());
    shapes.extend(ticks((from, most), units, per, |width| {
        (at(width), top + TALL)
    }));
    let words = format!(
        "The width of the knives to scale: {now:.1} mm now, listed {listed:.1} mm, discarded below {discard:.1} mm"
    );
    page.drawing(words, shapes);
    // Of the picture, which a narrow screen shows in another size.
    let label = LABEL.for_pen();
    let right = label.at(Anchor::Right);
    page.text(right, (at(discard) + 8.0, top - 2.2), "discard");
    page.text(right, (left - 2.0, top + 5.4), "the knife …");
    page.text(label, (at(most) + 2.0, top + 3.6), "ground off");
    let tick = match units {
        Units::Us => "ticks: 1/32 in",
        Units::Metric => "ticks: 1 mm",
    };
    page.text(label, (at(most) + 2.0, top + TALL + 1.5), tick);
    sheet.top = top + TALL + 3.4;
}

/// A tick every millimetre, or thirty-second of an inch, where they do not run together.
fn ticks(
    (from, to): (f64, f64),
    units: Units,
    per: f64,
    place: impl Fn(f64) -> (f64, f64),
) -> Vec<Shape> {
    let step = match units {
        Units::Us => 25.4 / 32.0,
        Units::Metric => 1.0,
    };
    if step * per < APART {
        return Vec::new();
    }
    let first = (from / step).ceil() as i64;
    let last = (to / step).floor() as i64;
    let tick = |number: i64| {
        let (x, y) = place(number as f64 * step);
        Shape::path(vec![(x, y), (x, y + 1.5)], 0.25, Shade::Ink)
    };
    (first..=last).map(tick).collect()
}
