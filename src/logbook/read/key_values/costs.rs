//! costs.csv.

use super::key;
use crate::logbook::files::folded;
use crate::logbook::read::cells::{Parsed, Ways, money, plain};
use crate::logbook::read::row::RowReader;
use crate::logbook::read::table::{TableReading, read_rows};
use crate::logbook::{CostItem, LogFile, RowKey};
use std::collections::{BTreeMap, BTreeSet};

/// Litres in a US gallon (231 cubic inches) and in an imperial one; both exact by definition.
const LITRES_PER_US_GALLON: f64 = 3.785_411_784;
const LITRES_PER_IMPERIAL_GALLON: f64 = 4.546_09;
const MINUTES_PER_HOUR: f64 = 60.0;

pub(in crate::logbook::read) fn costs(
    bytes: &[u8],
    ways: Ways,
) -> (BTreeMap<CostItem, f64>, TableReading) {
    let choices = CostItem::ALL.map(|item| (item.key(), item));
    let mut seen = BTreeSet::new();
    let (rows, mut reading) = read_rows(LogFile::Costs, bytes, ways, |row| {
        let item = key(row, &choices, &mut seen)?;
        let value = amount(row, item);
        Some((
            RowKey::Key(item.key().to_owned()),
            (item, value, row.text("note").to_owned()),
        ))
    });
    reading.extras.notes = rows
        .iter()
        .map(|(item, _, note)| (item.key().to_owned(), note.clone()))
        .collect();
    let items = rows
        .into_iter()
        .filter_map(|(item, value, _)| Some((item, value?)))
        .collect();
    (items, reading)
}

/// The amount in the item's own unit; a blank one is not given.
fn amount(row: &mut RowReader<'_>, item: CostItem) -> Option<f64> {
    let ways = row.ways;
    let unit = row.text("unit");
    let value = row.optional("value", |text| number(item, text, ways))?;
    let Some(factor) = factor(item, unit) else {
        row.fault("unit", item.unit().to_owned());
        return None;
    };
    // A percent sign may stand behind the number or in the unit column.
    let in_own_unit = if row.text("value").ends_with('%') {
        value
    } else {
        value * factor
    };
    if item == CostItem::WaitingShare && in_own_unit > 1.0 {
        row.fault("value", "a share from 0 to 1, such as 0.35, or 35%".into());
    } else if !item.range().holds(in_own_unit) {
        let (unit, words) = (item.unit(), item.range().words);
        row.fault("value", format!("{unit}, {words}"));
    }
    Some(in_own_unit)
}

fn number(item: CostItem, text: &str, ways: Ways) -> Parsed<f64> {
    match item {
        CostItem::ChangeMinutes | CostItem::FieldDelayMinutes => {
            plain(text, ways, "minutes, zero or more, such as 45")
        }
        CostItem::RegrindsPerKnife => {
            plain(text, ways, "a number of grinds, zero or more, such as 8")
        }
        CostItem::FuelLitresPerHour => plain(
            text,
            ways,
            "an amount of fuel per hour, zero or more, such as 9",
        ),
        CostItem::WaitingShare => {
            let (number, percent) = match text.strip_suffix('%') {
                Some(number) => (number, 0.01),
                None => (text, 1.0),
            };
            let share = plain(number, ways, "a share from 0 to 1, such as 0.35, or 35%")?;
            Ok(share * percent)
        }
        _ => money(text, ways),
    }
}

/// What a number in this unit is multiplied by to be in the item's own; `None` where the unit does
/// not fit the item. Money carries no factor: a unit only has to be per the right thing.
fn factor(item: CostItem, unit: &str) -> Option<f64> {
    let unit = folded(unit);
    let has = |words: &[&str]| words.iter().any(|word| unit.contains(word));
    match item {
        _ if unit.is_empty() => Some(1.0),
        CostItem::ChangeMinutes | CostItem::FieldDelayMinutes if has(&["min"]) => Some(1.0),
        CostItem::ChangeMinutes | CostItem::FieldDelayMinutes => {
            ["h", "hr", "hrs", "hour", "hours"]
                .contains(&unit.as_str())
                .then_some(MINUTES_PER_HOUR)
        }
        CostItem::MechanicPerHour | CostItem::CrewPerHour => {
            (has(&["hour", "hr", "/h"]) && !has(&["day", "min"])).then_some(1.0)
        }
        CostItem::WaitingShare if has(&["%", "percent"]) => Some(0.01),
        CostItem::WaitingShare => has(&["share", "fraction"]).then_some(1.0),
        CostItem::FuelPerLitre => litres(&unit).map(|litres| 1.0 / litres),
        CostItem::FuelLitresPerHour => litres(&unit),
        CostItem::GrindPerKnife
        | CostItem::NewKnife
        | CostItem::RegrindsPerKnife
        | CostItem::StrikeDamage => Some(1.0),
    }
}

/// Litres in the measure that a unit names.
fn litres(unit: &str) -> Option<f64> {
    if unit.contains("gal") {
        let imperial = unit.contains("imp") || unit.contains("uk");
        Some(if imperial {
            LITRES_PER_IMPERIAL_GALLON
        } else {
            LITRES_PER_US_GALLON
        })
    } else {
        let of_litres = unit.contains("lit")
            || unit.ends_with("/l")
            || unit.starts_with("l/")
            || ["l", "perl"].contains(&unit);
        of_litres.then_some(1.0)
    }
}
