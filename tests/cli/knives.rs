//! The mechanic's question, asked of logs as crews have them.

use crate::support::{Shop, answer, is_estimate, json, keenspan, said, status};
use serde_json::Value;

fn demo(arguments: &[&str]) -> std::process::Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    // Its saved fit, to be quick; another seed than its own fits afresh.
    let model = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/models/demo-riverbank.model.json"
    );
    keenspan(&[&["--log", log, "knives", "--model", model], arguments].concat())
}

fn one(arguments: &[&str]) -> Value {
    let whole = json(&demo(&[&["--json"], arguments].concat()));
    whole["answers"][0].clone()
}

fn actions(set: &Value) -> Vec<&str> {
    let actions = set["actions"].as_array().expect("actions");
    actions
        .iter()
        .filter_map(|it| it["action"].as_str())
        .collect()
}

#[test]
fn every_set_of_the_demo_is_answered_with_bounds_and_chances() {
    let whole = json(&demo(&["--json"]));
    let sets = whole["answers"].as_array().expect("sets");
    let names: Vec<&str> = sets.iter().filter_map(|set| set["set"].as_str()).collect();
    assert_eq!(
        names,
        ["Blue", "Dot", "Plum", "Red", "Ring", "Stripe", "White"]
    );
    for set in sets {
        let ranked = set["actions"].as_array().expect("actions");
        assert!(ranked.len() >= 3, "{set}");
        assert!(
            ranked
                .iter()
                .all(|it| is_estimate(&it["cost_per_100_hours"]))
        );
        let chances: f64 = ranked
            .iter()
            .filter_map(|it| it["chance_best"].as_f64())
            .sum();
        assert!((chances - 1.0).abs() < 1e-9, "{chances}");
        assert_eq!(set["best"], ranked[0]["action"]);
    }
    let plum = &sets[2];
    assert_eq!(
        (plum["machine"].as_str(), plum["best"].as_str()),
        (Some("Heron"), Some("keep-running"))
    );
    // 110 mm less 0.4, 0.8 and 0.7 ground away.
    let left = plum["stock"]["width"].as_f64().expect("a width");
    assert!((left - 108.1).abs() < 1e-9, "{left}");
}

#[test]
fn the_words_can_be_read_from_the_machine_and_carry_the_cautions() {
    let words = answer(&demo(&["plum"]));
    assert!(
        words.contains("Plum, in Heron, edge 1: keep running"),
        "{words}"
    );
    for part in [
        "grinds left",
        "this grind",
        "discard width",
        "Engine off, key out",
        "gloves",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    let inches = answer(&demo(&["plum", "--units", "us"]));
    assert!(inches.contains("4.256 in wide"), "{inches}");
    assert_eq!(
        answer(&demo(&["--seed", "7"])),
        answer(&demo(&["--seed", "7"]))
    );
}

#[test]
fn what_is_seen_on_the_bench_stands_before_the_log() {
    let worse: Vec<f64> = ["keen", "working", "dull", "overrun"]
        .iter()
        .map(|grade| {
            let set = one(&["Ring", "--grade", grade]);
            let ranked = set["actions"].as_array().expect("actions");
            let keep = ranked.iter().find(|it| it["action"] == "keep-running");
            keep.and_then(|it| it["waste"]["estimate"].as_f64())
                .expect("a figure")
        })
        .collect();
    assert!(
        worse.windows(2).all(|pair| pair[0] <= pair[1] + 1.0),
        "{worse:?}"
    );
    assert!(worse[3] > worse[0] + 10.0, "{worse:?}");
    let flip = one(&["Ring", "--edges-left", "1", "--grade", "overrun"]);
    assert!(actions(&flip).contains(&"flip"));
}

#[test]
fn no_saving_makes_unfit_knives_run() {
    for flags in [
        &["Plum", "--cracked"][..],
        &["Plum", "--width", "101.9"],
        &["Plum", "--width", "102.5 mm", "--nick", "0.6 mm"],
        &["Plum", "--nick", "1/4 in"],
        &["Plum", "--unmatched", "--width", "102.2"],
    ] {
        let set = one(flags);
        assert_eq!(actions(&set), ["replace"], "{flags:?}");
        assert!(!set["must_not"].as_array().expect("a list").is_empty());
        let words = answer(&demo(flags));
        assert!(words.contains("must not"), "{words}");
        assert!(words.contains("not to be run; replace the set"), "{words}");
    }
    assert_eq!(actions(&one(&["Plum", "--unmatched"]))[0], "regrind");
}

fn struck() -> Shop {
    let shop = Shop::new();
    let events = [
        "fitted,big-drum,1200,A,,,",
        "struck,big-drum,1210,A,,1.5 mm,",
    ];
    let rows: String = events
        .iter()
        .map(|row| format!("2025-03-01,{row}\n"))
        .collect();
    shop.write(
        "events.csv",
        format!("date,event,machine,meter,set,grade,nick,note\n{rows}"),
    );
    shop.write(
        "runs.csv",
        "date,machine,meter start,meter end,wood\n2025-03-01,big-drum,1200,1210,oak\n",
    );
    shop
}

#[test]
fn a_struck_set_is_inspected_before_anything() {
    let shop = struck();
    let words = answer(&shop.run(&["knives"]));
    assert!(
        words.contains("have it inspected before anything"),
        "{words}"
    );
    let in_a_line = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let set = json(&shop.run(&["--json", "knives"]))["answers"][0].clone();
    let ranked = actions(&set);
    assert!(
        !ranked.contains(&"keep-running") && !ranked.contains(&"touch-up"),
        "{ranked:?}"
    );
    // Neither width is in this log: it says so, and to measure.
    for part in [
        "before a qualified person has looked for cracks",
        "measure them before any grind",
        "discard width is not in machines.csv",
    ] {
        assert!(in_a_line.contains(part), "{part}: {words}");
    }
    // Looked over and found sound, its wear still has to be seen; then it may run.
    let inspected = answer(&shop.run(&["knives", "A", "--inspected"]));
    assert!(inspected.contains("look at the edge first"), "{inspected}");
    let graded = shop.run(&["--json", "knives", "A", "--inspected", "--grade", "keen"]);
    assert!(actions(&json(&graded)["answers"][0]).contains(&"keep-running"));
}

#[test]
fn a_note_of_a_crack_takes_the_set_out_and_names_the_row() {
    let shop = struck();
    let events = shop
        .text("events.csv")
        .replace("1.5 mm,", "1.5 mm,cracked at the bolt");
    shop.write("events.csv", events);
    let words = answer(&shop.run(&["knives", "a"]));
    assert!(
        words.contains("events.csv line 3 speaks of a crack"),
        "{words}"
    );
    let set = json(&shop.run(&["--json", "knives"]))["answers"][0].clone();
    assert_eq!(actions(&set), ["replace"]);
}

#[test]
fn a_fresh_log_answers_for_a_set_that_never_worked() {
    let shop = Shop::new();
    let words = answer(&shop.run(&["knives"]));
    assert!(
        words.contains("A, on the bench, for big-drum: ready to fit, edge 1"),
        "{words}"
    );
    assert!(words.contains("this is the default"), "{words}");
}

#[test]
fn an_edge_that_nobody_has_seen_is_looked_at_first() {
    let shop = Shop::new();
    let rows = "date,event,machine,meter,set\n2025-03-01,touched up,big-drum,1210,A\n";
    shop.write("events.csv", rows);
    let words = answer(&shop.run(&["knives"]));
    assert!(words.contains("look at the edge first"), "{words}");
    let graded = answer(&shop.run(&["knives", "A", "--grade", "overrun"]));
    assert!(!graded.contains("look at the edge first"), "{graded}");
}

#[test]
fn what_cannot_be_meant_is_a_usage_error_that_says_what_can() {
    for (arguments, part) in [
        (&["Plumm"][..], "Blue, Dot, Plum"),
        (
            &["Plum", "--grade", "blunt"],
            "keen, working, dull or overrun",
        ),
        (&["Plum", "--width", "wide"], "24.6 mm"),
        (&["Plum", "--width", "500"], "at most 300 mm"),
        (&["Plum", "--flat", "0.4 mm"], "flat_when_dull"),
        (&["Plum", "--flat", "0.4 mm"], "shop.csv"),
        (&["Plum", "--nick", "-1"], "must be above zero"),
        (
            &["Plum", "--width", "250"],
            "steel does not grow: the log has 108.1 mm for set Plum; correct the log or the figure",
        ),
        (&["Plum", "--width", "108.4"], "steel does not grow"),
        (&["--cracked"], "<SET>"),
    ] {
        let output = demo(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(
            said(&output).contains(part),
            "{arguments:?}: {}",
            said(&output)
        );
    }
}

fn in_a_line(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_width_may_be_read_a_little_above_the_logs() {
    // 108.1 mm by the log.
    assert_eq!(status(&demo(&["Plum", "--width", "108.3"])), 0);
    // Nothing to hold it against.
    let shop = Shop::new();
    assert_eq!(status(&shop.run(&["knives", "A", "--width", "250 mm"])), 0);
}

#[test]
fn knives_that_do_not_match_are_named_so_before_anything() {
    let words = answer(&demo(&["Plum", "--unmatched"]));
    assert!(
        words.contains("Plum, in Heron, edge 1: not to be run until its knives match: regrind\n"),
        "{words}"
    );
    assert!(!answer(&demo(&["Plum"])).contains("until its knives match"));
}

#[test]
fn a_nick_that_manuals_allow_is_told_where_the_knives_may_run() {
    let told = "a nick: look for cracks before it runs; what it costs in chips and feed is not counted here";
    let nicked = answer(&demo(&["Plum", "--nick", "3 mm"]));
    assert!(in_a_line(&nicked).contains(told), "{nicked}");
    let caveats = one(&["Plum", "--nick", "3 mm"])["caveats"].clone();
    assert_eq!(caveats[0]["caveat"], "nick-not-costed");
    // Without a nick, and where they may not run at all.
    for flags in [
        &["Plum"][..],
        &["Plum", "--nick", "4 mm"],
        &["Plum", "--nick", "3 mm", "--unmatched"],
    ] {
        let words = in_a_line(&answer(&demo(flags)));
        assert!(!words.contains("a nick: look"), "{flags:?}: {words}");
    }
}

#[test]
fn how_far_below_the_discard_width_is_said_and_never_rounds_to_it() {
    let words = answer(&demo(&["Plum", "--width", "101.9"]));
    assert!(
        in_a_line(&words).contains("101.9 mm wide, 0.10 mm below the discard width of 102.0 mm"),
        "{words}"
    );
    let words = in_a_line(&answer(&demo(&["Plum", "--width", "101.98"])));
    assert!(
        words.contains("101.98 mm wide, below the discard width of 102.00 mm"),
        "{words}"
    );
    assert!(!words.contains("above the discard"), "{words}");
}

#[test]
fn choices_are_told_by_what_they_cost_more_than_the_best() {
    let set = one(&["Plum"]);
    let ranked = set["actions"].as_array().expect("actions");
    let more = |at: usize, part: &str| {
        ranked[at]["more_than_first"][part]
            .as_f64()
            .expect("a figure")
    };
    assert_eq!(
        (more(0, "estimate"), more(0, "lower"), more(0, "upper")),
        (0.0, 0.0, 0.0)
    );
    for at in 1..ranked.len() {
        // The difference of the means is the mean of the differences.
        let cost = |at: usize| {
            ranked[at]["cost_per_100_hours"]["estimate"]
                .as_f64()
                .expect("a figure")
        };
        assert!(
            (more(at, "estimate") - (cost(at) - cost(0))).abs() < 1e-6,
            "{at}"
        );
        // What all actions share is in the width of the cost, and not in that of the difference.
        let wide = |figure: &str| {
            let of = |part: &str| ranked[at][figure][part].as_f64().expect("a figure");
            of("upper") - of("lower")
        };
        assert!(wide("more_than_first") < wide("cost_per_100_hours"), "{at}");
    }
    let words = answer(&demo(&["Plum"]));
    let row = |label: &str| {
        words
            .lines()
            .find(|line| line.trim().starts_with(label))
            .expect("a row")
    };
    assert!(!row("keep running ").contains("more"), "{words}");
    assert!(row("flip").contains(" more (EUR "), "{words}");
    assert!(
        in_a_line(&words).contains("costs more than the advised one, once, over the knives' life"),
        "{words}"
    );
    assert!(!words.contains("next 100 wear hours"), "{words}");
    assert!(
        words.lines().all(|line| line.chars().count() <= 78),
        "{words}"
    );
    assert!(!words.contains("-0 %"), "{words}");
}

/// A keen look at an edge that has worked long leaves it well above half: the log weighs, too, and is told.
#[test]
fn a_look_is_told_beside_what_the_log_expects() {
    let by_log = one(&["Blue"]);
    assert!(by_log["wear_by_log"].is_null() && by_log["seen"] == serde_json::json!([]));
    let seen = one(&["Blue", "--grade", "keen"]);
    let wear = |of: &Value| of["estimate"].as_f64().expect("a fraction");
    assert_eq!(seen["wear_by_log"], by_log["wear"]);
    assert!(wear(&seen["wear"]) < wear(&by_log["wear"]), "{seen}");
    let words = answer(&demo(&["Blue", "--grade", "keen"]));
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let percent = |of: &Value| format!("{:.0} %", 100.0 * wear(of));
    let told = format!("The log alone has it at {}", percent(&by_log["wear"]));
    assert!(words.contains(&told), "{told}: {words}");
    assert!(words.contains("keen stands for under 50 %"), "{words}");
    assert!(words.contains("seen graded keen"), "{words}");
}

#[test]
fn no_choice_is_said_to_be_impossible() {
    let words = answer(&demo(&[]));
    assert!(words.contains("under 1 %"), "{words}");
    assert!(!words.contains(" 0 %\n"), "{words}");
}
