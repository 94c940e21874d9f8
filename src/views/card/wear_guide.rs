//! The edge seen end on, at each grade: drawings to grade by.
//!
//! Basis of the drawings: published for the wedge (40 degrees: the bevel that an operator's manual of a small
//! chipper prints, of a range of 30 to 45 over several); from memory for how round the edge is (radius about 6,
//! 22, 50 and 100 micrometres; fresh-ground 2 to 10, working 15 to 30, dull from 40 to 60). Basis of the words:
//! published for what a dull edge does in the cut (small branches do not feed themselves, stringy and uneven
//! chips, long slivers, shaking, plugging, more fuel, loss of power: operators' manuals of chippers); common
//! practice for the bright line that is looked for against the light.

use super::blocks::Sheet;
use super::page::{Shade, Shape, Style};
use crate::quantities::Grade;
use std::f64::consts::PI;

/// Height of the whole guide, its heading included.
pub(super) const HEIGHT: f64 = 45.0;
/// Of a drawing.
const TALL: f64 = 17.0;
/// Angle of the wedge.
const WEDGE: f64 = 40.0 * PI / 180.0;
/// Micrometres in a drawn millimetre.
const SCALE: f64 = 25.0;

/// Radius of the edge in micrometres, what is seen, and what the cut feels like.
fn look(grade: Grade) -> (f64, &'static str) {
    match grade {
        Grade::Keen => (6.0, "No bright line. Brush feeds itself, chips are even."),
        Grade::Working => (
            22.0,
            "A hairline catches the light. Still feeds, chips a little stringy.",
        ),
        Grade::Dull => (
            50.0,
            "A bright flat. Twigs do not feed themselves, stringy tails, more fuel.",
        ),
        Grade::Overrun => (
            100.0,
            "A wide round flat. Long slivers, shaking, plugging, no power.",
        ),
    }
}

/// The share of its life that the grade stands for.
fn band(grade: Grade) -> String {
    let percent = |share: f64| format!("{:.0}", 100.0 * share);
    match grade.band() {
        (None, Some(to)) => format!("under {} % used", percent(to)),
        (Some(from), Some(to)) => format!("{} to {} % used", percent(from), percent(to)),
        (Some(from), None) => format!("over {} % used", percent(from)),
        (None, None) => String::new(),
    }
}

/// Four drawings side by side, where the sheet's next block begins.
pub(super) fn wear_guide(sheet: &mut Sheet) {
    let below = sheet.top + HEIGHT;
    sheet.heading("Grade the edge: seen end on, much enlarged");
    let gap = 4.0;
    let width = (sheet.width - 3.0 * gap) / 4.0;
    for (number, grade) in Grade::ALL.into_iter().enumerate() {
        let left = sheet.left + number as f64 * (width + gap);
        one(sheet, grade, (left, sheet.top), width);
    }
    sheet.top = below;
}

fn one(sheet: &mut Sheet, grade: Grade, (left, top): (f64, f64), width: f64) {
    let (radius, words) = look(grade);
    let name = Style::bold(3.9);
    sheet.page.text(name, (left, top + 4.0), grade.word());
    let beside = left + name.weight.width(grade.word(), name.size) + 1.8;
    sheet
        .page
        .text(Style::plain(2.6), (beside, top + 4.0), &band(grade));
    let tip = (left + 4.0, top + 6.0 + TALL);
    sheet.page.drawing(
        format!("An edge seen end on, {}", grade.word()),
        edge(tip, width - 4.0, radius / SCALE),
    );
    sheet.page.paragraph_of(
        Style::plain(2.75),
        (left, top + TALL + 10.5),
        width,
        words,
        4,
    );
}

/// A wedge whose sharp point would be at `tip`, rounded, with what has worn away in dashes.
fn edge(tip: (f64, f64), length: f64, radius: f64) -> Vec<Shape> {
    let at = |along: f64, up: f64| (tip.0 + along, tip.1 - up);
    let high = TALL - 1.0;
    let top = high / WEDGE.tan();
    let back = radius / (0.5 * WEDGE).tan();
    let middle = (back, radius);
    // Round from the lower face to the bevel, the way a worn edge shines.
    let steps = 24;
    let turn = PI - WEDGE;
    let round: Vec<(f64, f64)> = (0..=steps)
        .map(|step| {
            let angle = -0.5 * PI - turn * f64::from(step) / f64::from(steps);
            at(
                middle.0 + radius * angle.cos(),
                middle.1 + radius * angle.sin(),
            )
        })
        .collect();
    let mut steel = vec![at(length, 0.0)];
    steel.extend(&round);
    steel.extend([at(top, high), at(length, high)]);
    let mut shapes = vec![Shape::area(steel.clone(), Shade::Pale)];
    let shines = radius > 0.3;
    if shines {
        let worn = vec![
            at(back, 0.0),
            at(0.0, 0.0),
            at(back * WEDGE.cos(), back * WEDGE.sin()),
        ];
        shapes.push(Shape::path(worn, 0.25, Shade::Ink).dashed());
    }
    shapes.push(Shape::path(steel, 0.45, Shade::Ink));
    if shines {
        shapes.push(Shape::path(round, 1.2, Shade::Ink));
    }
    shapes
}
