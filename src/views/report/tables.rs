//! Tables under the pictures, for those who want numbers.

use super::{LineEnd, MachineDull, MachineLine, ReportPage};
use crate::decisions::IntervalAnswer;
use crate::quantities::Estimate;
use crate::views::fit::{quantity_name, unit_word};
use crate::views::format::{
    hours, hours_with_range, money, money_range, percent_range, reading, significant, whole_percent,
};
use crate::views::interval::WoodInterval;
use crate::wear::Learned;
use maud::{Markup, html};

/// A table behind a fold, so that a page stays a page.
fn folded(summary: &str, caption: &str, heads: &[&str], rows: Vec<Vec<String>>) -> Markup {
    html! {
        details { summary { (summary) }
            (table(caption, heads, rows))
        }
    }
}

/// A table; the first cell of each row names it.
pub fn table(caption: &str, heads: &[&str], rows: Vec<Vec<String>>) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(caption) { table {
            caption { (caption) }
            thead { tr { @for head in heads { th scope="col" { (head) } } } }
            tbody { @for row in &rows { tr {
                @for (place, cell) in row.iter().enumerate() {
                    @if place == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                }
            } } }
        } }
    }
}

/// Cost against interval.
pub fn cost(answer: &IntervalAnswer, currency: &str) -> Markup {
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
        "Cost per meter hour by change interval",
        &[
            "change every (meter hours)",
            "cost per meter hour",
            "90 % bounds",
        ],
        answer.curve.iter().map(row).collect(),
    )
}

/// The interval by wood and dirt.
pub fn by_wood(rows: &[WoodInterval]) -> Markup {
    let row = |row: &WoodInterval| {
        let (interval, dull) = match &row.interval {
            Some((interval, dull)) => (hours_with_range(interval), whole_percent(dull.point)),
            None => ("when the cut calls".to_string(), String::new()),
        };
        vec![
            format!("{}, {}", row.wood, row.contamination),
            interval,
            dull,
        ]
    };
    table(
        "Where all wood is of one kind (green)",
        &["wood", "change every (meter hours)", "edges dull by then"],
        rows.iter().map(row).collect(),
    )
}

/// Chance of dull.
pub fn dull(dull: &MachineDull) -> Markup {
    let rows = dull.classes.iter().flat_map(|(class, points)| {
        points.iter().skip(4).step_by(4).map(move |point| {
            vec![
                (*class).to_string(),
                hours(point.hours),
                whole_percent(point.chance.point),
                percent_range(&point.chance),
            ]
        })
    });
    folded(
        "The same in numbers",
        "Chance that an edge is dull",
        &["dirt", "meter hours", "chance", "90 % bounds"],
        rows.collect(),
    )
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
        &["", "unit", "before", "after", "still the default"],
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
            stay.was_due
                .map_or("not known".to_string(), |due| reading(due, tenths)),
            end_words(stay.end).to_string(),
        ]
    });
    folded(
        "The same in numbers, latest first",
        "Edges by hour-meter reading",
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
