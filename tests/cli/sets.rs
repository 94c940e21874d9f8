//! How many sets to own, asked of logs as crews have them.

use crate::support::{Shop, answer, is_estimate, json, keenspan, said, status};
use serde_json::Value;

fn demo(arguments: &str) -> std::process::Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    let typed = arguments.split_whitespace();
    keenspan(
        &["--log", log, "sets"]
            .into_iter()
            .chain(typed)
            .collect::<Vec<_>>(),
    )
}

fn first(output: &std::process::Output) -> Value {
    json(output)["answers"][0].clone()
}

#[test]
fn the_demo_log_answers_for_both_machines_with_bounds_on_every_figure() {
    let whole = json(&demo("--turnaround 14 --json"));
    let machines = whole["answers"].as_array().expect("machines");
    assert_eq!(machines.len(), 2);
    let mut needed = 0;
    for machine in machines {
        for figure in ["sets", "sets_away_a_year", "upkeep_a_year"] {
            assert!(
                is_estimate(&machine[figure]),
                "{figure}: {}",
                machine[figure]
            );
        }
        for figure in ["changes", "edges_ground", "knives_bought", "total"] {
            assert!(is_estimate(&machine["year"][figure]), "{figure}");
        }
        for row in machine["by_sets"].as_array().expect("rows") {
            assert!(is_estimate(&row["chance_none_ready"]), "{row}");
        }
        needed += machine["sets"]["estimate"].as_u64().expect("sets");
    }
    assert_eq!(whole["sets_in_all"].as_u64(), Some(needed));
    let words = answer(&demo("--turnaround 14"));
    for part in [
        "Heron: own 2 matched sets",
        "(Red, Blue, White, Plum): enough",
        "Engine off, key out",
        "All machines: ",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
}

#[test]
fn longer_away_or_less_risk_takes_more_sets() {
    let sets = |arguments: &str| {
        first(&demo(&format!("--json --machine Heron {arguments}")))["sets"]["estimate"]
            .as_u64()
            .expect("sets")
    };
    assert_eq!(sets("--turnaround 0"), 1);
    assert!(sets("--turnaround 100") > sets("--turnaround 14"));
    assert!(sets("--turnaround 100 --risk 0.1%") > sets("--turnaround 100 --risk 50"));
    assert!(sets("--turnaround 60 --at 10") > sets("--turnaround 60"));
}

#[test]
fn what_is_missing_or_wrong_is_said_with_what_would_be_right() {
    for (arguments, says) in [
        ("", "--turnaround is missing"),
        ("--turnaround -3", "zero or more"),
        ("--turnaround 14 --risk 0", "between 0.1 and 50"),
        ("--turnaround 14 --risk 0.05", "give percent: 5"),
        ("--turnaround two", "write a number"),
        ("--turnaround 14 --machine Otter", "Heron, Nettle"),
        ("--turnaround 3000", "Look at --turnaround"),
        ("--turnaround 9000", "from 0 to 3,650 days"),
    ] {
        let output = demo(arguments);
        assert_eq!(status(&output), 2, "{arguments}");
        assert!(
            said(&output).contains(says),
            "{arguments}: {}",
            said(&output)
        );
    }
    let output = Shop::new().run(&["sets", "--turnaround", "14"]);
    assert_eq!(status(&output), 2);
    assert!(
        said(&output).contains("--hours-per-year"),
        "{}",
        said(&output)
    );
}

#[test]
fn sets_count_once_they_have_worked_and_until_they_are_discarded() {
    let shop = Shop::new();
    let ask = || shop.run(&["sets", "--turnaround", "14", "--hours-per-year", "400"]);
    let words = answer(&ask());
    assert!(words.contains("this is the default"), "{words}");
    assert!(words.contains("two short"), "{words}");
    assert!(words.contains("never fitted: A"), "{words}");
    shop.run(&["add", "event", "fitted", "--set", "A", "--meter", "1200"]);
    let words = answer(&ask());
    assert!(
        words.contains("1 set that worked in it (A): one short"),
        "{words}"
    );
    shop.run(&["add", "event", "discarded", "--set", "A"]);
    let words = answer(&ask());
    assert!(
        words.contains("two short") && !words.contains("(A)"),
        "{words}"
    );
}
