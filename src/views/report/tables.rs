//! Tables under the pictures, for those who want numbers.

use super::{LineEnd, MachineDull, MachineLine, ReportPage};
use crate::decisions::{DullChance, IntervalAnswer, Years};
use crate::quantities::{Estimate, Probability};
use crate::views::fit::{quantity_name, unit_word};
use crate::views::format::{
    hours, hours_with_range, money, money_range, percent_range, reading, significant, whole_percent,
};
use crate::views::interval::{Recommended, WoodInterval, year};
use crate::wear::Learned;
use maud::{Markup, html};

/// A table behind a fold, so that a page stays a page.
pub fn folded(summary: &str, caption: &str, heads: &[&str], rows: Vec<Vec<String>>) -> Markup {
    html! {
        details { summary { (summary) }
            (table(caption, heads, rows))
        }
    }
}

/// A table; the first cell of each row names it. Without the ends that HTML lets out, and without `scope`, which is
/// plain where all heads are above or before: a fleet's page has tens of thousands of cells.
pub fn table(caption: &str, heads: &[&str], rows: Vec<Vec<String>>) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(caption) { table {
            caption; (caption)
            (head_and_rows(heads, rows))
        } }
    }
}

fn head_and_rows(heads: &[&str], rows: Vec<Vec<String>>) -> Markup {
    html! {
        thead; tr; @for head in heads { th; (head) }
        tbody; @for row in &rows { tr;
            @for (place, cell) in row.iter().enumerate() {
                @if place == 0 { th; (cell) } @else { td; (cell) }
            }
        }
    }
}

/// Where the part of machine number `place` begins.
pub fn place_of(place: usize) -> String {
    format!("machine-{}", place + 1)
}

/// Every machine in a row, with a link to its part.
pub fn at_a_glance(report: &ReportPage) -> Markup {
    let caption = "Every machine at a glance, with 90 % bounds";
    let machines = || report.due.machines.iter();
    let due = |machine: &str| machines().find(|due| due.machine == machine);
    html! {
        div.scroll.glance tabindex="0" role="region" aria-label=(caption) { table {
            caption; (caption)
            thead; tr;
            @for head in ["machine", "change every (meter hours)", "next change"] { th; (head) }
            tbody;
            @for (place, machine) in report.interval.machines.iter().enumerate() {
                tr;
                th; a href=(format!("#{}", place_of(place))) { (machine.machine) }
                td; @match &machine.answer {
                    Recommended::At(answer) => { (hours_with_range(&answer.interval)) }
                    Recommended::WhenCalled { .. } => { "when the cut calls" }
                }
                td; @if let Some(due) = due(&machine.machine) { (due.short()) }
            }
        } }
    }
}

/// Cost against interval.
pub fn cost(machine: &str, answer: &IntervalAnswer, currency: &str) -> Markup {
    let row = |point: &crate::decisions::CurvePoint| {
        let cost = &point.cost_per_hour;
        vec![
            hours(point.interval),
            money(cost.point, currency),
            money_range(cost, currency),
        ]
    };
    folded(
        "The same in numbers",
        &format!("{machine}: cost per meter hour by change interval"),
        &[
            "change every (meter hours)",
            "cost per meter hour",
            "90 % bounds",
        ],
        answer.curve.iter().map(row).collect(),
    )
}

/// The year's budget; its title is the fold's, and its cells are narrow enough for a phone.
pub fn year(years: &Years, currency: &str) -> Markup {
    let rows = year::rows(years, false);
    let (heads, parts) = rows.split_at(rows.len().min(1));
    // When to change stands above already.
    let parts = parts.iter().skip(1).cloned().collect();
    let heads: Vec<&str> = heads.iter().flatten().map(String::as_str).collect();
    html! {
        details { summary { "In numbers, " (year::unit(currency)) }
            table { (head_and_rows(&heads, parts)) }
        }
    }
}

/// The interval by wood and dirt.
pub fn by_wood(machine: &str, rows: &[WoodInterval]) -> Markup {
    let row = |row: &WoodInterval| {
        let (interval, dull) = match &row.interval {
            Some((interval, dull)) => (hours_with_range(interval), chance_with_bounds(dull)),
            None => ("when the cut calls".to_string(), String::new()),
        };
        vec![
            format!("{}, {}", row.wood, row.contamination),
            interval,
            dull,
        ]
    };
    let table = table(
        &format!("{machine}: where all wood is of one kind (green), with 90 % bounds"),
        &["wood", "change every (meter hours)", "dull by then"],
        rows.iter().map(row).collect(),
    );
    html! { div.by-wood { (table) } }
}

/// Chance of dull, a column for each class of dirt.
pub fn dull(dull: &MachineDull) -> Markup {
    let mut heads = vec!["meter hours"];
    heads.extend(dull.classes.iter().map(|(class, _)| *class));
    let steps = dull.classes.iter().map(|(_, points)| points.len()).min();
    let cell = |point: &DullChance| chance_with_bounds(&point.chance);
    let row = |place: usize| {
        let points = dull
            .classes
            .iter()
            .filter_map(|(_, points)| points.get(place));
        let first = points.clone().next().map(|point| hours(point.hours));
        first.into_iter().chain(points.map(cell)).collect()
    };
    folded(
        "The same in numbers",
        &format!(
            "{}: chance that an edge is dull, with 90 % bounds",
            dull.machine
        ),
        &heads,
        (0..steps.unwrap_or(0))
            .skip(4)
            .step_by(4)
            .map(row)
            .collect(),
    )
}

/// With its bounds, but where all three read alike, as "over 99 %" does in half of a table.
fn chance_with_bounds(chance: &Estimate<Probability>) -> String {
    let [point, lower, upper] = [chance.point, chance.lower, chance.upper].map(whole_percent);
    if lower == upper && point == lower {
        return point;
    }
    format!("{point} ({})", percent_range(chance))
}

/// What the log has taught.
pub fn learned(learned: &[&Learned]) -> Markup {
    let figures = |it: &Estimate<f64>| {
        let [point, lower, upper] = [it.point, it.lower, it.upper].map(|x| significant(x, 2));
        format!("{point} ({lower} to {upper})")
    };
    let row = |it: &&Learned| {
        vec![
            quantity_name(&it.quantity),
            unit_word(it.quantity.unit()).to_string(),
            figures(&it.before),
            figures(&it.after),
            whole_percent(it.share_from_defaults),
        ]
    };
    folded(
        "All that was learned, in numbers",
        "Before and after your log, with 90 % bounds",
        &["what", "unit", "before", "after", "still the default"],
        learned.iter().map(row).collect(),
    )
}

/// The time line.
pub fn time_line(line: &MachineLine, tenths: bool) -> Markup {
    let rows = line.stays.iter().rev().map(|stay| {
        vec![
            format!("{}, edge {}", stay.set, stay.edge),
            reading(stay.from, tenths),
            reading(stay.to, tenths),
            match (stay.was_due, stay.end) {
                (Some(due), _) => reading(due, tenths),
                (None, LineEnd::AtWork) => "see above".to_string(),
                (None, _) => "not known".to_string(),
            },
            end_words(stay.end).to_string(),
        ]
    });
    folded(
        "The same in numbers, latest first",
        &format!("{}: edges by hour-meter reading", line.machine),
        &[
            "edge",
            "in at",
            "out at",
            "was due at",
            "what it looked like",
        ],
        rows.collect(),
    )
}

fn end_words(end: LineEnd) -> &'static str {
    match end {
        LineEnd::AtWork => "at work",
        LineEnd::Graded(grade) => grade.word(),
        LineEnd::Noticed => "noticed dull in the cut",
        LineEnd::Struck => "struck",
        LineEnd::NotLooked => "nobody said",
    }
}

/// Whether a machine's meter is read in tenths.
pub fn reads_tenths(page: &ReportPage, machine: &str) -> bool {
    let due = page.due.machines.iter().find(|due| due.machine == machine);
    due.is_some_and(|due| due.reads_tenths)
}
