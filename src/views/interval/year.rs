//! The year's budget as a small table.

use crate::decisions::{YearBudget, Years};
use crate::quantities::{Estimate, Money};
use crate::views::format::{count_with_range, hours, plain_money_with_range};

/// A column for today's rule and one for what is recommended; a row for each part, and their sum.
pub fn table(years: &Years, currency: &str, rule_was_typed: bool) -> String {
    let budgets: Vec<&YearBudget> = years.today.iter().chain([&years.recommended]).collect();
    let rule = if rule_was_typed {
        "by this rule"
    } else {
        "by today's rule"
    };
    let heads = years.today.iter().map(|_| rule).chain(["recommended"]);
    let row = |label: &str, cell: &dyn Fn(&YearBudget) -> String| {
        line(label, budgets.iter().map(|budget| cell(budget)))
    };
    let money = |label: &str, part: fn(&YearBudget) -> Estimate<Money>| {
        row(label, &|budget| plain_money_with_range(&part(budget)))
    };
    let unit = if currency.is_empty() {
        "in your own currency".to_string()
    } else {
        format!("in {currency}")
    };
    format!(
        "  a year of {} meter hours, {unit} (90 % bounds)\n",
        hours(years.recommended.hours)
    ) + &line("", heads.map(str::to_string))
        + &row("change", &when)
        + &row("changes", &|budget| count_with_range(&budget.changes))
        + &row("knives bought", &|budget| {
            count_with_range(&budget.knives_bought)
        })
        + &money("changing", |budget| budget.labour)
        + &money("grinding", |budget| budget.sharpening)
        + &money("new knives", |budget| budget.knives)
        + &money("stops in field", |budget| budget.forced_stops)
        + &money("strikes", |budget| budget.strikes)
        + &money("extra fuel", |budget| budget.extra_fuel)
        + &money("waiting", |budget| budget.waiting)
        + &money("in all", |budget| budget.total)
}

fn when(budget: &YearBudget) -> String {
    match budget.interval {
        Some(interval) => format!("every {} hours", hours(interval)),
        None => "when the cut calls".to_string(),
    }
}

pub(super) fn line(label: &str, cells: impl Iterator<Item = String>) -> String {
    let cells: String = cells.map(|cell| format!("{cell:<24}")).collect();
    format!("  {label:<16}{cells}").trim_end().to_string() + "\n"
}
