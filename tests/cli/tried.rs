//! The owner's what-if and the year's budget.

use crate::support::{Shop, answer, json, keenspan, said, status};
use serde_json::Value;

fn demo(arguments: &str) -> std::process::Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    let typed = arguments.split_whitespace();
    keenspan(
        &["--log", log, "interval", "--machine", "Heron"]
            .into_iter()
            .chain(typed)
            .collect::<Vec<_>>(),
    )
}

fn first(output: &std::process::Output) -> Value {
    json(output)["answers"][0].clone()
}

fn point(estimate: &Value) -> f64 {
    estimate["estimate"]
        .as_f64()
        .unwrap_or_else(|| panic!("{estimate}"))
}

#[test]
fn what_is_tried_stands_beside_things_as_they_are() {
    let output = demo("--json --try waiting_share=1 --try interval=30");
    let whole = first(&output);
    let tried = &whole["tried"];
    assert_eq!(tried["settings"]["waiting_share"], "1");
    assert_eq!(tried["interval"], 30.0);
    // As it is: the answer that stands above it.
    assert_eq!(tried["as_it_is"]["best"], whole["interval"]);
    let per_hundred = 100.0 * point(&whole["cost_per_hour"]);
    assert!((point(&tried["as_it_is"]["at_best"]) - per_hundred).abs() < 1e-9);
    // Where the crew waits on the chipper all day dull edges are dear: change earlier.
    assert!(point(&tried["as_tried"]["best"]) < point(&tried["as_it_is"]["best"]));
    for field in [
        "more_at_best",
        "more_at_rule",
        "more_at_interval",
        "more_than_rule",
    ] {
        let more = &tried[field];
        assert!(
            more["lower"].as_f64() <= more["estimate"].as_f64(),
            "{field}"
        );
        assert!(point(more) > 0.0 && more["level"] == 0.9, "{field}: {more}");
    }
    let difference = point(&tried["as_tried"]["at_rule"]) - point(&tried["as_it_is"]["at_rule"]);
    assert!((point(&tried["more_at_rule"]) - difference).abs() < 1e-9);
    let words = answer(&demo("--try waiting_share=1 --try interval=30"));
    for part in [
        "what if waiting_share = 1, interval = 30",
        "as it is",
        "as tried",
        "tried, 30 h",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
}

#[test]
fn a_cost_tried_is_the_cost_put_into_the_log() {
    let shop = Shop::new();
    let tried = first(&shop.run(&[
        "--json",
        "interval",
        "--try",
        "new_knife=300",
        "--try",
        "fuel_per_litre=3",
    ]));
    shop.write("costs.csv", "key,value\nnew_knife,300\nfuel_per_litre,3\n");
    let own = first(&shop.run(&["--json", "interval"]));
    assert_eq!(tried["tried"]["as_tried"]["best"], own["interval"]);
    let own_cost = 100.0 * point(&own["cost_per_hour"]);
    assert!((point(&tried["tried"]["as_tried"]["at_best"]) - own_cost).abs() < 1e-9);
}

#[test]
fn wood_tried_is_the_wood_asked_for() {
    let tried = first(&demo(
        "--json --try wood=willow --try dirt=dirty --try state=frozen",
    ));
    let asked = first(&demo("--json --wood willow --dirt dirty --state frozen"));
    assert_eq!(tried["tried"]["as_tried"]["best"], asked["interval"]);
    assert_eq!(tried["tried"]["conditions"], asked["conditions"]);
}

#[test]
fn what_cannot_be_tried_is_said_with_what_can() {
    for (arguments, says) in [
        (
            "--try lunch=3",
            "it knows interval, wood, dirt, state, change_minutes",
        ),
        ("--try new_knife", "key=value"),
        ("--try new_knife=dear", "money per knife"),
        ("--try waiting_share=1.5", "between 0 and 1"),
        ("--try interval=0", "must be above zero"),
        ("--try wood=wilow", "willow"),
        ("--try new_knife=1 --try new_knife=2", "twice"),
    ] {
        let output = demo(arguments);
        assert_eq!(status(&output), 2, "{arguments}: {}", answer(&output));
        assert!(
            said(&output).contains(says),
            "{arguments}: {}",
            said(&output)
        );
    }
}

#[test]
fn the_year_adds_up_for_todays_rule_and_for_the_recommended_interval() {
    let whole = first(&demo("--json"));
    let parts = [
        "labour",
        "sharpening",
        "new_knives",
        "forced_stops",
        "strikes",
        "extra_fuel",
        "waiting",
    ];
    for column in ["today", "recommended"] {
        let year = &whole["year"][column];
        let sum: f64 = parts.iter().map(|part| point(&year[*part])).sum();
        assert!(
            (sum / point(&year["total"]) - 1.0).abs() < 1e-12,
            "{column}"
        );
        for part in parts {
            assert!(year[part]["lower"].as_f64() <= year[part]["upper"].as_f64());
        }
    }
    let (today, best) = (&whole["year"]["today"], &whole["year"]["recommended"]);
    let hours = best["hours"].as_f64().expect("hours");
    assert!((point(&best["total"]) / (hours * point(&whole["cost_per_hour"])) - 1.0).abs() < 1e-12);
    let extra = point(&whole["rule"]["extra_per_year"]);
    assert!((point(&today["total"]) - point(&best["total"]) - extra).abs() < 1e-6);
    let words = answer(&demo(""));
    for part in [
        "a year of ",
        "by today's rule",
        "in all",
        "change every so many meter hours, in green wood",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
}

#[test]
fn without_half_a_year_of_runs_there_is_no_year() {
    let shop = Shop::new();
    assert!(first(&shop.run(&["--json", "interval"]))["year"].is_null());
    assert!(!answer(&shop.run(&["interval"])).contains("a year of"));
}

// The demo's machines are serviced every 25 hours: the stop is a multiple of it and never cheaper than
// the best.
#[test]
fn the_stop_for_service_is_told_with_what_it_costs() {
    let service = &first(&demo("--json"))["service"];
    let stops = service["every_stops"].as_f64().expect("stops");
    assert_eq!(service["interval"].as_f64(), Some(25.0 * stops));
    assert!(point(&service["extra_per_100_hours"]) >= 0.0);
    let words = answer(&demo(""));
    let at_service = words
        .lines()
        .find(|line| line.trim_start().starts_with("at service"));
    assert!(
        at_service.is_some_and(|line| line.contains("stop, ")),
        "{words}"
    );
}
