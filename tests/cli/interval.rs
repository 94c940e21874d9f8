//! The owner's question, asked of logs as crews have them.

use crate::support::{Shop, answer, is_estimate, json, keenspan, said, status};

fn demo(arguments: &[&str]) -> std::process::Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    keenspan(&[&["--log", log, "interval"], arguments].concat())
}

#[test]
fn an_empty_log_answers_with_the_default_and_says_so() {
    let shop = Shop::new();
    let output = shop.run(&["interval"]);
    assert_eq!(status(&output), 0);
    let words = answer(&output);
    assert!(words.contains("this is the default"), "{words}");
    // On the mean of eight seeds: where there are no data, draws alone move the answer by an hour.
    let of_seed = |seed: u64| {
        let answer = json(&shop.run(&["--json", "--seed", &seed.to_string(), "interval"]));
        let interval = &answer["answers"][0]["interval"];
        assert!(is_estimate(interval));
        interval["estimate"].as_f64().expect("hours")
    };
    let hours = (1..=8).map(of_seed).sum::<f64>() / 8.0;
    assert!((hours - 50.0).abs() < 3.0, "{hours}");
}

#[test]
fn the_demo_log_answers_for_both_machines_with_bounds_on_every_figure() {
    let whole = json(&demo(&["--json"]));
    let machines = whole["answers"].as_array().expect("machines");
    assert_eq!(machines.len(), 2);
    for machine in machines {
        for figure in ["interval", "cost_per_hour", "chance_dull", "chance_strike"] {
            assert!(
                is_estimate(&machine[figure]),
                "{figure}: {}",
                machine[figure]
            );
        }
        assert!(is_estimate(&machine["rule"]["extra_per_100_hours"]));
        assert_eq!(machine["by_wood"].as_array().expect("a table").len(), 8);
    }
    assert_eq!(whole["keenspan"]["command"], "interval");
}

#[test]
fn the_same_seed_gives_the_same_answer_to_the_last_letter() {
    assert_eq!(
        answer(&demo(&["--seed", "5"])),
        answer(&demo(&["--seed", "5"]))
    );
}

#[test]
fn dirtier_wood_is_answered_with_fewer_hours() {
    let hours = |dirt: &str| {
        let whole = json(&demo(&[
            "--json",
            "--machine",
            "Heron",
            "--wood",
            "oak",
            "--dirt",
            dirt,
        ]));
        whole["answers"][0]["interval"]["estimate"]
            .as_f64()
            .expect("hours")
    };
    assert!(
        hours("clean") > hours("dusty")
            && hours("dusty") > hours("dirty")
            && hours("dirty") > hours("gritty")
    );
}

#[test]
fn cautions_are_there_wherever_a_change_is_recommended() {
    let words = answer(&demo(&[]));
    for part in ["Engine off, key out", "gloves", "manual", "bed-knife gap"] {
        assert!(words.contains(part), "{part}");
    }
}

#[test]
fn an_unknown_machine_or_wood_is_a_usage_error_that_says_what_there_is() {
    let output = demo(&["--machine", "Heronn"]);
    assert_eq!(status(&output), 2);
    assert!(said(&output).contains("Heron, Nettle"));
    let output = demo(&["--wood", "wilow"]);
    assert_eq!(status(&output), 2);
    assert!(said(&output).contains("willow"));
    for (arguments, told) in [
        (
            &["--wood", "plastic"][..],
            "hardwood, softwood, palm or a species",
        ),
        (&["--dirt", "mudy"], "clean, dusty, dirty or gritty"),
        (&["--state", "wet"], "green, dry or frozen"),
        (&["--rule", "-5"], "must be above zero"),
    ] {
        let output = demo(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(said(&output).contains(told), "{}", said(&output));
    }
}

#[test]
fn a_rule_on_the_flat_part_is_said_to_be_within_it_and_dull_is_explained() {
    let words = answer(&demo(&[
        "--machine",
        "Heron",
        "--wood",
        "willow",
        "--dirt",
        "gritty",
    ]));
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("): within 2 % of the least"), "{words}");
    assert!(!words.contains("as good as the best"), "{words}");
    assert!(
        words.contains("running dull edges costs less than changing sooner"),
        "{words}"
    );
}

#[test]
fn a_fault_in_shop_csv_stops_the_answer() {
    let shop = Shop::new();
    shop.write("shop.csv", "key,value\nunits,furlongs\n");
    let output = shop.run(&["interval"]);
    assert_eq!(status(&output), 4);
    assert!(said(&output).contains("shop.csv"), "{}", said(&output));
}

#[test]
fn a_prior_pack_of_ones_own_moves_the_answer_and_a_broken_one_is_named() {
    let shop = Shop::new();
    let pack = include_str!("../../models/common-practice.toml");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let own = folder.path().join("own.toml");
    std::fs::write(
        &own,
        pack.replace(
            "likely = 55.0, low = 28.5, high = 106.0",
            "likely = 20.0, low = 15.0, high = 27.0",
        ),
    )
    .expect("a writable folder");
    let file = own.display().to_string();
    let whole = json(&shop.run(&["--json", "interval", "--priors", &file]));
    let hours = whole["answers"][0]["interval"]["estimate"]
        .as_f64()
        .expect("hours");
    assert!(hours < 30.0, "{hours}");
    std::fs::write(&own, pack.replace("sigma = {", "sigmo = {")).expect("a writable folder");
    let output = shop.run(&["interval", "--priors", &file]);
    assert_eq!(status(&output), 2);
    assert!(said(&output).contains("sigmo"), "{}", said(&output));
}

#[test]
fn where_no_planned_interval_pays_that_is_the_answer() {
    let shop = Shop::new();
    let costs = "key,value\nfield_delay_minutes,0\nwaiting_share,0\nstrike_damage,0\nfuel_litres_per_hour,0.001\n";
    shop.write("costs.csv", costs);
    let output = shop.run(&["interval"]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let words = answer(&output);
    assert!(
        words.contains("no planned interval pays at these costs"),
        "{words}"
    );
    assert!(words.contains("Engine off, key out"));
    assert!(json(&shop.run(&["--json", "interval"]))["answers"][0]["interval"].is_null());
}

#[test]
fn rows_set_aside_and_default_costs_are_told_beside_the_answer() {
    let words = answer(&demo(&[]));
    assert!(
        words.contains("could not be read and do not count: runs.csv 1"),
        "{words}"
    );
    assert!(words.contains("defaults, not yours, for"), "{words}");
}

#[test]
fn a_set_of_the_wrong_size_is_told_when_it_is_fitted() {
    let shop = Shop::new();
    shop.run(&[
        "add", "set", "--name", "odd", "--knives", "3", "--edges", "2",
    ]);
    let output = shop.run(&["add", "event", "fitted", "--set", "odd", "--meter", "1200"]);
    assert!(answer(&output).starts_with("! "), "{}", answer(&output));
    assert!(answer(&output).contains("3 knives and the machine carries 4"));
}

#[test]
fn figures_that_nobody_means_are_refused_with_what_would_be_right() {
    let shop = Shop::at_work();
    for (typed, right) in [
        ("interval --rule 1e308", "from 0.5 to 5,000 hours"),
        ("interval --rule 0.0001", "from 0.5 to 5,000 hours"),
        ("interval --hours-per-year 90000", "from 1 to 8,784 hours"),
        ("interval --try interval=0.001", "from 0.5 to 5,000 hours"),
        (
            "interval --try new_knife=1e308",
            "from 0 to 1,000,000,000; found 1e308",
        ),
        ("sets --turnaround 7 --at 0.0001", "from 0.5 to 5,000 hours"),
        (
            "sets --hours-per-year 400 --turnaround 1e308",
            "from 0 to 3,650 days",
        ),
        ("job --hours 0.0001", "at least 0.05 meter hours"),
        ("job --hours 1e308", "of 1e308 hours is too long"),
        (
            "replacement --shape 2 --life 1e308 --planned 1 --failure 5",
            "found 1e308",
        ),
        (
            "replacement --shape 2 --life 80 --planned 1e308 --failure 5",
            "from 0 to 1,000,000,000",
        ),
    ] {
        let output = shop.run(&typed.split(' ').collect::<Vec<_>>());
        assert_eq!(status(&output), 2, "{typed}");
        let said = said(&output);
        assert!(said.contains(right), "{typed}: {said}");
        // Told in a few letters.
        assert!(!said.contains("00000000000"), "{typed}: {said}");
        let figure = typed.rsplit(['=', ' ']).next().expect("a figure");
        let found = typed.contains("replacement") || said.contains(figure);
        assert!(found, "{typed}: {said}");
    }
}

#[test]
fn figures_in_the_tables_that_nobody_means_are_told_with_their_place() {
    let shop = Shop::at_work();
    let costs = shop.text("costs.csv");
    shop.write(
        "costs.csv",
        costs.replace("new_knife,,", "new_knife,10000000000,"),
    );
    let machines = shop.text("machines.csv");
    shop.write("machines.csv", machines.replace(",50,", ",0.0001,"));
    let told = answer(&shop.run(&["verify"]));
    for part in [
        "column \"value\": found \"10000000000\"; write money per knife, from 0 to 1,000,000,000",
        "column \"rule\": found \"0.0001\"; write hours from 0.5 to 5,000, such as 50",
    ] {
        assert!(told.contains(part), "{told}");
    }
}

#[test]
fn a_young_log_says_how_to_get_the_budget_of_a_year() {
    let shop = Shop::at_work();
    let whole = json(&shop.run(&["--json", "interval"]));
    assert!(whole["answers"][0]["year"].is_null());
    let words = answer(&shop.run(&["interval"]));
    assert!(words.contains("interval --hours-per-year HOURS"), "{words}");
    let told = ["interval", "--hours-per-year", "400"];
    let words = answer(&shop.run(&told));
    assert!(words.contains("a year of 400 meter hours"), "{words}");
    let whole = json(&shop.run(&[&["--json"], &told[..]].concat()));
    let year = &whole["answers"][0]["year"];
    assert_eq!(year["recommended"]["hours"], 400.0);
    for budget in [&year["recommended"], &year["today"]] {
        assert!(is_estimate(&budget["total"]), "{budget}");
    }
    // What is told stands before the pace of the log, too.
    let paced = json(&demo(&["--json", "--hours-per-year", "500"]));
    assert_eq!(paced["answers"][0]["year"]["recommended"]["hours"], 500.0);
}
