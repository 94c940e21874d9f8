//! Whether edges last as they should, asked of logs as crews have them.

use crate::support::{Shop, answer, json, keenspan, said, status};

fn demo(arguments: &[&str]) -> std::process::Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    keenspan(&[&["--log", log, "drift"], arguments].concat())
}

/// Two sets by turns, each ground between its turns and noticed dull in the cut: hours of the edges, and who
/// ground them.
fn shop(edges: &[(f64, &str)]) -> Shop {
    let shop = Shop::new();
    let add = |arguments: &[&str]| {
        let output = shop.run(&[&["add"], arguments].concat());
        assert_eq!(status(&output), 0, "{}", said(&output));
    };
    add(&["set", "--name", "B", "--knives", "4", "--edges", "2"]);
    let mut runs = shop.text("runs.csv");
    let mut events = shop.text("events.csv");
    let column = |text: &str, name: &str| {
        let header = text.lines().next().expect("a header").to_string();
        let place = header.split(',').position(|known| known == name);
        (header.split(',').count(), place.expect("a column"))
    };
    let row = |text: &mut String, cells: &[(&str, String)]| {
        let count = column(text, "date").0;
        let mut fields = vec![String::new(); count];
        for (name, cell) in cells {
            fields[column(text, name).1].clone_from(cell);
        }
        text.push_str(&fields.join(","));
        text.push('\n');
    };
    let mut meter = 1200.0;
    for (number, (hours, ground_by)) in edges.iter().enumerate() {
        let date = format!("{}-{:02}-10", 2022 + number / 12, 1 + number % 12);
        let next = format!("{}-{:02}-20", 2022 + number / 12, 1 + number % 12);
        let set = ["A", "B"][number % 2].to_string();
        let event = |date: &str, kind: &str, meter: Option<f64>| {
            vec![
                ("date", date.to_string()),
                ("event", kind.to_string()),
                (
                    "machine",
                    meter.map_or(String::new(), |_| "big-drum".to_string()),
                ),
                (
                    "meter",
                    meter.map_or(String::new(), |meter| format!("{meter:.1}")),
                ),
                ("set", set.clone()),
            ]
        };
        let mut ground = event(&date, "reground", None);
        ground.push(("by", (*ground_by).to_string()));
        row(&mut events, &ground);
        row(&mut events, &event(&date, "fitted", Some(meter)));
        row(
            &mut runs,
            &[
                ("date", next.clone()),
                ("machine", "big-drum".to_string()),
                ("meter start", format!("{meter:.1}")),
                ("meter end", format!("{:.1}", meter + hours)),
                ("wood", "oak".to_string()),
                ("dirt", "clean".to_string()),
                ("state", "green".to_string()),
            ],
        );
        meter += hours;
        row(&mut events, &event(&next, "noticed dull", Some(meter)));
        row(&mut events, &event(&next, "pulled", Some(meter)));
    }
    shop.write("runs.csv", runs);
    shop.write("events.csv", events);
    shop
}

/// Lives that scatter by a third either way.
const STEADY: [f64; 18] = [
    52.0, 41.0, 60.0, 47.0, 35.0, 55.0, 49.0, 66.0, 44.0, 38.0, 57.0, 50.0, 46.0, 62.0, 40.0, 53.0,
    48.0, 58.0,
];

#[test]
fn a_grinder_whose_edges_last_half_as_long_is_found_dated_and_named() {
    let steady = STEADY.iter().map(|hours| (*hours, "the mill"));
    // From the nineteenth edge on, which comes out on 20 July 2023, every second edge.
    let by_turns = STEADY
        .iter()
        .take(16)
        .enumerate()
        .map(|(i, hours)| match i % 2 {
            0 => (0.4 * hours, "the van"),
            _ => (*hours, "the mill"),
        });
    let shop = shop(&steady.chain(by_turns).collect::<Vec<_>>());
    let output = shop.run(&["drift"]);
    let words = answer(&output);
    assert_eq!(status(&output), 0, "{words}{}", said(&output));
    assert!(words.contains("run short since about 2023-"), "{words}");
    let whole = json(&shop.run(&["--json", "drift"]));
    let chart = &whole["answers"][0];
    let shift = &chart["shifts"][0];
    let since = &shift["since"];
    let day = |key: &str| since[key].as_str().expect("a day").to_string();
    let right = "2023-07-20".to_string();
    assert!(day("lower") <= right && right <= day("upper"), "{since}");
    let carrier = &shift["carriers"][0];
    assert_eq!(carrier["factor"], "grinder");
    assert_eq!(carrier["name"], "the van");
    let ratio = |key: &str| carrier["ratio"][key].as_f64().expect("a ratio");
    assert!(ratio("lower") < 0.4 && 0.4 < ratio("upper"), "{carrier}");
    assert_eq!(shift["look_at"][0]["look_at"], "grind-angle");
    assert_eq!(chart["chart"].as_array().map(Vec::len), Some(34));
    assert!(
        words.contains("Grind angle") && words.contains("Heat marks"),
        "{words}"
    );
    assert!(words.contains("Before hands go near knives"), "{words}");
    assert!(
        !words.contains("mean score") && !words.contains("standard error"),
        "{words}"
    );
}

#[test]
fn steady_lives_give_no_sign_and_the_answer_says_what_it_would_notice() {
    let shop = shop(&STEADY.map(|hours| (hours, "the mill")));
    let words = answer(&shop.run(&["drift"]));
    assert!(
        words.contains("no sign that edges last shorter or longer"),
        "{words}"
    );
    assert!(
        words.contains("18 finished edges") && words.contains("465 edges"),
        "{words}"
    );
}

#[test]
fn an_empty_log_has_too_few_edges_to_tell() {
    let shop = Shop::new();
    let output = shop.run(&["drift"]);
    assert_eq!(status(&output), 0);
    let words = answer(&output);
    assert!(words.contains("no finished edge"), "{words}");
    assert!(
        words.contains("too few edges yet to tell") && !words.contains("no sign"),
        "{words}"
    );
    // No cost goes into it.
    assert!(!words.contains("costs.csv"), "{words}");
}

#[test]
fn the_demo_log_is_looked_at_as_a_whole_or_machine_by_machine() {
    let edges = |arguments: &[&str]| {
        let whole = json(&demo(&[&["--json"], arguments].concat()));
        let answers = whole["answers"].as_array().expect("answers").clone();
        assert_eq!(answers.len(), 1);
        let chart = answers[0]["chart"].as_array().expect("edges").clone();
        for edge in &chart {
            assert!(
                edge["came_out"].is_string() && edge["score"].is_number(),
                "{edge}"
            );
        }
        assert_eq!(
            answers[0]["edges_finished"].as_u64(),
            Some(chart.len() as u64)
        );
        chart.len()
    };
    let one = |name: &str| edges(&["--machine", name]);
    assert_eq!(edges(&[]), one("heron") + one("Nettle"));
}

#[test]
fn the_same_seed_gives_the_same_answer_to_the_last_letter() {
    assert_eq!(
        answer(&demo(&["--seed", "5"])),
        answer(&demo(&["--seed", "5"]))
    );
}

#[test]
fn a_machine_that_is_not_there_is_named_with_those_that_are() {
    let output = demo(&["--machine", "Otter"]);
    assert_eq!(status(&output), 2);
    assert!(said(&output).contains("Heron, Nettle"), "{}", said(&output));
}
