//! Rows that speak of a strike, of damage or of knives that do not match: whatever became of the row, the set
//! gets no hours before somebody qualified has looked.

use crate::support::{Shop, answer, json, said, status};
use crate::unfit::{add, one_line, stands_still, worked};
use serde_json::Value;

const STRUCK: &str = "A was struck, and nobody qualified has looked it over";

fn knives(shop: &Shop, set: &str) -> Value {
    json(&shop.run(&["--json", "knives", set]))["answers"][0].clone()
}

/// Whether `due` gives a mark.
fn has_hours(shop: &Shop) -> bool {
    let due = json(&shop.run(&["--json", "due"]))["answers"][0].clone();
    due["ahead"][0]["due"]["mark"]["estimate"].is_number()
}

fn written(shop: &Shop, file: &str, row: &str) {
    let text = shop.text(file);
    shop.write(file, text + row + "\n");
}

/// Nothing is ranked before the look.
fn waits(shop: &Shop, set: &str, must_not: &str) {
    let knives = knives(shop, set);
    assert!(knives["best"].is_null(), "{knives}");
    assert_eq!(knives["actions"], Value::Array(Vec::new()), "{knives}");
    assert_eq!(knives["advice"], "have it inspected before anything");
    assert_eq!(knives["must_not"][0]["must_not"], must_not, "{knives}");
}

#[test]
fn a_strike_on_a_set_that_is_not_in_stops_it_and_the_one_that_is() {
    let shop = worked("110 mm", "4");
    written(&shop, "sets.csv", "B,4,2,110 mm");
    add(
        &shop,
        &["event struck --set B --meter 1256 --date 2026-03-02"],
    );
    stands_still(&shop, "run-uninspected", STRUCK);
    waits(&shop, "A", "run-uninspected");
    waits(&shop, "B", "run-uninspected");
}

#[test]
fn a_strike_written_the_day_after_the_set_came_out_stays_with_it_through_a_grind() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &[
            "event pulled --meter 1256 --date 2026-03-02 --grade working",
            "event struck --set A --date 2026-03-03",
            "event reground --set A --date 2026-03-04 --stock-removed 0.5_mm",
            "event fitted --set A --meter 1256 --date 2026-03-05",
        ],
    );
    stands_still(&shop, "run-uninspected", STRUCK);
    waits(&shop, "A", "run-uninspected");
    add(
        &shop,
        &[
            "event checked --set A --meter 1256 --date 2026-03-05 --note inspected,_sound_but_two_bolts_bent",
        ],
    );
    assert!(!has_hours(&shop));
    add(
        &shop,
        &["event checked --set A --meter 1256 --date 2026-03-06 --note inspected,_sound"],
    );
    assert!(has_hours(&shop));
}

#[test]
fn a_nick_deeper_than_the_grind_is_still_there() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &[
            "event pulled --meter 1256 --date 2026-03-02 --grade working --nick 4_mm",
            "event reground --set A --date 2026-03-03 --stock-removed 0.5_mm",
            "event fitted --set A --meter 1256 --date 2026-03-04",
        ],
    );
    stands_still(&shop, "nick-too-deep", "a nick of 0.138 in in A");
}

#[test]
fn damage_in_the_note_of_a_run_stops_the_set_that_was_in() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &["run --start 1256 --end 1257 --wood oak --date 2026-03-03 --note knife_2_craked"],
    );
    stands_still(
        &shop,
        "run-doubted",
        "runs.csv line 3 speaks of damage in A",
    );
    waits(&shop, "A", "run-doubted");
    let words = one_line(&answer(&shop.run(&["due"])));
    assert!(words.contains("--note \"inspected, sound\""), "{words}");
    add(
        &shop,
        &["event checked --set A --meter 1257 --date 2026-03-04 --note inspected,_sound"],
    );
    assert!(has_hours(&shop));
}

#[test]
fn a_row_that_cannot_be_read_stops_the_set_where_it_speaks_of_a_strike() {
    for row in [
        "2026-03-02,struck,big-drum,1255,A,,,,,deep,,,",
        "2026-03-02,struk,big-drum,1255,,,,,,,,,hit a stone",
        "2026-03-02,checked,big-drum,1255,A,,fine,,,,,,knife 1 cracked",
        "2026-03-02,checked,big-drum,1255,A,,,,,,,,knife 1, cracked",
    ] {
        let shop = worked("110 mm", "4");
        written(&shop, "events.csv", row);
        let why =
            "events.csv line 3, a row that could not be read, speaks of a strike or of damage in A";
        stands_still(&shop, "run-doubted", why);
        let words = one_line(&answer(&shop.run(&["due"])));
        assert!(words.contains("Put the row right, too"), "{words}");
        add(
            &shop,
            &["event checked --set A --meter 1256 --date 2026-03-03 --note inspected,_sound"],
        );
        assert!(has_hours(&shop), "{row}");
    }
}

#[test]
fn knives_noted_as_unmatched_stand_still_until_they_match() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &[
            "event checked --set A --meter 1256 --date 2026-03-02 --note knife_3_is_new,_does_not_match",
        ],
    );
    let why = "events.csv line 3 says that the knives of A do not match";
    stands_still(&shop, "run-unmatched", why);
    assert_eq!(knives(&shop, "A")["best"], "regrind");
    add(
        &shop,
        &["event checked --set A --meter 1256 --date 2026-03-03 --note matched"],
    );
    assert!(has_hours(&shop));
}

#[test]
fn a_typed_nick_shallower_than_the_one_in_the_log_is_refused() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &["event checked --meter 1256 --date 2026-03-02 --nick 3_mm"],
    );
    let refused = shop.run(&["knives", "A", "--nick", "1 mm"]);
    assert_eq!(status(&refused), 2);
    let why = said(&refused);
    assert!(why.contains("a nick does not close"), "{why}");
    assert_eq!(status(&shop.run(&["knives", "A", "--nick", "3 mm"])), 0);
    add(
        &shop,
        &["event reground --set A --date 2026-03-03 --stock-removed 1_mm"],
    );
    assert_eq!(status(&shop.run(&["knives", "A", "--nick", "1 mm"])), 0);
}

#[test]
fn what_must_not_be_done_is_said_even_where_costs_are_refused() {
    let shop = worked("110 mm", "4");
    let costs = shop.text("costs.csv");
    let free = costs.lines().map(|line| {
        let mut cells: Vec<&str> = line.split(',').collect();
        if line != "key,value,unit,note" {
            cells[1] = "0";
        }
        cells.join(",") + "\n"
    });
    shop.write("costs.csv", free.collect::<String>());
    let refused = shop.run(&["knives", "A", "--cracked"]);
    assert_ne!(status(&refused), 0);
    let why = one_line(&said(&refused));
    assert!(why.contains("must be above zero"), "{why}");
    assert!(why.contains("A is not to be run: A is cracked"), "{why}");
    let sound = said(&shop.run(&["knives", "A"]));
    assert!(!sound.contains("not to be run"), "{sound}");
}

#[test]
fn a_set_that_waits_is_counted_with_what_it_waits_for() {
    let shop = worked("110 mm", "4");
    add(&shop, &["event struck --meter 1254 --date 2026-03-02"]);
    let asked = ["sets", "--turnaround", "0", "--hours-per-year", "300"];
    let words = one_line(&answer(&shop.run(&asked)));
    assert!(
        words.contains("but 1 of them waits for an inspection"),
        "{words}"
    );
    let sets = json(&shop.run(&[&["--json"], &asked[..]].concat()))["answers"][0].clone();
    assert_eq!(sets["in_use"][0], "A");
    assert_eq!(sets["must_not_run_yet"][0]["set"], "A", "{sets}");
}

#[test]
fn where_the_discard_width_is_not_known_it_is_looked_up_before_the_set_runs() {
    let shop = Shop::at_work();
    let words = one_line(&answer(&shop.run(&["knives", "A"])));
    let caveat = "look it up in the machine's manual before it runs or is ground";
    assert!(words.contains(caveat), "{words}");
}

#[test]
fn a_crack_typed_as_an_event_is_told_how_to_write_it() {
    let shop = Shop::new();
    for word in ["cracked", "broken", "chipped"] {
        let output = shop.run(&["add", "event", word, "--set", "A"]);
        let words = said(&output);
        assert_eq!(status(&output), 2, "{words}");
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("with what is wrong in its note"), "{words}");
        assert!(!words.contains("flipped"), "{words}");
    }
}

/// The rows that the log's own page shows stop a set as it says.
#[test]
fn the_rows_of_the_logs_page_stop_the_set() {
    let page = worked("110 mm", "4").text("README.txt");
    let rows: Vec<&str> = page
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with("2026-") && line.contains(",checked,"))
        .collect();
    assert_eq!(rows.len(), 2, "{page}");
    for (row, must_not) in rows.iter().zip(["run-cracked", "run-unmatched"]) {
        let shop = worked("110 mm", "4");
        let header = shop.text("events.csv").lines().next().map(str::to_string);
        let columns = header.expect("a header").split(',').count();
        assert_eq!(row.split(',').count(), columns, "{row}");
        let row = row.replace("big drum", "big-drum").replace(",red,", ",A,");
        let row = row.replace(",1291,", ",,");
        written(&shop, "events.csv", &row);
        let knives = knives(&shop, "A");
        let reasons = knives["must_not"].as_array().expect("reasons");
        let told = reasons.iter().any(|it| it["must_not"] == must_not);
        assert!(told, "{row}: {knives}");
        assert!(!has_hours(&shop), "{row}");
        assert_eq!(
            json(&shop.run(&["--json", "verify"]))["problems"],
            Value::Array(Vec::new())
        );
    }
}
