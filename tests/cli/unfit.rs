//! A set that must not be run: every command that speaks of it says so, and none gives it hours.

use crate::support::{Shop, answer, json, said, status};
use serde_json::Value;

/// Rows typed one after the other, each taken.
pub fn add(shop: &Shop, rows: &[&str]) {
    for row in rows {
        let output = typed(shop, row);
        assert_eq!(status(&output), 0, "{row}: {}", said(&output));
    }
}

/// A row as typed; an underscore stands for a blank within a word.
fn typed(shop: &Shop, row: &str) -> std::process::Output {
    let words = row.split(' ').map(|word| word.replace('_', " "));
    let words: Vec<String> = words.collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    shop.run(&[&["add"], words.as_slice()].concat())
}

/// Set A at work for six hours, its width and the machine's discard width as given, in millimetres.
pub fn worked(width: &str, knives: &str) -> Shop {
    let shop = Shop::at_work();
    add(
        &shop,
        &["run --start 1250 --end 1256 --wood oak --dirt clean --date 2026-03-02"],
    );
    let sets = format!("name,knives,edges,width\nA,{knives},2,{width}\n");
    shop.write("sets.csv", sets);
    let machines =
        "name,rotor,knives,edges,meter,rule,discard width\nbig-drum,drum,4,2,1200,50,100 mm\n";
    shop.write("machines.csv", machines);
    shop
}

pub fn one_line(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What every command says of the set at work, where `why` forbids it.
pub fn stands_still(shop: &Shop, must_not: &str, why: &str) {
    let due = json(&shop.run(&["--json", "due"]))["answers"][0].clone();
    assert_eq!(due["must_not_run"][0]["must_not"], must_not, "{due}");
    assert_eq!(due["ahead"], Value::Array(Vec::new()), "{due}");
    assert_eq!(due["by_dirt"], Value::Array(Vec::new()), "{due}");
    let text = due.to_string();
    for figure in ["hours_left", "\"mark\"", "\"wear\"", "chance_dull"] {
        assert!(!text.contains(figure), "{figure}: {text}");
    }
    let words = one_line(&answer(&shop.run(&["due"])));
    assert!(words.contains("big-drum: not to be run: "), "{words}");
    assert!(words.contains(why), "{words}");
    let see = format!("see keenspan --log {} knives A", shop.log().display());
    assert!(words.contains(&see), "{words}");
    assert!(words.contains("do this stop the machine"), "{words}");
    assert!(
        !words.contains("hours left") && !words.contains(" used ("),
        "{words}"
    );

    // An interval is of the machine, whatever set is in it: before it stands what must not be run.
    let interval = one_line(&answer(&shop.run(&["interval"])));
    let alarm = interval.find("big-drum: A is not to be run: ");
    let first = interval.find("change").expect("an answer");
    assert!(alarm.is_some_and(|at| at < first), "{interval}");
    assert!(interval.contains(why), "{interval}");
    let page = shop.log().join("page.html");
    let out = page.display().to_string();
    assert_eq!(status(&shop.run(&["report", "--out", &out])), 0);
    let page = std::fs::read_to_string(&page).expect("a page");
    let alarm = page.find("big-drum: A is not to be run: ");
    assert!(alarm.is_some_and(|at| at < page.find("<svg").unwrap_or(0)));

    let whole = json(&shop.run(&["--json", "job", "--hours", "1"]));
    let plan = &whole["plan"];
    assert_eq!(plan["leave"]["advice"], "must-change", "{plan}");
    assert_eq!(plan["must_not_run"][0]["must_not"], must_not, "{plan}");
    // None of its edges counts: a set has to be fitted.
    assert_eq!(plan["carry"]["fit_first"], 1, "{plan}");
    assert!(plan["chance_present_lasts"].is_null(), "{plan}");
    let words = one_line(&answer(&shop.run(&["job", "--hours", "1"])));
    assert!(
        words.contains(why) && words.contains("not to be run"),
        "{words}"
    );

    let knives = json(&shop.run(&["--json", "knives", "A"]))["answers"][0].clone();
    let forbidden = knives["must_not"].as_array().expect("a list");
    assert!(
        forbidden.iter().any(|it| it["must_not"] == must_not),
        "{knives}"
    );

    let card = shop.log().join("card.html");
    let card = card.display().to_string();
    let output = shop.run(&["card", "--out", &card]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let page = std::fs::read_to_string(&card).expect("a card");
    assert!(page.contains("not to be run"), "no such words on the card");
    let report = shop.log().join("report.html");
    let report = report.display().to_string();
    assert_eq!(status(&shop.run(&["report", "--out", &report])), 0);
    let page = std::fs::read_to_string(&report).expect("a report");
    assert!(!page.contains("write 12") && page.contains("not to be run"));
}

/// What `sets` counts, and what it leaves out.
fn sets(shop: &Shop) -> Value {
    let output = shop.run(&[
        "--json",
        "sets",
        "--turnaround",
        "7",
        "--hours-per-year",
        "300",
    ]);
    json(&output)["answers"][0].clone()
}

fn is_left_out(shop: &Shop, must_not: &str) {
    let sets = sets(shop);
    assert_eq!(sets["in_use"], Value::Array(Vec::new()), "{sets}");
    let out = &sets["must_not_run"][0];
    assert_eq!(out["set"], "A", "{sets}");
    assert_eq!(out["must_not_run"][0]["must_not"], must_not, "{sets}");
}

/// Whoever writes of a crack, and whoever works with such a set or puts it in, hears at once that it must not be run.
#[test]
fn rows_of_a_cracked_set_are_answered_with_an_alarm() {
    let shop = worked("110 mm", "4");
    let is_told = |row: &str| {
        let output = typed(&shop, row);
        assert_eq!(status(&output), 0, "{row}: {}", said(&output));
        one_line(&answer(&output)).contains("! big-drum: A is not to be run: ")
    };
    assert!(!is_told("run --hours 1 --wood oak --date 2026-03-03"));
    assert!(is_told(
        "event checked --set A --meter 1257 --date 2026-03-03 --note crack_in_knife_2"
    ));
    assert!(is_told("run --hours 1 --wood oak --date 2026-03-04"));
    let due = one_line(&answer(&shop.run(&["due"])));
    assert!(
        due.contains("do this stop the machine. Have a qualified person take A off"),
        "{due}"
    );
    assert!(!is_told(
        "event pulled --set A --meter 1258 --date 2026-03-05 --grade working"
    ));
    assert!(is_told(
        "event fitted --set A --meter 1258 --date 2026-03-05"
    ));
}

#[test]
fn a_sound_set_is_counted_and_has_a_mark_everywhere() {
    let shop = worked("110 mm", "4");
    let due = json(&shop.run(&["--json", "due"]))["answers"][0].clone();
    assert_eq!(due["must_not_run"], Value::Array(Vec::new()));
    assert!(due["ahead"][0]["due"]["mark"]["estimate"].is_number());
    assert_eq!(sets(&shop)["in_use"][0], "A");
    let plan = json(&shop.run(&["--json", "job", "--hours", "1"]))["plan"].clone();
    assert_eq!(plan["leave"]["advice"], "keep");
    assert_eq!(plan["carry"]["fit_first"], 0);
}

#[test]
fn a_cracked_set_stands_still() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &[
            "event checked --set A --meter 1256 --date 2026-03-02 --note sound?_no:_cracked_at_bolt_hole",
        ],
    );
    stands_still(
        &shop,
        "run-cracked",
        "events.csv line 3 speaks of a crack in A",
    );
    is_left_out(&shop, "run-cracked");
}

#[test]
fn a_set_below_the_discard_width_stands_still() {
    let shop = worked("99 mm", "4");
    let why = "A is 3.898 in wide, below the discard width of 3.937 in";
    stands_still(&shop, "run-under-width", why);
    is_left_out(&shop, "run-under-width");
    assert_eq!(sets(&shop)["too_narrow"][0], "A");
}

#[test]
fn a_set_with_too_few_knives_stands_still() {
    let shop = worked("110 mm", "3");
    let why = "A has another number of knives than big-drum carries";
    stands_still(&shop, "run-incomplete", why);
    is_left_out(&shop, "run-incomplete");
}

#[test]
fn a_nick_deeper_than_the_steel_left_stands_still() {
    let shop = worked("101 mm", "4");
    add(
        &shop,
        &["event checked --meter 1256 --date 2026-03-02 --nick 2_mm"],
    );
    let why = "a nick of 0.079 in in A is deeper than the 0.039 in of steel left";
    stands_still(&shop, "nick-deeper-than-stock", why);
    is_left_out(&shop, "nick-deeper-than-stock");
}

#[test]
fn a_nick_too_deep_to_be_ground_out_stands_still() {
    // 0.9 mm deep and 0.3 mm below it are to go, and 1 mm is there.
    let shop = worked("101 mm", "4");
    add(
        &shop,
        &["event checked --meter 1256 --date 2026-03-02 --nick 0.9_mm"],
    );
    stands_still(
        &shop,
        "no-steel-for-the-grind",
        "has not the steel left for it",
    );
}

#[test]
fn a_struck_set_stands_still_until_it_is_inspected() {
    let shop = worked("110 mm", "4");
    add(&shop, &["event struck --meter 1254 --date 2026-03-02"]);
    stands_still(
        &shop,
        "run-uninspected",
        "A was struck, and nobody qualified has looked it over",
    );
    // It waits for a look and a grind, and is still one of the sets.
    assert_eq!(sets(&shop)["in_use"][0], "A");
    let words = one_line(&answer(&shop.run(&["due"])));
    assert!(words.contains("--note \"inspected, sound\""), "{words}");
    // Turned to its other edge it is as struck as before.
    add(
        &shop,
        &["event flipped --meter 1256 --date 2026-03-03 --no-grade"],
    );
    stands_still(
        &shop,
        "run-uninspected",
        "A was struck, and nobody qualified has looked it over",
    );
    add(
        &shop,
        &["event checked --meter 1256 --date 2026-03-03 --note inspected,_sound"],
    );
    let due = json(&shop.run(&["--json", "due"]))["answers"][0].clone();
    assert!(
        due["ahead"][0]["due"]["mark"]["estimate"].is_number(),
        "{due}"
    );
}

#[test]
fn an_inspected_edge_that_was_struck_has_no_figures_either() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &[
            "event struck --meter 1254 --date 2026-03-02",
            "event checked --meter 1254 --date 2026-03-02 --note inspected,_sound",
        ],
    );
    let due = json(&shop.run(&["--json", "due"]))["answers"][0].clone();
    assert_eq!(due["must_not_run"], Value::Array(Vec::new()), "{due}");
    assert_eq!(due["ahead"], Value::Array(Vec::new()), "{due}");
    assert!(
        due["no_mark_because"]
            .as_str()
            .expect("why")
            .contains("struck")
    );
    let plan = json(&shop.run(&["--json", "job", "--hours", "1"]))["plan"].clone();
    assert_eq!(plan["leave"]["advice"], "must-change");
}

#[test]
fn a_discarded_set_is_not_fitted_again_under_its_name() {
    let shop = worked("110 mm", "4");
    add(
        &shop,
        &["event discarded --set A --date 2026-03-03 --note cracked_knife"],
    );
    let before = shop.text("events.csv");
    let refused = typed(&shop, "event fitted --set A --meter 1256 --date 2026-03-04");
    assert_eq!(status(&refused), 2);
    let why = said(&refused);
    for part in [
        "A was discarded on 2026-03-03 (events.csv line 3)",
        "add set --name",
    ] {
        assert!(why.contains(part), "{part}: {why}");
    }
    assert_eq!(shop.text("events.csv"), before);
    // A row of the days before it was thrown away, written late, is taken.
    add(
        &shop,
        &["event checked --set A --meter 1255 --grade keen --date 2026-03-02"],
    );
    // Written by hand it is read, with the alarm as ever, and the crack stays with it.
    let by_hand = shop.text("events.csv") + "2026-03-04,fitted,big-drum,1256,A,,,,,,,,\n";
    shop.write("events.csv", by_hand);
    stands_still(&shop, "run-cracked", "speaks of a crack in A");
    let words = answer(&shop.run(&["due"]));
    assert!(words.contains("was discarded earlier"), "{words}");
}

#[test]
fn where_the_set_was_taken_out_the_plan_fits_one_first() {
    for row in [
        "event pulled --meter 1256 --date 2026-03-03 --grade dull",
        "event discarded --set A --date 2026-03-03",
    ] {
        let shop = worked("110 mm", "4");
        add(&shop, &[row]);
        let plan = json(&shop.run(&["--json", "job", "--hours", "1"]))["plan"].clone();
        assert_eq!(plan["leave"]["advice"], "fit-first", "{plan}");
        assert_eq!(plan["carry"]["fit_first"], 1, "{plan}");
        assert!(plan["chance_present_lasts"].is_null());
        let words = one_line(&answer(&shop.run(&["job", "--hours", "1"])));
        assert!(
            words.contains("No edge is known to be on: fit one first."),
            "{words}"
        );
        assert!(words.contains("1 set to fit before leaving"), "{words}");
        assert!(!words.contains("fresh edge is on"), "{words}");
        let due = one_line(&answer(&shop.run(&["due"])));
        assert!(
            due.contains("no row of the log says which edge is at work"),
            "{due}"
        );
    }
}

#[test]
fn knives_with_one_edge_are_never_flipped() {
    let shop = Shop::new();
    shop.write("sets.csv", "name,knives,edges\nA,4,1\n");
    let machines = shop.text("machines.csv").replace("drum,4,2", "drum,4,1");
    shop.write("machines.csv", machines);
    add(
        &shop,
        &[
            "event fitted --set A --meter 1250 --date 2026-03-02",
            "run --hours 40 --wood oak --dirt gritty --date 2026-03-03",
        ],
    );
    let before = shop.text("events.csv");
    let refused = typed(
        &shop,
        "event flipped --meter 1290 --date 2026-03-03 --grade dull",
    );
    assert_eq!(status(&refused), 2);
    assert!(
        said(&refused).contains("one cutting edge each"),
        "{}",
        said(&refused)
    );
    assert_eq!(shop.text("events.csv"), before);
    let refused = shop.run(&["knives", "A", "--edges-left", "1"]);
    assert_eq!(status(&refused), 2);
    assert!(said(&refused).contains("write 0"), "{}", said(&refused));
    let none = json(&shop.run(&["--json", "knives", "A", "--edges-left", "0"]));
    let actions = none["answers"][0]["actions"].as_array().expect("actions");
    assert!(!actions.is_empty() && actions.iter().all(|it| it["action"] != "flip"));
    // A log written by hand that flips them all the same: still no fresh edge to turn to.
    let by_hand = before
        + "2026-03-03,flipped,big-drum,1290,A,,dull,,,,,,\n2026-03-04,reground,,,A,,,,,,,,\n";
    shop.write("events.csv", by_hand);
    let knives = json(&shop.run(&["--json", "knives", "A"]))["answers"][0].clone();
    assert_eq!(knives["fresh_edges"], 0, "{knives}");
}

#[test]
fn more_fresh_edges_than_knives_have_are_refused() {
    let shop = Shop::at_work();
    let refused = shop.run(&["knives", "A", "--edges-left", "2"]);
    assert_eq!(status(&refused), 2);
    assert!(
        said(&refused).contains("write at most 1"),
        "{}",
        said(&refused)
    );
    assert_eq!(status(&shop.run(&["knives", "A", "--edges-left", "1"])), 0);
}

#[test]
fn a_check_with_nothing_but_a_note_is_taken_and_one_with_nothing_is_not() {
    let shop = Shop::at_work();
    add(
        &shop,
        &["event checked --set A --date 2026-03-03 --note knife_1_cracked"],
    );
    let knives = json(&shop.run(&["--json", "knives", "A"]))["answers"][0].clone();
    assert_eq!(knives["must_not"][0]["must_not"], "run-cracked");
    let refused = typed(&shop, "event checked --set A --date 2026-03-03");
    assert_eq!(status(&refused), 2);
    // Of a set on the bench it tells of that set, and puts nothing to work.
    add(
        &shop,
        &["event pulled --meter 1255 --date 2026-03-04 --no-grade"],
    );
    add(&shop, &["set --name B --knives 4 --edges 2"]);
    add(
        &shop,
        &["event checked --set B --date 2026-03-06 --note hairline_crack"],
    );
    let sets = json(&shop.run(&["--json", "knives"]))["answers"].clone();
    for set in sets.as_array().expect("sets") {
        assert!(set["machine"].is_null(), "{set}");
        assert_eq!(set["must_not"][0]["must_not"], "run-cracked", "{set}");
    }
}

/// What keenspan cannot read in a note it says, when the row is added and before every answer, until somebody answers.
#[test]
fn a_note_about_a_knife_or_bolt_that_is_not_understood_is_told_before_every_answer() {
    let shop = worked("120 mm", "4");
    let told = "keenspan does not understand the note \"holder rattles\" on set A";
    let added = typed(
        &shop,
        "event checked --set A --date 2026-03-03 --note holder_rattles",
    );
    assert!(one_line(&answer(&added)).contains(told), "{}", said(&added));
    let commands: [&[&str]; 5] = [
        &["due"],
        &["knives"],
        &["interval"],
        &["verify"],
        &["knives", "A"],
    ];
    let tells = |command: &&[&str]| one_line(&answer(&shop.run(command))).contains(told);
    assert!(commands.iter().all(tells));
    let verified = answer(&shop.run(&["verify"]));
    assert!(verified.contains("Engine off, key out"), "{verified}");
    let due = json(&shop.run(&["--json", "due"]));
    assert!(
        due["warnings"].to_string().contains("holder rattles"),
        "{due}"
    );
    add(
        &shop,
        &["event checked --set A --date 2026-03-04 --note inspected,_sound"],
    );
    assert!(!commands.iter().any(tells));
}
