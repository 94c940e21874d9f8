//! The operator's question: what to write on the machine.

use crate::support::{Shop, answer, json, keenspan, said, status};
use serde_json::Value;
use std::path::Path;

fn demo(arguments: &[&str]) -> std::process::Output {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    keenspan(&[&["--log", log, "due"], arguments].concat())
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn the_demo_has_a_mark_for_each_machine_with_bounds() {
    let whole = json(&demo(&["--json"]));
    for machine in whole["answers"].as_array().expect("machines") {
        let due = &machine["ahead"][0]["due"];
        let mark = &due["mark"];
        assert!(number(&mark["lower"]) <= number(&mark["estimate"]));
        assert!(number(&mark["estimate"]) <= number(&mark["upper"]));
        let left = number(&due["hours_left"]["estimate"]);
        assert!((number(&mark["estimate"]) - number(&machine["meter"]) - left).abs() < 1e-9);
        assert_eq!(machine["by_dirt"].as_array().expect("classes").len(), 4);
    }
    assert_eq!(whole["keenspan"]["command"], "due");
    // In words as well: a mark for each class of dirt, one after the other.
    let words = answer(&demo(&[]));
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let dirt = words.split("by dirt").skip(1);
    assert_eq!(dirt.clone().count(), 2, "{words}");
    for line in dirt {
        let places = [
            "clean ",
            "dusty ",
            "dirty ",
            "gritty ",
            "; if all that comes",
        ];
        let places = places.map(|word| line.find(word).expect("every class"));
        assert!(places.is_sorted() && places[4] < 400, "{line}");
    }
}

#[test]
fn dirtier_work_ahead_and_a_later_reading_leave_fewer_hours() {
    let left = |arguments: &[&str], place: usize| {
        let whole = json(&demo(
            &[&["--json", "--machine", "Heron"], arguments].concat(),
        ));
        let answer = &whole["answers"][0];
        (
            number(&answer["ahead"][place]["due"]["hours_left"]["estimate"]),
            number(&answer["meter"]),
        )
    };
    let (usual, meter) = left(&[], 0);
    let (gritty, _) = left(&["--dirt", "gritty"], 0);
    // The wood of the last weeks stands beside what is planned.
    assert_eq!(left(&["--dirt", "gritty"], 1).0, usual);
    assert!(gritty < usual, "{gritty} {usual}");
    let later = format!("{}", meter + 20.0);
    let (after, reads) = left(&["--meter", &later], 0);
    assert!((reads - meter - 20.0).abs() < 1e-9);
    assert!(after < usual - 10.0, "{after} {usual}");
}

/// The mark on the machine holds until the meter reads it, whatever readings are typed on the way; then it is past.
#[test]
fn readings_typed_on_the_way_leave_the_mark_where_it_was() {
    let ahead = |meter: f64| {
        let meter = format!("{meter:.1}");
        let arguments = ["--json", "--machine", "Heron", "--meter", &meter];
        json(&demo(&arguments))["answers"][0]["ahead"][0].clone()
    };
    let mark = number(&ahead(2224.0)["due"]["mark"]["estimate"]);
    for meter in (0..8).map(|step| 2228.0 + 8.0 * f64::from(step)) {
        let now = ahead(meter);
        let found = number(&now["due"]["mark"]["estimate"]);
        assert!((found - mark.max(meter)).abs() < 0.3, "{meter}: {found}");
        let was = now["was_due_at"]["estimate"].as_f64();
        assert_eq!(was.is_some(), meter > mark, "{meter}: {now}");
        assert!(was.is_none_or(|was| (was - mark).abs() < 0.3), "{now}");
    }
}

/// In other wood than it worked in, too, the reading at which it was due is one that the meter showed.
#[test]
fn what_was_due_in_other_wood_is_a_reading_of_the_past() {
    let was_due = |meter: &str| {
        let heron = ["--json", "--machine", "Heron", "--dirt", "gritty"];
        let due = json(&demo(&[&heron[..], &["--meter", meter]].concat()));
        due["answers"][0]["ahead"][0]["was_due_at"]["estimate"].as_f64()
    };
    let read = ["2290", "2294", "2300", "2320"].map(|meter| was_due(meter).expect("past"));
    for was in read {
        assert!((was - read[0]).abs() < 0.2, "{read:?}");
    }
}

#[test]
fn a_fresh_edge_is_due_after_the_interval_for_its_wood() {
    let shop = Shop::at_work();
    let due = json(&shop.run(&["--json", "due"]));
    let interval = json(&shop.run(&["--json", "interval"]));
    let left = number(&due["answers"][0]["ahead"][0]["due"]["hours_left"]["estimate"]);
    let hours = number(&interval["answers"][0]["interval"]["estimate"]);
    assert!((left / hours - 1.0).abs() < 0.02, "{left} {hours}");
}

#[test]
fn an_edge_that_nobody_wrote_down_has_no_mark_and_says_what_to_do() {
    let shop = Shop::new();
    let output = shop.run(&["due"]);
    assert_eq!(status(&output), 3);
    let words = answer(&output)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(
        words.contains("no row of the log says which edge is at work"),
        "{words}"
    );
    assert!(words.contains("add event fitted"), "{words}");
}

#[test]
fn a_struck_edge_is_looked_at_before_anything_else() {
    let shop = Shop::at_work();
    shop.run(&[
        "add",
        "run",
        "--hours",
        "6",
        "--wood",
        "oak",
        "--dirt",
        "clean",
        "--date",
        "2026-03-02",
    ]);
    shop.run(&[
        "add",
        "event",
        "struck",
        "--meter",
        "1254",
        "--date",
        "2026-03-02",
    ]);
    let words = answer(&shop.run(&["due"]));
    assert!(words.contains("not to be run: A was struck"), "{words}");
    assert!(words.contains("rotor lock"), "{words}");
}

#[test]
fn a_reading_before_the_log_ends_is_refused() {
    let output = demo(&["--machine", "Heron", "--meter", "100"]);
    assert_eq!(status(&output), 2);
    assert!(said(&output).contains("give what the meter reads now"));
}

#[test]
fn the_headline_is_the_mark_for_the_planned_wood() {
    let arguments = ["--machine", "Heron", "--wood", "oak", "--dirt", "gritty"];
    let whole = json(&demo(&[&["--json"], &arguments[..]].concat()));
    let ahead = &whole["answers"][0]["ahead"];
    let mark = |place: usize| number(&ahead[place]["due"]["mark"]["estimate"]);
    assert_eq!(ahead[0]["conditions"], "in gritty, green oak");
    assert!(mark(0) < mark(1), "{ahead}");
    let words = answer(&demo(&arguments));
    assert!(
        words.contains(&format!("Heron: write {:.1} on", mark(0))),
        "{words}"
    );
    let beside = format!("last four weeks: {:.1}", mark(1));
    let in_a_line: Vec<&str> = words.split_whitespace().collect();
    assert!(in_a_line.join(" ").contains(&beside), "{beside}: {words}");
}

#[test]
fn a_reading_typed_beside_a_log_without_any_is_the_present_meter() {
    let shop = Shop::new();
    let machines = shop.text("machines.csv").replace(",1200,", ",,");
    shop.write("machines.csv", machines);
    shop.write(
        "events.csv",
        "date,event,machine,set\n2026-03-02,fitted,big-drum,A\n",
    );
    shop.write(
        "runs.csv",
        "date,machine,hours,wood,dirt\n2026-03-02,big-drum,6,oak,dusty\n",
    );
    let whole = json(&shop.run(&["--json", "due"]))["answers"][0].clone();
    assert!(
        whole["meter"].is_null() && whole["meter_only_typed"] == false,
        "{whole}"
    );
    let typed = ["due", "--machine", "big-drum", "--meter", "1312"];
    let due = json(&shop.run(&[&["--json"], &typed[..]].concat()))["answers"][0].clone();
    assert_eq!(
        (&due["meter"], &due["meter_only_typed"]),
        (&1312.0.into(), &true.into())
    );
    let first = &due["ahead"][0]["due"];
    let left = number(&first["hours_left"]["estimate"]);
    assert!((number(&first["mark"]["estimate"]) - 1312.0 - left).abs() < 1e-9);
    let words = answer(&shop.run(&typed));
    let in_a_line = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        in_a_line.contains("worked since its last run are not known"),
        "{words}"
    );
}

#[test]
fn a_reading_that_no_meter_shows_is_refused() {
    let commas = json(&demo(&[
        "--json",
        "--machine",
        "Heron",
        "--meter",
        "2250,5",
    ]));
    assert_eq!(commas["answers"][0]["meter"], 2250.5);
    let below = demo(&["--machine", "Heron", "--meter", "-5"]);
    assert!(said(&below).contains("such as 1263.4"), "{}", said(&below));
    for reading in ["1e9", "1000001", "NaN", "inf"] {
        let output = demo(&["--machine", "Heron", "--meter", reading]);
        assert_eq!(status(&output), 2, "{reading}");
        assert!(
            said(&output).contains("no hour meter reads that"),
            "{}",
            said(&output)
        );
    }
    let digit_too_many = demo(&["--machine", "Heron", "--meter", "22900"]);
    assert_eq!(status(&digit_too_many), 2);
    let error = said(&digit_too_many);
    let error = error.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(error.contains("look for a digit too many"), "{error}");
    assert!(error.contains("last reading of 2223.4"), "{error}");
}

#[test]
fn an_overdue_edge_tells_the_reading_at_which_it_was_due() {
    let arguments = ["--machine", "Heron", "--meter", "2500"];
    let due = json(&demo(&[&["--json"], &arguments[..]].concat()))["answers"][0].clone();
    let ahead = &due["ahead"][0];
    let overdue = number(&ahead["due"]["overdue"]["estimate"]);
    let was_due = number(&ahead["was_due_at"]["estimate"]);
    assert!(
        overdue > 50.0 && (was_due + overdue - 2500.0).abs() < 1e-9,
        "{due}"
    );
    let words = answer(&demo(&arguments));
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(&format!("was due at about {was_due:.1}")),
        "{words}"
    );
    assert!(
        words.contains("that is past") && !words.contains("earliest"),
        "{words}"
    );
    // Far beyond where crews call an edge something is missing.
    assert!(words.contains("may be missing in the log"), "{words}");
    // Not due yet: nothing is past.
    assert!(json(&demo(&["--json"]))["answers"][0]["ahead"][0]["was_due_at"].is_null());
}

/// Just past the mark some draws have it yet to come: the latest reading lies as far ahead as hours may be left.
#[test]
fn the_bounds_of_when_it_was_due_reach_ahead_while_hours_may_be_left() {
    let arguments = ["--json", "--machine", "Nettle", "--meter", "337"];
    let due = json(&demo(&arguments))["answers"][0].clone();
    let ahead = &due["ahead"][0];
    let left = number(&ahead["due"]["hours_left"]["upper"]);
    assert!(left > 0.0 && number(&ahead["due"]["hours_left"]["estimate"]) == 0.0);
    let was_due = |part: &str| number(&ahead["was_due_at"][part]);
    assert!((was_due("upper") - 337.0 - left).abs() < 1e-9, "{due}");
    assert!(was_due("lower") < was_due("estimate") && was_due("estimate") < 337.0);
}

/// An edge that goes back in dull was due before it did, at no reading of this stay.
#[test]
fn an_edge_that_was_due_when_it_went_in_says_so() {
    let log = tempfile::tempdir().expect("a folder");
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo-riverbank");
    for file in std::fs::read_dir(demo).expect("the demo") {
        let file = file.expect("a file");
        std::fs::copy(file.path(), log.path().join(file.file_name())).expect("a copy");
    }
    let log = log.path().display().to_string();
    let flip = "add event flipped --machine Nettle --meter 339.1 --grade dull --date 2026-11-03";
    let flip: Vec<&str> = flip.split(' ').collect();
    let flipped = keenspan(&[&["--log", &log], &flip[..]].concat());
    assert_eq!(status(&flipped), 0, "{}", said(&flipped));
    let due = answer(&keenspan(&["--log", &log, "due", "--machine", "Nettle"]));
    let words = due.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("it was due already when it went in"),
        "{words}"
    );
    assert!(!words.contains("it was due at about"), "{words}");
    let due = json(&keenspan(&[
        "--log",
        &log,
        "--json",
        "due",
        "--machine",
        "Nettle",
    ]));
    let ahead = &due["answers"][0]["ahead"][0];
    assert!(ahead["was_due_at"].is_null(), "{ahead}");
    assert!(
        number(&ahead["due"]["overdue"]["estimate"]) > 0.0,
        "{ahead}"
    );
}

/// `due` says when, `knives` says what then: neither may order what the other does not.
#[test]
fn the_mark_leaves_what_is_done_then_to_knives() {
    let due = json(&demo(&["--json", "--machine", "Nettle", "--meter", "340"]));
    let due = due["answers"][0].clone();
    assert!(!due["ahead"][0]["due"]["overdue"].is_null(), "{due}");
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    let set = due["set"].as_str().expect("a set");
    let advised = answer(&keenspan(&["--log", log, "knives", set]));
    assert!(advised.contains("touch up in place"), "{advised}");
    for arguments in [&[][..], &["--dirt", "gritty"]] {
        let late = ["--machine", "Nettle", "--meter", "340"];
        let words = answer(&demo(&[&late[..], arguments].concat()));
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            !words.to_lowercase().contains("change the knives"),
            "{words}"
        );
        assert!(words.contains("Stop for the knives now"), "{words}");
        for choice in ["touch-up", "flip", "regrind", "new knives"] {
            assert!(words.contains(choice), "{choice}: {words}");
        }
        // Nobody is told to stop and that it may run on; and knives goes by what is in the log.
        assert!(!words.contains("run on"), "{words}");
        assert!(words.contains("into the log first"), "{words}");
        assert!(words.contains(&format!("knives {set} says")), "{words}");
    }
    let not_yet = answer(&demo(&["--machine", "Heron"]));
    assert!(not_yet.contains("the knives are due when"), "{not_yet}");
    assert!(not_yet.contains("touch-up"), "{not_yet}");
    let not_yet = not_yet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(not_yet.contains("may run on"), "{not_yet}");
    assert!(!not_yet.contains("into the log first"), "{not_yet}");
}

/// Whole hours where the crew reads whole hours, tenths where it reads tenths.
#[test]
fn marks_are_as_the_meter_is_read() {
    let shop = Shop::at_work();
    let run = "add run --hours 6.5 --wood oak --dirt dusty --date 2026-03-02";
    assert_eq!(status(&shop.run(&run.split(' ').collect::<Vec<_>>())), 0);
    let readings = |arguments: &[&str]| {
        let whole = json(&shop.run(&[&["--json"], arguments].concat()))["answers"][0].clone();
        let mark = &whole["ahead"][0]["due"]["mark"];
        (answer(&shop.run(arguments)), number(&mark["estimate"]))
    };
    let (words, mark) = readings(&["due"]);
    assert!(words.contains(&format!("write {mark:.0} on")), "{words}");
    assert!(!words.contains(&format!("{mark:.1}")), "{words}");
    let (words, mark) = readings(&["due", "--machine", "big-drum", "--meter", "1257.5"]);
    assert!(words.contains(&format!("write {mark:.1} on")), "{words}");
}

/// Whoever called an edge dull is told that it was heard, and what to do where the mark says later.
#[test]
fn an_edge_that_somebody_called_dull_says_so() {
    let shop = Shop::at_work();
    let run = "add run --machine big-drum --hours 20 --wood oak --dirt clean --date 2026-03-03";
    let arguments: Vec<&str> = run.split(' ').collect();
    assert_eq!(status(&shop.run(&arguments)), 0);
    let due = |arguments: &[&str]| shop.run(&[&["due"], arguments].concat());
    let before = json(&due(&["--json"]))["answers"][0].clone();
    assert!(before["last_look"].is_null(), "{before}");
    assert!(!answer(&due(&[])).contains("looked at"));

    let noticed = ["add", "event", "noticed dull", "--set", "A"];
    let there = ["--meter", "1270", "--date", "2026-03-03"];
    assert_eq!(status(&shop.run(&[&noticed[..], &there].concat())), 0);
    let after = json(&due(&["--json"]))["answers"][0].clone();
    assert_eq!(after["last_look"]["saw"], "noticed dull");
    assert!((number(&after["last_look"]["at_hours"]) - 20.0).abs() < 1e-9);
    let left = |answer: &Value| number(&answer["ahead"][0]["due"]["hours_left"]["estimate"]);
    assert!(left(&after) < left(&before), "{after}");
    let words = |output| {
        let words = answer(&output);
        words.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let told = words(due(&[]));
    let seen = "looked at noticed dull in the cut after 20 hours on this edge in all";
    assert!(told.contains(seen), "{told}");
    let called = "somebody has called this edge dull. An eye may be off";
    assert!(told.contains(called), "{told}");
    assert!(
        told.find(called) < told.find("hour meter 1270 now"),
        "{told}"
    );
    let knives = words(shop.run(&["knives", "A"]));
    assert!(knives.contains(seen), "{knives}");
    let set = json(&shop.run(&["knives", "A", "--json"]))["answers"][0].clone();
    assert_eq!(set["last_look"], after["last_look"]);
    // Where running on is advised all the same, the mechanic is told so; else the advice says it.
    let runs_on = set["best"] == "keep-running";
    assert_eq!(knives.contains(called), runs_on, "{knives}");

    // The page of all machines says so too, beside the mark.
    let page = shop.log().join("page.html");
    let out = page.display().to_string();
    assert_eq!(status(&shop.run(&["report", "--out", &out])), 0);
    let page = std::fs::read_to_string(&page).expect("a page");
    assert!(page.contains("Somebody has called this edge dull. An eye may be off"));

    // Touched up since, it is not as it was called.
    let touched = ["add", "event", "touched up", "--set", "A"];
    assert_eq!(status(&shop.run(&[&touched[..], &there].concat())), 0);
    let told = words(due(&[]));
    assert!(!told.contains(called), "{told}");
    assert!(
        told.contains(&format!("{seen}; touched up since")),
        "{told}"
    );
}
