//! The table by wood and dirt.

use crate::quantities::{Estimate, MeterHours, Probability};
use crate::views::format::hours_with_range;
use serde_json::{Value, json};

/// The interval in one kind of wood.
#[derive(Debug, Clone, PartialEq)]
pub struct WoodInterval {
    /// `hardwood` or `softwood`.
    pub wood: &'static str,
    /// How dirty: `clean`, `dusty`, `dirty` or `gritty`.
    pub contamination: &'static str,
    /// The interval of least expected cost, and the chance that an edge is dull before then; `None` where
    /// no planned interval pays.
    pub interval: Option<(Estimate<MeterHours>, Estimate<Probability>)>,
}

impl WoodInterval {
    fn cell(&self) -> String {
        match &self.interval {
            Some((interval, _)) => hours_with_range(interval),
            None => "when the cut calls".to_string(),
        }
    }

    pub(super) fn json(&self) -> Value {
        json!({
            "wood": self.wood,
            "contamination": self.contamination,
            "interval": self.interval.map(|(interval, _)| interval),
            "chance_dull": self.interval.map(|(_, past_dull)| past_dull),
        })
    }
}

/// A row for each class of dirt, a column for each wood, in the order in which they come.
pub fn table(by_wood: &[WoodInterval]) -> String {
    let woods = distinct(by_wood.iter().map(|row| row.wood));
    let classes = distinct(by_wood.iter().map(|row| row.contamination));
    let line = |label: &str, cells: Vec<String>| {
        let cells: String = cells.iter().map(|cell| format!("{cell:<20}")).collect();
        format!("  {label:<14}{cells}").trim_end().to_string() + "\n"
    };
    let mut text = "  change every so many meter hours, in green wood (90 % bounds)\n".to_string();
    text.push_str(&line("", woods.iter().map(ToString::to_string).collect()));
    for class in classes {
        let row = by_wood.iter().filter(|row| row.contamination == class);
        text.push_str(&line(class, row.map(WoodInterval::cell).collect()));
    }
    text
}

/// Each word once, in the order of first appearance.
fn distinct(words: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    words.fold(Vec::new(), |mut known, word| {
        if !known.contains(&word) {
            known.push(word);
        }
        known
    })
}
