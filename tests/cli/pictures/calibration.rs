//! Notebook 06: pictures of its tables. The studies behind them take hours, so the tables are the data.

use super::hold;
use super::marks::{bare, bounds, key_of_points, plot, point, upright, word};
use super::page::{Page, numbers};
use keenspan::views::svg::{Axis, Form, Mark, Plot, Tone};
use statrs::distribution::{Binomial, DiscreteCDF};
use std::collections::HashMap;

/// The shares that bounds promise, as the notebook's cells give them, in per cent.
const PROMISED: [f64; 3] = [50.0, 80.0, 90.0];
const NOTEBOOK: &str = "06-calibration.md";

#[test]
fn how_often_bounds_hold() {
    hold("coverage.svg", &coverage());
}

#[test]
fn where_the_model_is_wrong() {
    hold("wrong-models.svg", &wrong_models());
}

#[test]
fn what_following_it_saves() {
    hold("seasons.svg", &seasons());
}

/// A circle for each line of the table, heaped up where several found the same share.
fn coverage() -> Plot {
    let page = Page::new(NOTEBOOK);
    let table = page.table("| | 6 edges,");
    let mut marks: Vec<Mark> = PROMISED
        .iter()
        .map(|share| upright(*share, Tone::Second, &format!("{share:.0} %")))
        .collect();
    let sizes = table[0].len() - 1;
    for (size, head) in table[0].iter().enumerate().skip(1) {
        let floor = (sizes - size) as f64;
        let crews = numbers(head)[1] as u64;
        marks.extend(PROMISED.map(|share| band(share, crews, floor)));
        let lines = table[1..].iter().filter(|row| !row[0].starts_with("mean"));
        marks.extend(heaps(lines.flat_map(|row| numbers(row[size])), floor));
        marks.push(word(
            (61.0, floor + 0.45),
            head.split(',').next().unwrap_or_default(),
        ));
    }
    plot(
        "The share of invented crews whose bounds held the truth, a circle for each quantity, beside what the \
         bounds promise, for logs of three lengths",
        Axis::numbers("share of crews whose bounds held the truth, %", 42.0, 100.0),
        bare(0.0, sizes as f64),
        1.0,
        marks,
    )
}

/// Where nineteen shares in twenty fall if the promise is true of so many crews.
fn band(share: f64, crews: u64, floor: f64) -> Mark {
    let law = Binomial::new(share / 100.0, crews).expect("a law");
    let end = |chance: f64| 100.0 * law.inverse_cdf(chance) as f64 / crews as f64;
    Mark::Block {
        across: (end(0.025), end(0.975)),
        up: (floor, floor + 0.9),
        tone: Tone::Faint,
        full: true,
    }
}

/// Points on a floor, those of the same whole number one over the other, each at that number.
fn heaps(shares: impl Iterator<Item = f64>, floor: f64) -> Vec<Mark> {
    let mut heights: HashMap<i64, u32> = HashMap::new();
    let point_of = |share: f64| {
        let height = heights.entry(share.round() as i64).or_default();
        *height += 1;
        let up = floor + 0.058 * f64::from(*height);
        point((share.round(), up), Tone::First, Form::Open)
    };
    shares.map(point_of).collect()
}

/// Two answers under each way of being wrong, with two standard errors either way.
fn wrong_models() -> Plot {
    let page = Page::new(NOTEBOOK);
    let table = page.table("| | exact |");
    let error = page.number_after("held the truth (standard error ");
    let answers = [
        (
            "life, drum, reground, usual wood",
            0.3,
            Tone::First,
            Form::Full,
        ),
        (
            "interval, drum, reground, usual wood",
            0.14,
            Tone::Second,
            Form::Triangle,
        ),
    ];
    let ways = table[0].len() - 1;
    let mut marks = vec![upright(PROMISED[2], Tone::Ink, "promised 90 %")];
    for (name, up, tone, form) in answers {
        let row = table.iter().find(|row| row[0] == name).expect(name);
        for (way, cell) in row.iter().enumerate().skip(1) {
            let (share, at) = (numbers(cell)[0], (ways - way) as f64 + up);
            marks.push(bounds((share - 2.0 * error, share + 2.0 * error), at, tone));
            marks.push(point((share, at), tone, form));
        }
    }
    marks.extend(
        table[0]
            .iter()
            .enumerate()
            .skip(1)
            .map(|(way, head)| word((28.0, (ways - way) as f64 + 0.62), head)),
    );
    Plot {
        keys: vec![
            key_of_points("half of edges last", Tone::First, Form::Full),
            key_of_points("interval", Tone::Second, Form::Triangle),
        ],
        ..plot(
            "The share of crews whose 90 % bounds held the truth where the model is wrong, for life and for the \
             interval in the usual wood",
            Axis::numbers(
                "share of crews whose 90 % bounds held the truth, %",
                28.0,
                100.0,
            ),
            bare(0.0, ways as f64),
            1.0,
            marks,
        )
    }
}

/// What was saved in each wood, with two standard errors either way.
fn seasons() -> Plot {
    let page = Page::new(NOTEBOOK);
    let table = page.table("| wood | following `due` |");
    let policies = [
        ("saved against 50 hours", 0.15, Tone::First, Form::Full),
        (
            "saved against run to dull",
            -0.15,
            Tone::Second,
            Form::Triangle,
        ),
    ];
    let mut marks = vec![upright(0.0, Tone::Ink, "no difference")];
    let (mut from, mut to) = (0.0_f64, 0.0_f64);
    for (head, up, tone, form) in policies {
        let column = table[0].iter().position(|it| *it == head).expect(head);
        for (place, row) in table[1..].iter().rev().enumerate() {
            let lost = if row[column].starts_with(['-', '−']) {
                -1.0
            } else {
                1.0
            };
            let (saved, error) = (lost * numbers(row[column])[0], numbers(row[column])[1]);
            let at = place as f64 + 1.0 + up;
            let ends = (saved - 2.0 * error, saved + 2.0 * error);
            (from, to) = (from.min(ends.0), to.max(ends.1));
            marks.push(bounds(ends, at, tone));
            marks.push(point((saved, at), tone, form));
        }
    }
    let woods = table[1..].iter().rev().map(|row| row[0].to_string());
    Plot {
        keys: policies
            .map(|(head, _, tone, form)| {
                key_of_points(head.trim_start_matches("saved "), tone, form)
            })
            .to_vec(),
        ..plot(
            "Money saved per 100 meter hours by following the advice, against a fixed rule of 50 hours and \
             against running to dull, by wood",
            Axis::numbers("money saved per 100 meter hours", 1.05 * from, 1.05 * to),
            Axis::named(woods.collect()),
            0.5,
            marks,
        )
    }
}
