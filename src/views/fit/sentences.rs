//! What was learned, in the words of the shop.

use crate::lives::Rotor;
use crate::quantities::{Estimate, MeterHours};
use crate::views::format::{capital, hours, significant};
use crate::wear::{Learned, Quantity, QuantityUnit};

/// One quantity before and after.
pub fn taught(it: &Learned) -> String {
    let quantity = &it.quantity;
    let after = figure(it.after.point, quantity);
    let per_cent = match quantity.unit() {
        QuantityUnit::PerCent => " %",
        _ => "",
    };
    let said = what(quantity, &format!("{after}{per_cent}"));
    let before = with_bounds(&it.before, quantity);
    format!(
        "{said} ({}); before your log: {before}.",
        bounds(&it.after, quantity)
    )
}

/// All levels of one grouping, side by side.
pub fn levels(levels: &[&Learned]) -> Option<String> {
    let Quantity::GroupEffect { grouping, .. } = &levels.first()?.quantity else {
        return None;
    };
    let said: Vec<String> = levels
        .iter()
        .filter_map(|it| match &it.quantity {
            Quantity::GroupEffect { level, .. } => {
                Some(format!("{level} {}", with_bounds(&it.after, &it.quantity)))
            }
            _ => None,
        })
        .collect();
    let each = match grouping.as_str() {
        "machine" => "on each machine last as those on the average one of its kind",
        "set" => "of each set last as those of the average set",
        "grinder" => "from each grinder last as those from the average one",
        _ => "of each group last as those of the average one",
    };
    let first = levels.first()?;
    Some(format!(
        "How many times as long edges {each}: {}; before your log: {}.",
        said.join(", "),
        bounds(&first.before, &first.quantity)
    ))
}

fn what(quantity: &Quantity, value: &str) -> String {
    match quantity {
        Quantity::MedianLife(rotor) => format!(
            "Half of all new edges on an average {} machine are dull after {value} meter hours of clean, green hardwood",
            rotor.word()
        ),
        Quantity::RegroundLife => {
            format!("A reground edge lasts {value} times as long as a new one")
        }
        Quantity::TwiceAsHard => {
            format!("Wood twice as hard wears your edges {value} times as fast")
        }
        Quantity::Condition(name) => condition(name, value),
        Quantity::OwnCondition(name) => {
            format!("Where \"{name}\" says yes your edges wear {value} times as fast")
        }
        Quantity::TouchUp => format!("A touch-up takes back {value} of the wear so far"),
        Quantity::EdgesDiffer => format!(
            "Edges differ in like conditions: the best tenth lasts at least {value} times as long as the worst tenth"
        ),
        Quantity::EyeError => format!("The eye that grades is off by about {value} either way"),
        Quantity::GroupsDiffer(grouping) => {
            let who = match grouping.as_str() {
                "machine" => "Machines of one kind".to_string(),
                "set" => "Knife sets".to_string(),
                "grinder" => "Those who grind".to_string(),
                other => format!("Each {other}"),
            };
            format!("{who} differ by about {value} in how long their edges last")
        }
        Quantity::GroupEffect { level, .. } => format!("{level}: {value}"),
    }
}

fn condition(name: &str, value: &str) -> String {
    let clean_or_green = match name {
        "palm" => {
            return format!(
                "Palm and bamboo wear your edges {value} times as fast as their hardness says"
            );
        }
        "dry" | "frozen" => "green",
        _ => "clean",
    };
    format!(
        "{} wood wears your edges {value} times as fast as {clean_or_green}",
        capital(name)
    )
}

/// What a quantity is called where there is no room for a sentence.
pub fn name(quantity: &Quantity) -> String {
    match quantity {
        Quantity::MedianLife(Rotor::Drum) => "life on a drum".to_string(),
        Quantity::MedianLife(Rotor::Disc) => "life on a disc".to_string(),
        Quantity::RegroundLife => "reground over new".to_string(),
        Quantity::TwiceAsHard => "wood twice as hard".to_string(),
        Quantity::Condition(name) => format!("{name} wood"),
        Quantity::OwnCondition(name) => name.clone(),
        Quantity::TouchUp => "touch-up takes back".to_string(),
        Quantity::EdgesDiffer => "best to worst tenth".to_string(),
        Quantity::EyeError => "grading eye off by".to_string(),
        Quantity::GroupsDiffer(grouping) => format!("{grouping}s differ by"),
        Quantity::GroupEffect { grouping, level } => format!("{grouping} {level}"),
    }
}

/// A value in its unit, without the unit: two digits that count, hours as everywhere. Groups lie close
/// to one and have two decimals.
pub fn figure(value: f64, quantity: &Quantity) -> String {
    if matches!(quantity, Quantity::GroupEffect { .. }) {
        return format!("{value:.2}");
    }
    match (quantity.unit(), MeterHours::new(value)) {
        (QuantityUnit::MeterHours, Ok(value)) => hours(value),
        _ => significant(value, 2),
    }
}

fn bounds(estimate: &Estimate<f64>, quantity: &Quantity) -> String {
    format!(
        "{} to {}",
        figure(estimate.lower, quantity),
        figure(estimate.upper, quantity)
    )
}

/// "2.1 (1.6 to 2.8)".
pub fn with_bounds(estimate: &Estimate<f64>, quantity: &Quantity) -> String {
    format!(
        "{} ({})",
        figure(estimate.point, quantity),
        bounds(estimate, quantity)
    )
}
