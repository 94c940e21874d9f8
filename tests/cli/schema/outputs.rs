//! What every command prints, on logs of every kind.

use super::{DEMO, MODEL, printed};
use crate::support::{Shop, said, status};
use std::collections::BTreeSet;

/// Every decision, with options.
const DECISIONS: [&str; 22] = [
    "interval",
    "interval --rule 40 --wood willow --dirt gritty --state frozen",
    "interval --try waiting_share=0.5 --try interval=30",
    "interval --try dirt=dirty --try wood=oak",
    "interval --units metric --seed 7",
    "due",
    "due --dirt gritty",
    "due --wood willow --state frozen",
    "knives",
    "knives --units metric",
    "job --machine MACHINE --hours 12 --dirt gritty",
    "job --machine MACHINE --hours 3 --risk 1 --fresh",
    "sets --turnaround 14 --hours-per-year 350",
    "sets --turnaround 30 --risk 20 --hours-per-year 400",
    "sets --turnaround 14 --at 40 --hours-per-year 400",
    "drift",
    "drift --seed 3",
    "replacement --shape 2.5 --life 1000 --planned 1 --failure 5",
    "replacement --shape 3 --life 80 --planned 5 --failure 4",
    "replacement --distribution lognormal --sigma 0.5 --life 80 --planned 1 --failure 4",
    "replacement --shape 3 --life 80 --planned 1 --failure 4 --strike-rate 0.01 --strike 9",
    "replacement --shape 3 --life 80 --planned 0 --failure 4",
];

/// Asks every decision of one log, jobs of one machine, and returns which answered.
fn every_decision(log: &str, machine: &str) -> BTreeSet<String> {
    let typed = DECISIONS
        .iter()
        .map(|typed| typed.replace("MACHINE", machine));
    let told = typed.filter_map(|typed| printed(log, &typed));
    told.map(|output| output["decision"].as_str().expect("a name").to_string())
        .collect()
}

const ALL: [&str; 7] = [
    "drift",
    "due",
    "interval",
    "job",
    "knives",
    "replacement",
    "sets",
];

#[test]
fn every_decision_on_the_demo_is_as_published() {
    let told = every_decision(DEMO, "Heron");
    assert!(told.iter().eq(ALL), "{told:?}");
}

#[test]
fn every_decision_on_a_log_without_a_row_is_as_published() {
    let shop = Shop::new();
    let told = every_decision(&shop.log().display().to_string(), "big-drum");
    assert!(told.iter().eq(ALL), "{told:?}");
    let due = printed(&shop.log().display().to_string(), "due").expect("an answer");
    assert!(
        due["answers"][0]["edge"].is_null() && due["answers"][0]["no_mark_because"].is_string()
    );
}

#[test]
fn every_decision_on_a_log_that_broke_something_is_as_published() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/broke-it/");
    for log in ["inch-mark-closes-a-quote", "inch-mark-in-the-same-row"] {
        let told = every_decision(&format!("{folder}{log}"), "big");
        assert!(told.iter().eq(ALL), "{log}: {told:?}");
    }
}

#[test]
fn every_decision_on_a_small_log_with_a_strike_and_a_set_thrown_away_is_as_published() {
    let shop = Shop::at_work();
    for row in [
        "run --hours 9 --wood oak --dirt dirty --date 2026-03-03",
        "event flipped --set A --meter 1290 --date 2026-03-09 --grade dull",
        "event struck --set A --meter 1300 --date 2026-03-11",
        "set --name B --knives 4 --edges 2",
        "event discarded --set B --date 2026-03-12",
    ] {
        let typed: Vec<&str> = row.split(' ').collect();
        let output = shop.run(&[&["add"], typed.as_slice()].concat());
        assert_eq!(status(&output), 0, "{row}: {}", said(&output));
    }
    let log = shop.log().display().to_string();
    let told = every_decision(&log, "big-drum");
    assert!(told.iter().eq(ALL), "{told:?}");
    let knives = printed(&log, "knives").expect("an answer");
    assert_eq!(knives["answers"][1]["discarded"], true);
    assert!(knives["answers"][1]["stock"].is_null());
}

#[test]
fn where_no_planned_change_pays_the_answers_are_as_published() {
    let shop = Shop::at_work();
    let costs = "key,value\nfield_delay_minutes,0\nwaiting_share,0\nstrike_damage,0\nfuel_litres_per_hour,0.001\n";
    shop.write("costs.csv", costs);
    let log = shop.log().display().to_string();
    every_decision(&log, "big-drum");
    let interval = printed(&log, "interval").expect("an answer");
    let answer = &interval["answers"][0];
    assert!(answer["interval"].is_null() && answer["rule"].is_null());
    assert!(answer["cost_per_hour_when_called"].is_number());
}

/// Priors for the invented edges of tests/reference/changing_exposure.
const PRIORS: &str = "log_eta = { mean = 2.7, sd = 0.6 }
log_kappa = { mean = 0.7, sd = 0.3 }
beta = [ { name = \"hard\", mean = 0.3, sd = 0.2 }, { name = \"dirt\", mean = 0.7, sd = 0.4 }, { name = \"frozen\", mean = 0.1, sd = 0.2 } ]
sigma_b = { half_normal = 0.3 }
log_lambda = { mean = -4.6, sd = 1.0 }
";

#[test]
fn commands_that_decide_nothing_print_what_is_published_of_them() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = |name: &str| folder.path().join(name).display().to_string();
    let tables = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/published");
    let exposure = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/changing_exposure"
    );
    std::fs::write(out("priors.toml"), PRIORS).expect("a writable folder");
    for typed in [
        format!(
            "new {} --machine big --rotor drum --knives 4 --edges 2 --meter 1200",
            out("log")
        ),
        "verify".to_string(),
        "fit --posterior laplace".to_string(),
        format!("report --out {}", out("report.html")),
        format!("report --pictures {}", out("pictures")),
        format!("card --out {} --model {MODEL}", out("card.html")),
        format!("card --set Red --out {} --model {MODEL}", out("set.html")),
        format!("man --out {}", out("man")),
        "completions bash".to_string(),
        format!("lifedata {tables}/simulated_units_stopped_at_500.csv"),
        format!("lifedata {tables}/no_failures.csv"),
        format!(
            "lifedata {exposure}/edges.csv --segments {exposure}/runs.csv --group machine \
             --priors {} --posterior laplace",
            out("priors.toml")
        ),
    ] {
        let output = printed(DEMO, &typed).expect("an answer");
        let card = typed.starts_with("card");
        assert_eq!(output["decision"].is_string(), card, "{typed}");
    }
}
