//! The steel of a machine's sets, to scale.

use crate::decisions::StockLeft;
use crate::quantities::{Units, Width};
use crate::views::SetKnives;
use crate::views::format::width;
use crate::views::svg::{Axis, Mark, Plot, Tone};

/// Half of a bar's height, in rows.
const HALF: f64 = 0.24;
/// A piece of the knife below the discard width is shown, as a share of what is above it at the most.
const BELOW: f64 = 0.12;
/// Room for words beside the bars, as a share of the same.
const BESIDE: f64 = 0.55;

/// A bar a set: what is left above the discard width, what the next grind takes, how many grinds are left.
/// `None` where no width is known.
pub fn stock(machine: &str, sets: &[&SetKnives], units: Units) -> Option<Plot> {
    let known = |set: &&SetKnives| Some((set.set.clone(), set.answer.as_ref()?.stock));
    let rows: Vec<(String, StockLeft)> = sets.iter().filter_map(known).collect();
    let number = |width: Width| match units {
        Units::Us => width.inches(),
        Units::Metric => width.millimetres(),
    };
    let discard = rows.iter().find_map(|(_, stock)| stock.discard_width)?;
    let widths = rows.iter().filter_map(|(_, stock)| stock.width);
    let widest = widths.map(number).reduce(f64::max)?;
    let at = number(discard);
    // Where all are worn out there is no steel to scale the picture by.
    let span = (widest - at).max(0.01 * at);
    let from = at - BELOW * span;
    let count = rows.len();
    let mut bars: Vec<Mark> = rows
        .iter()
        .enumerate()
        .flat_map(|(place, (_, stock))| bar(stock, (count - place) as f64, from, number))
        .collect();
    // Like marks follow each other, which makes the picture's text short.
    bars.sort_by_key(layer);
    let line = Mark::Upright {
        at,
        tone: Tone::Alarm,
        word: format!("discard below {}", width(discard, units)),
    };
    let unit = match units {
        Units::Us => "inches",
        Units::Metric => "mm",
    };
    Some(Plot {
        description: format!(
            "{machine}: width of the knives of each set, above the discard width of {}",
            width(discard, units)
        ),
        across: Axis::numbers(
            &format!("width of the knives, {unit}"),
            from,
            at + (1.0 + BESIDE) * span,
        ),
        up: Axis::named(rows.iter().rev().map(|(set, _)| set.clone()).collect()),
        marks: bars.into_iter().chain([line]).collect(),
        keys: Vec::new(),
        shape: 0.07 * count as f64 + 0.17,
    })
}

/// Blocks by their tone, words last.
fn layer(mark: &Mark) -> u8 {
    match mark {
        Mark::Block { tone, .. } => *tone as u8,
        _ => u8::MAX,
    }
}

/// From the edge of the picture to the width now, and words beside it.
fn bar(stock: &StockLeft, row: f64, from: f64, number: impl Fn(Width) -> f64) -> Vec<Mark> {
    let (Some(now), Some(discard)) = (stock.width, stock.discard_width) else {
        return vec![word("width not known: measure", from, row)];
    };
    let (now, discard) = (number(now), number(discard));
    let block = |left: f64, right: f64, tone: Tone, full: bool| Mark::Block {
        across: (left.max(from), right.max(from)),
        up: (row - HALF, row + HALF),
        tone,
        full,
    };
    let mut marks = vec![block(from, now.min(discard), Tone::Faint, true)];
    if now <= discard {
        marks.push(word("worn out: discard", discard, row));
        return marks;
    }
    let after = stock.width_after.map_or(discard, &number);
    if after > discard {
        marks.push(block(discard, after, Tone::First, true));
    }
    marks.push(block(after.max(discard), now, Tone::Second, false));
    let grinds = match stock.regrinds_left {
        0 => "no grind left".to_string(),
        1 => "1 grind left".to_string(),
        many => format!("{many} grinds left"),
    };
    marks.push(word(&grinds, now, row));
    marks
}

fn word(word: &str, at: f64, row: f64) -> Mark {
    Mark::Word {
        at: (at, row),
        tone: Tone::Ink,
        word: word.to_string(),
    }
}
