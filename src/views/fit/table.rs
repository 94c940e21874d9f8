//! Every quantity in one row: before, after, how much is still the default.

use super::sentences::{name, with_bounds};
use crate::quantities::Estimate;
use crate::views::format::whole_percent;
use crate::wear::{Learned, Quantity, QuantityUnit, StrikeRate};
use serde_json::{Value, json};

/// Width of the names; a longer one has a line of its own.
const NAME: usize = 23;
/// No name is longer than a line.
const LONGEST: usize = 76;

fn line(name: &str, unit: &str, before: &str, after: &str, share: &str) -> String {
    let cells = format!("{unit:<6}{before:<20}{after:<20}{share:>9}");
    if name.chars().count() < NAME {
        return format!("  {name:<NAME$}{cells}\n");
    }
    let name: String = name.chars().take(LONGEST).collect();
    format!("  {name}\n  {:<NAME$}{cells}\n", "")
}

fn head(unit: &str) -> String {
    line("", unit, "before", "after", "default")
}

/// The word for a unit.
pub fn unit_word(unit: QuantityUnit) -> &'static str {
    match unit {
        QuantityUnit::MeterHours => "hours",
        QuantityUnit::Times => "times",
        QuantityUnit::PerCent => "%",
    }
}

/// The quantities of wear.
pub fn quantities(learned: &[Learned]) -> String {
    let row = |it: &Learned| {
        let unit = it.quantity.unit();
        line(
            &name(&it.quantity),
            unit_word(unit),
            &with_bounds(&it.before, &it.quantity),
            &with_bounds(&it.after, &it.quantity),
            &whole_percent(it.share_from_defaults),
        )
    };
    head("unit") + &learned.iter().map(row).collect::<String>()
}

/// Strikes by class of dirt.
pub fn strikes(rates: &[StrikeRate]) -> String {
    let row = |rate: &StrikeRate| {
        line(
            &format!("{} wood", rate.dirt),
            "",
            &rate_with_bounds(&rate.before),
            &rate_with_bounds(&rate.after),
            &whole_percent(rate.share_from_defaults),
        )
    };
    head("") + &rates.iter().map(row).collect::<String>()
}

fn rate_with_bounds(rate: &Estimate<f64>) -> String {
    let figure = |value: f64| {
        if value < 9.95 {
            format!("{value:.2}")
        } else {
            format!("{value:.0}")
        }
    };
    format!(
        "{} ({} to {})",
        figure(rate.point),
        figure(rate.lower),
        figure(rate.upper)
    )
}

/// One quantity for programs.
pub fn learned_json(it: &Learned) -> Value {
    json!({
        "name": name(&it.quantity),
        "unit": it.quantity.unit(),
        "before": it.before,
        "after": it.after,
        "share_from_defaults": it.share_from_defaults,
    })
}

/// One level of a grouping for programs: its grouping and name beside the rest.
pub fn group_json(it: &Learned) -> Value {
    let mut fields = learned_json(it);
    if let Quantity::GroupEffect { grouping, level } = &it.quantity {
        fields["grouping"] = json!(grouping);
        fields["name"] = json!(level);
    }
    fields
}

/// One class of dirt for programs.
pub fn strike_json(rate: &StrikeRate) -> Value {
    json!({
        "name": rate.dirt,
        "unit": "strikes per 100 meter hours",
        "before": rate.before,
        "after": rate.after,
        "share_from_defaults": rate.share_from_defaults,
    })
}
