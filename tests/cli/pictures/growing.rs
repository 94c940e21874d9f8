//! Notebook 05: the demo's log cut off after so many edges, and what the program answers then.

use super::by_hand::cheapest;
use super::marks::{key_of_line, line, plot, point};
use super::page::{Page, numbers};
use super::{ROOT, hold};
use crate::support::{json, keenspan, said, status};
use keenspan::decisions::{AgeReplacement, KnifeLayout, ShopCosts};
use keenspan::logbook::read::read_logbook;
use keenspan::simulation::Truth;
use keenspan::views::svg::{Axis, Form, Mark, Plot, Stroke, Tone};
use keenspan::wear::LifeLaw;
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

const MACHINE: &str = "Heron";

#[test]
fn the_more_edges_the_less_is_default() {
    let answers = answers();
    hold("edges-and-bounds.svg", &bounds(&answers));
    hold("edges-and-defaults.svg", &defaults(&answers));
    // What the page says of them in words.
    let page = Page::new("05-what-it-cannot-know.md");
    let ends = [&answers[0], &answers[answers.len() - 1]];
    let ends = ends.map(|it| [part(it, "lower").round(), part(it, "upper").round()]);
    let told = numbers(page.line_after("finished edges: bounds of"));
    assert_eq!(told[..2], ends[0]);
    assert_eq!(
        told[2..5],
        [ends[1][0], ends[1][1], edges(&answers[answers.len() - 1])]
    );
    assert_eq!(told[5], truly_best().round());
}

/// A part of the interval.
fn part(answer: &Value, part: &str) -> f64 {
    answer["interval"][part].as_f64().expect("hours")
}

/// The answers in clean green hardwood before the first edge came off, after so many had, and after all.
fn answers() -> Vec<Value> {
    let days = ends();
    let counts = [1, 2, 3, 4, 6, 8, 12, 16, 20, 24];
    let chosen = counts.map(|count: usize| &days[count - 1]);
    let before = "2024-01-01".to_string();
    let all = [&before].into_iter().chain(chosen).chain(days.last());
    all.map(|day| answer_after(day)).collect()
}

/// The days on which an edge came off the machine.
fn ends() -> Vec<String> {
    let events = fs::read_to_string(demo().join("events.csv")).expect("the demo");
    let ends = events.lines().filter_map(|row| {
        let cells: Vec<&str> = row.split(',').collect();
        let ends = ["pulled", "flipped"].contains(&cells[1]) && cells[2] == MACHINE;
        ends.then(|| cells[0].to_string())
    });
    ends.collect()
}

/// By the log as it stood at the end of this day.
fn answer_after(day: &str) -> Value {
    let scratch = tempfile::tempdir().expect("a temporary folder");
    for file in fs::read_dir(demo()).expect("the demo").flatten() {
        let text = fs::read_to_string(file.path()).expect("a table");
        let dated = text.starts_with("date,");
        let rows = text.lines();
        let written =
            rows.filter(|row| !dated || row.starts_with("date,") || &row[..day.len()] <= day);
        let written: String = written.map(|row| format!("{row}\n")).collect();
        fs::write(scratch.path().join(file.file_name()), written).expect("written");
    }
    let log = scratch.path().display().to_string();
    let asked = "interval --wood hardwood --dirt clean --json --machine";
    let arguments = ["--log", &log]
        .into_iter()
        .chain(asked.split(' '))
        .chain([MACHINE]);
    let output = keenspan(&arguments.collect::<Vec<_>>());
    assert_eq!(status(&output), 0, "{day}: {}", said(&output));
    json(&output)["answers"][0].clone()
}

fn demo() -> PathBuf {
    Path::new(ROOT).join("datasets/demo-riverbank")
}

fn edges(answer: &Value) -> f64 {
    answer["edges_finished"].as_f64().expect("a count")
}

/// The interval that the demo's stated truth makes cheapest, at the crew's costs.
fn truly_best() -> f64 {
    let log = read_logbook(&demo()).expect("the demo").logbook;
    let costs = log.costs.items.iter();
    let costs = costs.fold(ShopCosts::common_practice(), |costs, (item, value)| {
        costs?.with(item.key(), *value)
    });
    let mut machines = log.machines.iter();
    let machine = machines.find(|it| it.name == MACHINE).expect("the machine");
    let layout = KnifeLayout {
        knives: machine.knives,
        edges_per_knife: machine.edges_per_knife,
    };
    let costs = costs.and_then(|costs| costs.cycle(layout)).expect("costs");
    let truth = Truth::stated();
    let wood = WoodMix::parse("hardwood").expect("a wood");
    let blend = Blend::of(&wood, Contamination::Clean, WoodState::Green);
    let law = LifeLaw {
        family: truth.family,
        log_median: (truth.median_of(machine.rotor, 1).get() / truth.rate(&blend)).ln(),
        sigma: truth.sigma,
    };
    let strikes = truth.strike_rate(Contamination::Clean);
    cheapest(&AgeReplacement::new(&law, strikes, &costs).expect("a cycle"))
}

fn bounds(answers: &[Value]) -> Plot {
    let points = answers.iter().map(|it| (edges(it), part(it, "estimate")));
    let points: Vec<(f64, f64)> = points.collect();
    let last = points.last().expect("an answer").0;
    let ribbon = Mark::Ribbon {
        points: answers
            .iter()
            .map(|it| (edges(it), part(it, "lower"), part(it, "upper")))
            .collect(),
        tone: Tone::First,
    };
    let truth = vec![(0.0, truly_best()), (last, truly_best())];
    let answers = points.iter().map(|at| point(*at, Tone::First, Form::Full));
    let lines = [
        ribbon,
        line(truth, Tone::Second, Stroke::Long),
        line(points.clone(), Tone::First, Stroke::Whole),
    ];
    Plot {
        keys: vec![
            key_of_line("answer", Tone::First, Stroke::Whole),
            key_of_line("truly cheapest", Tone::Second, Stroke::Long),
        ],
        ..plot(
            "The answer for clean hardwood with its bounds as the demo's log grows, and the truly cheapest interval",
            Axis::numbers(
                &format!("finished edges of {MACHINE} in the log"),
                0.0,
                last,
            ),
            Axis::numbers("change every so many meter hours", 0.0, 110.0),
            0.6,
            lines.into_iter().chain(answers).collect(),
        )
    }
}

fn defaults(answers: &[Value]) -> Plot {
    let share = |answer: &Value| 100.0 * answer["share_from_defaults"].as_f64().expect("a share");
    let points: Vec<(f64, f64)> = answers.iter().map(|it| (edges(it), share(it))).collect();
    let last = points.last().expect("an answer").0;
    let answers = points.iter().map(|at| point(*at, Tone::First, Form::Full));
    plot(
        "The share of what is known of edge life that is still the default, as the demo's log grows",
        Axis::numbers(
            &format!("finished edges of {MACHINE} in the log"),
            0.0,
            last,
        ),
        Axis::numbers("still the default, %", 0.0, 100.0),
        0.5,
        std::iter::once(line(points.clone(), Tone::First, Stroke::Whole))
            .chain(answers)
            .collect(),
    )
}
