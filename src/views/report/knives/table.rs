//! The steel of a machine's sets in numbers.

use super::super::tables::folded;
use crate::decisions::StockLeft;
use crate::quantities::{Units, Width};
use crate::views::SetKnives;
use crate::views::format::{steel_beyond, whole_percent, width};
use maud::Markup;

const HEADS: [&str; 9] = [
    "set",
    "width now",
    "discard below",
    "steel between",
    "next grind takes",
    "leaves",
    "grinds left",
    "fresh edges",
    "do now (chance of being best)",
];

pub fn stock(machine: &str, sets: &[&SetKnives], units: Units) -> Markup {
    folded(
        "The same in numbers",
        &format!("{machine}: steel of each set"),
        &HEADS,
        sets.iter().map(|set| row(set, units)).collect(),
    )
}

/// Steel above the discard width, or how far below it the knives are.
fn beyond(stock: &StockLeft, units: Units) -> String {
    let both = stock.width.zip(stock.discard_width);
    both.map_or("not known".to_string(), |(now, discard)| {
        steel_beyond(now, discard, units)
    })
}

fn row(set: &SetKnives, units: Units) -> Vec<String> {
    let words = |it: Option<Width>| it.map_or("not known".to_string(), |it| width(it, units));
    let mut cells = vec![set.set.clone()];
    match &set.answer {
        Some(answer) => {
            let stock = &answer.stock;
            cells.extend([
                words(stock.width),
                words(stock.discard_width),
                beyond(stock, units),
                width(stock.this_grind, units),
                words(stock.width_after),
                stock.regrinds_left.to_string(),
                set.fresh_edges.to_string(),
            ]);
            let chance = answer.actions.first().map(|best| best.chance_best);
            let chance = chance.map(|it| format!(" ({})", whole_percent(it)));
            cells.push(set.advice_words() + &chance.unwrap_or_default());
        }
        None => {
            cells.extend(HEADS.iter().skip(2).map(|_| String::new()));
            cells.push(set.advice_words());
        }
    }
    cells
}
