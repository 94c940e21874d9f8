//! The page says what `interval` and `due` say: every number of its headings, answers and table of intervals
//! against the JSON, rounded here anew.

use crate::page::{Report, answers, demo};
use crate::screen::Screen;
use serde_json::Value;

/// Whole hours from ten up, tenths below.
fn hours(value: &Value) -> String {
    let value = value.as_f64().expect("hours");
    if value < 9.95 {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    }
}

fn estimate(it: &Value) -> Vec<String> {
    ["estimate", "lower", "upper"]
        .map(|of| hours(&it[of]))
        .to_vec()
}

/// The numbers of a text, in order.
pub fn numbers(text: &str) -> Vec<String> {
    text.split(|letter: char| !letter.is_ascii_digit() && letter != '.')
        .map(|number| number.trim_matches('.').to_string())
        .filter(|number| !number.is_empty())
        .collect()
}

pub fn texts(screen: &Screen, selector: &str) -> Vec<String> {
    let asked = format!("[...document.querySelectorAll('{selector}')].map(it => it.textContent)");
    serde_json::from_value(screen.ask(&asked)).expect("texts")
}

/// What the heading and the two answers of a machine must have for numbers.
fn expected(interval: &Value, due: &Value) -> Vec<String> {
    let [best, lower, upper]: [String; 3] =
        estimate(&interval["interval"]).try_into().expect("three");
    let next = &due["ahead"][0]["due"];
    let mark = match next["overdue"]["estimate"].as_f64() {
        Some(_) => hours(&next["overdue"]["estimate"]),
        None => format!("{:.1}", next["mark"]["estimate"].as_f64().expect("a mark")),
    };
    vec![best, lower, upper, "90".to_string(), mark]
}

#[test]
fn headings_and_answers_have_the_numbers_of_the_commands() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    let (interval, due) = (answers(&demo(), "interval"), answers(&demo(), "due"));
    let (interval, due) = (&interval["answers"], &due["answers"]);
    let machines = interval.as_array().expect("machines").len();
    assert_eq!(machines, 2);
    for place in 0..machines {
        let part = format!("#machine-{}", place + 1);
        let told = texts(&screen, &format!("{part} h2, {part} .answer")).join(" ");
        let name = interval[place]["machine"].as_str().expect("a name");
        assert!(told.starts_with(&format!("{name}: ")), "{told}");
        assert_eq!(
            numbers(&told),
            expected(&interval[place], &due[place]),
            "{told}"
        );
    }
}

/// A chance with its bounds in whole per cent, "under 1" and "over 99" at the ends; one figure where all read alike.
fn chance(chance: &Value) -> Vec<String> {
    let shown = ["estimate", "lower", "upper"].map(|part| {
        let share = chance[part].as_f64().expect("a chance");
        let whole = (100.0 * share).round().clamp(1.0, 99.0);
        format!("{whole:.0}")
    });
    if shown.iter().all(|it| *it == shown[0]) {
        shown[..1].to_vec()
    } else {
        shown.to_vec()
    }
}

#[test]
fn the_tables_have_the_numbers_of_the_commands() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    let (interval, due) = (answers(&demo(), "interval"), answers(&demo(), "due"));
    let glance = texts(&screen, ".glance tbody tr");
    let parts = interval["answers"].as_array().expect("machines");
    for (place, machine) in parts.iter().enumerate() {
        let next = &due["answers"][place]["ahead"][0]["due"];
        let mut wanted = estimate(&machine["interval"]);
        if next["overdue"].is_null() {
            let mark = ["estimate", "lower", "upper"].map(|part| &next["mark"][part]);
            let reads = mark.map(|at| format!("{:.1}", at.as_f64().expect("a reading")));
            wanted.extend(reads);
        }
        assert!(glance[place].starts_with(machine["machine"].as_str().expect("a name")));
        // The machine's own name has no number in the demo.
        let cells = texts(
            &screen,
            &format!(".glance tbody tr:nth-child({}) td", place + 1),
        );
        assert_eq!(numbers(&cells.join(" ")), wanted, "{cells:?}");
        let part = format!("#machine-{} .by-wood tbody tr", place + 1);
        let rows = machine["by_wood"].as_array().expect("rows");
        assert_eq!(texts(&screen, &part).len(), rows.len());
        for (place, row) in rows.iter().enumerate() {
            let cells = texts(&screen, &format!("{part}:nth-child({}) > *", place + 1));
            let mut wanted = estimate(&row["interval"]);
            wanted.extend(chance(&row["chance_dull"]));
            let words =
                [&row["wood"], &row["contamination"]].map(|it| it.as_str().unwrap_or_default());
            assert_eq!(cells[0], words.join(", "));
            assert_eq!(numbers(&cells[1..].join(" ")), wanted, "{cells:?}");
        }
    }
}
