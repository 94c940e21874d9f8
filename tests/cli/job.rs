//! The crew lead's question, asked of logs as crews have them.

use crate::support::{Shop, answer, is_estimate, json, keenspan, said, status};
use std::process::Output;

fn demo(arguments: &[&str]) -> Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    keenspan(&[&["--log", log, "job"], arguments].concat())
}

/// The demo asked about a list.
fn demo_list(text: &str, arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("week.csv");
    std::fs::write(&file, text).expect("a writable folder");
    let list = file.display().to_string();
    demo(&[&["--machine", "Nettle", "--list", &list], arguments].concat())
}

const WEEK: &str = "name,hours,wood,dirt,state\n\
    Mill Lane,6,\"oak 60%, ash 40%\",gritty,dry\n\
    The Weir,4,willow,clean,\n\
    Old Orchard,3.5,black cherry,,\n";

#[test]
fn one_job_is_answered_with_what_to_take_and_bounds_on_every_figure() {
    let arguments = [
        "--machine",
        "Nettle",
        "--hours",
        "12",
        "--wood",
        "oak 60%, ash 40%",
        "--dirt",
        "gritty",
        "--state",
        "dry",
    ];
    let output = demo(&arguments);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let words = answer(&output);
    assert!(
        words.contains("Nettle: Take 2 sets. Change before you leave."),
        "{words}"
    );
    assert!(words.contains("Engine off, key out"));
    let whole = json(&demo(&[&["--json"], arguments.as_slice()].concat()));
    let job = &whole["answers"][0];
    for figure in [
        "wears_like",
        "chance_change_before",
        "chance_lasts",
        "changes",
        "chance_strike",
        "cost",
    ] {
        assert!(is_estimate(&job[figure]), "{figure}: {}", job[figure]);
    }
    for figure in [
        "changes",
        "forced_stops",
        "chance_strike",
        "cost",
        "chance_present_lasts",
    ] {
        assert!(is_estimate(&whole["plan"][figure]), "{figure}");
    }
    assert_eq!(whole["plan"]["carry"]["take"], 2);
    assert_eq!(whole["plan"]["leave"]["advice"], "change");
}

#[test]
fn a_list_comes_back_in_an_order_with_where_to_change() {
    let whole = json(&demo_list(WEEK, &["--json"]));
    let jobs = whole["answers"].as_array().expect("jobs");
    let mut written: Vec<u64> = jobs
        .iter()
        .filter_map(|job| job["written"].as_u64())
        .collect();
    written.sort_unstable();
    assert_eq!(written, [0, 1, 2]);
    assert_eq!(whole["plan"]["order"]["exact"], true);
    let costs = jobs
        .iter()
        .filter_map(|job| job["cost"]["estimate"].as_f64());
    let total = whole["plan"]["cost"]["estimate"].as_f64().expect("a sum");
    assert!((costs.sum::<f64>() - total).abs() < 1e-6 * total.abs().max(1.0));
    let words = answer(&demo_list(WEEK, &[]));
    for part in ["Mill Lane", "The Weir", "Old Orchard", "bid in all"] {
        assert!(words.contains(part), "{part}: {words}");
    }
    assert!(
        words.lines().all(|line| line.chars().count() <= 78),
        "{words}"
    );
}

#[test]
fn less_risk_never_takes_fewer_sets_and_a_dirtier_job_never_lasts_better() {
    let sets = |risk: &str| {
        let whole = json(&demo_list(WEEK, &["--json", "--risk", risk]));
        whole["plan"]["carry"]["take"].as_u64().expect("sets")
    };
    assert!(sets("1") >= sets("5") && sets("5") >= sets("30"));
    let lasts = |dirt: &str| {
        let arguments = [
            "--json",
            "--machine",
            "Nettle",
            "--hours",
            "4",
            "--dirt",
            dirt,
        ];
        json(&demo(&arguments))["plan"]["chance_present_lasts"]["estimate"]
            .as_f64()
            .expect("a chance")
    };
    assert!(lasts("clean") > lasts("dirty") && lasts("dirty") > lasts("gritty"));
}

#[test]
fn a_bad_row_of_a_list_is_an_error_that_names_file_row_column_and_what_would_be_right() {
    let output = demo_list("name,hours,wood\nMill Lane,6,oak\nThe Weir,-2,wilow\n", &[]);
    assert_eq!(status(&output), 2);
    let said = said(&output);
    for part in [
        "week.csv line 3, column \"hours\": found \"-2\"; write hours",
        "column \"wood\": found \"wilow\"; write willow",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let output = demo_list("name,hours,loads\nMill Lane,,\n", &[]);
    assert!(crate::support::said(&output).contains("found nothing; write meter hours"));
    let output = demo_list("name,hours\n", &[]);
    assert!(crate::support::said(&output).contains("lists no job"));
}

#[test]
fn decimal_commas_and_mixes_are_read_as_in_the_log() {
    let text = "name;hours;wood;dirt\nMill Lane;3,5;oak 60%, ash 40%;dirty\n";
    let whole = json(&demo_list(text, &["--json"]));
    assert_eq!(whole["answers"][0]["hours"], 3.5);
}

#[test]
fn loads_become_hours_by_the_logs_own_runs_or_are_refused() {
    let output = demo(&["--machine", "Heron", "--loads", "3"]);
    assert_eq!(status(&output), 3);
    assert!(
        said(&output).contains("how many loads"),
        "{}",
        said(&output)
    );
    let shop = Shop::new();
    shop.write(
        "runs.csv",
        "date,machine,hours,loads\n2026-03-05,big-drum,3,2\n2026-03-06,big-drum,6,4\n",
    );
    let whole = json(&shop.run(&["--json", "job", "--loads", "4"]));
    assert_eq!(whole["answers"][0]["hours"], 6.0);
}

#[test]
fn what_is_missing_or_unknown_is_a_usage_error_that_says_what_would_do() {
    for (arguments, wanted) in [
        (
            &["--hours", "5"][..],
            "say which machine, with --machine NAME; machines.csv has Heron, Nettle",
        ),
        (&["--machine", "Heron"], "--hours HOURS or --loads LOADS"),
        (
            &["--machine", "Heron", "--hours", "5", "--wood", "wilow"],
            "willow",
        ),
        (
            &["--machine", "Heron", "--hours", "0"],
            "must be above zero",
        ),
        (
            &["--machine", "Heron", "--hours", "-2"],
            "must be above zero",
        ),
        (
            &["--machine", "Heron", "--hours", "9999"],
            "a job may take 60 working days",
        ),
        (
            &["--machine", "Heron", "--hours", "40", "--day", "0.2"],
            "more hours a day with --day",
        ),
        (
            &["--machine", "Heron", "--hours", "4", "--day", "1e-6"],
            "too short for a day's work",
        ),
        (
            &["--machine", "Heron", "--hours", "4", "--day", "25"],
            "a day has 24 hours",
        ),
        (
            &["--machine", "Heron", "--list", "no-such-file.csv"],
            "there is no file no-such-file.csv: write it, or name another",
        ),
        (
            &["--machine", "Heron", "--hours", "5", "--dirt", "mudy"],
            "clean, dusty, dirty or gritty",
        ),
        (
            &["--machine", "Heron", "--hours", "5", "--risk", "0.05"],
            "give percent: 5",
        ),
        (
            &["--machine", "Heron", "--hours", "5", "--risk", "80"],
            "between 0.1 and 50",
        ),
    ] {
        let output = demo(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(said(&output).contains(wanted), "{}", said(&output));
    }
}

#[test]
fn a_log_with_one_machine_needs_no_name_and_an_unknown_edge_is_told() {
    let shop = Shop::new();
    let output = shop.run(&["job", "--hours", "5"]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let words = answer(&output);
    assert!(words.contains("No edge is known to be on"), "{words}");
    assert!(words.contains("this is the default"), "{words}");
    let fresh = answer(&shop.run(&["job", "--hours", "5", "--fresh"]));
    assert!(fresh.contains("A fresh edge is on."), "{fresh}");
}

#[test]
fn a_struck_edge_comes_off_whatever_it_costs() {
    let shop = Shop::new();
    shop.run(&["add", "event", "fitted", "--set", "A", "--meter", "1200"]);
    shop.run(&["add", "event", "struck", "--set", "A", "--meter", "1210"]);
    let whole = json(&shop.run(&["--json", "job", "--hours", "1"]));
    assert_eq!(
        whole["plan"]["leave"]["advice"], "must-change",
        "{}",
        whole["plan"]
    );
    let words = answer(&shop.run(&["job", "--hours", "1"]));
    assert!(words.contains("qualified person"), "{words}");
}

#[test]
fn the_same_seed_gives_the_same_plan_to_the_last_letter() {
    assert_eq!(answer(&demo_list(WEEK, &[])), answer(&demo_list(WEEK, &[])));
}

/// A log with an edge at work, and what the plan of a gritty job says of sets that are ready.
fn ready(shop: &Shop) -> (serde_json::Value, String) {
    let job = ["job", "--hours", "12", "--dirt", "gritty"];
    let plan = json(&shop.run(&[&["--json"], &job[..]].concat()))["plan"].clone();
    let words = answer(&shop.run(&job));
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    (plan, words)
}

#[test]
fn sets_that_are_ready_are_named_and_held_against_what_the_job_needs() {
    let shop = Shop::at_work();
    let (plan, words) = ready(&shop);
    let needed = plan["ready"]["needed"].as_u64().expect("a count");
    let carry = &plan["carry"];
    let taken = carry["take"].as_u64().zip(carry["fit_first"].as_u64());
    assert_eq!(taken.map(|(take, first)| take + first), Some(needed));
    assert!(needed > 0, "{plan}");
    assert_eq!(plan["ready"]["short"], needed);
    assert!(words.contains("by the log none is ready"), "{words}");
    for set in ["B", "C", "D", "E"] {
        let set = ["add", "set", "--name", set, "--knives", "4", "--edges", "2"];
        assert_eq!(status(&shop.run(&set)), 0);
    }
    for row in [
        "event checked --set C --note crack",
        "event checked --set D --note unmatched",
        // E has worked on one of its edges and lies on the bench, and A is in again.
        "event pulled --meter 1251 --grade keen",
        "event fitted --set E --edge 1 --meter 1251",
        "event pulled --meter 1261 --grade working",
        "event fitted --set A --edge 1 --meter 1261",
    ] {
        let row = format!("add {row} --date 2026-03-04");
        let output = shop.run(&row.split(' ').collect::<Vec<_>>());
        assert_eq!(status(&output), 0, "{row}: {}", said(&output));
    }
    let (plan, words) = ready(&shop);
    let found = &plan["ready"];
    assert_eq!(found["sets"], serde_json::json!(["B"]), "{found}");
    assert_eq!(found["partly_fresh"][0]["set"], "E", "{found}");
    assert_eq!(found["partly_fresh"][0]["fresh_edges"], 1, "{found}");
    let unfit = found["not_to_be_run"].as_array().expect("a list");
    let unfit: Vec<&str> = unfit.iter().filter_map(|it| it["set"].as_str()).collect();
    assert_eq!(unfit, ["C", "D"], "{found}");
    let needed = found["needed"].as_u64().expect("a count");
    assert_eq!(found["short"], needed.saturating_sub(1), "{found}");
    assert!(
        words.contains("1 of the 4 sets out of the machine: B;"),
        "{words}"
    );
    assert!(words.contains("E has 1 of 2 edges fresh"), "{words}");
    assert!(words.contains("speaks of a crack in C"), "{words}");
    assert!(words.contains("the knives of D do not match"), "{words}");
}
