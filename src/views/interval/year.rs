//! The year's budget as a small table.

use crate::decisions::{YearBudget, Years};
use crate::quantities::{Estimate, Money};
use crate::views::format::{
    count_with_range, hours, plain_money_with_range, whole_money, whole_money_range,
};

/// Said where the hours of a year are not known; `command` asks again with them.
pub fn unknown(command: &str) -> String {
    format!(
        "no budget: the log of this machine spans less than half a year, so its meter hours in a year are not known. \
         Give them: keenspan {command} --hours-per-year HOURS"
    )
}

/// A column for today's rule and one for what is recommended; a row for each part, and their sum.
pub fn table(years: &Years, currency: &str, rule_was_typed: bool) -> String {
    let [head, rows @ ..] = &rows(years, rule_was_typed)[..] else {
        return String::new();
    };
    let lines = rows.iter().map(|row| {
        let (label, cells) = row
            .split_first()
            .map_or(("", row.as_slice()), |(label, cells)| {
                (label.as_str(), cells)
            });
        line(label, cells.iter().cloned())
    });
    let (hours, unit) = (hours(years.recommended.hours), unit(currency));
    format!("  a year of {hours} meter hours, {unit}\n")
        + &line("", head.iter().skip(1).cloned())
        + &lines.collect::<String>()
}

/// The sums in one sentence.
pub fn in_all(years: &Years, currency: &str) -> String {
    let of = |budget: &YearBudget| {
        let total = &budget.total;
        let (point, range) = (
            whole_money(total.point, currency),
            whole_money_range(total, currency),
        );
        format!("{point} ({range})")
    };
    let hours = hours(years.recommended.hours);
    let recommended = of(&years.recommended);
    let unit = if currency.is_empty() {
        ", in your own currency"
    } else {
        ""
    };
    let today = years.today.as_ref().map_or(String::new(), |today| {
        format!("; {} by today's rule", of(today))
    });
    format!("{recommended} in {hours} meter hours as recommended{today}{unit}")
}

/// The unit of its money, and what stands in brackets.
pub fn unit(currency: &str) -> String {
    match currency {
        "" => "in your own currency (90 % bounds)".to_string(),
        currency => format!("in {currency} (90 % bounds)"),
    }
}

/// The heads, then the parts and their sum, each with its label first.
pub fn rows(years: &Years, rule_was_typed: bool) -> Vec<Vec<String>> {
    let budgets: Vec<&YearBudget> = years.today.iter().chain([&years.recommended]).collect();
    let rule = if rule_was_typed {
        "by this rule"
    } else {
        "by today's rule"
    };
    let heads = years.today.iter().map(|_| rule).chain(["recommended"]);
    let row = |label: &str, cell: &dyn Fn(&YearBudget) -> String| {
        let cells = budgets.iter().map(|budget| cell(budget));
        std::iter::once(label.to_string()).chain(cells).collect()
    };
    let money = |label: &str, part: fn(&YearBudget) -> Estimate<Money>| {
        row(label, &|budget| plain_money_with_range(&part(budget)))
    };
    let heads = std::iter::once("in a year")
        .chain(heads)
        .map(str::to_string);
    vec![
        heads.collect(),
        row("change", &when),
        row("changes", &|budget| count_with_range(&budget.changes)),
        row("knives bought", &|budget| {
            count_with_range(&budget.knives_bought)
        }),
        money("changing", |budget| budget.labour),
        money("grinding", |budget| budget.sharpening),
        money("new knives", |budget| budget.knives),
        money("stops in field", |budget| budget.forced_stops),
        money("strikes", |budget| budget.strikes),
        money("extra fuel", |budget| budget.extra_fuel),
        money("waiting", |budget| budget.waiting),
        money("in all", |budget| budget.total),
    ]
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
