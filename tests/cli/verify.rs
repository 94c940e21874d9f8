//! What verify shows, and how it ends.

use crate::support::{Shop, answer, json, said, status};
use std::process::Stdio;

#[test]
fn problems_are_shown_with_the_row_and_a_mark_under_the_place() {
    let shop = Shop::new();
    let header = shop.text("runs.csv");
    shop.write(
        "runs.csv",
        format!("{header}2026-03-05,big-drum,-2,,,oak,,,,,\n2026-03-05,big-drum,2,,,,,,,,\n"),
    );
    let shown = shop.run(&["verify"]);
    assert_eq!(status(&shown), 4);
    let expected = "\
runs.csv: 1 used, 1 set aside
  line 2, column \"hours\": found \"-2\"; write hours, zero or more, such as 3.5
        2 | 2026-03-05,big-drum,-2,,,oak,,,,,
          |                     ^^
";
    assert!(answer(&shown).contains(expected), "{}", answer(&shown));
}

#[test]
fn the_same_stands_in_json() {
    let shop = Shop::new();
    let header = shop.text("runs.csv");
    shop.write(
        "runs.csv",
        format!("{header}2026-03-05,big-drum,-2,,,oak,,,,,\n"),
    );
    let shown = json(&shop.run(&["verify", "--json"]));
    let problem = &shown["problems"][0];
    assert_eq!(problem["file"], "runs.csv");
    assert_eq!(problem["line"], 2);
    assert_eq!(problem["column"], "hours");
    assert_eq!(problem["found"], "-2");
    let files = shown["files"].as_array().expect("files");
    let runs = files
        .iter()
        .find(|file| file["file"] == "runs.csv")
        .expect("runs.csv");
    assert_eq!((&runs["rows"], &runs["set_aside"]), (&1.into(), &1.into()));
    assert_eq!(shown["keenspan"]["command"], "verify");
}

#[test]
fn a_misspelt_column_is_named_as_unread() {
    let shop = Shop::new();
    shop.write(
        "runs.csv",
        "date,machine,hours,dirtt\n2026-03-05,big-drum,2,dirty\n",
    );
    let shown = shop.run(&["verify"]);
    assert_eq!(status(&shown), 0);
    assert!(answer(&shown).contains("runs.csv: kept, but not read: column \"dirtt\""));
}

#[test]
fn own_columns_are_told_as_conditions_or_with_why_they_are_none() {
    let shop = Shop::new();
    let rows = "2026-03-05,big-drum,2,yes,4711,,\n2026-03-06,big-drum,3.5,NO,1,,\n\
                2026-03-07,big-drum,4,X,0,no,y\n";
    let header = "date,machine,hours,vines,ticket,ivy,Frozen\n";
    shop.write("runs.csv", format!("{header}{rows}"));
    let shown = shop.run(&["verify"]);
    assert_eq!(status(&shown), 0);
    let words = answer(&shown).replace("\n    ", " ");
    for wanted in [
        "column \"vines\" is read as a condition of your own: 2 runs say yes, 6.0 meter hours.",
        "kept, but not read: column \"ticket\" (line 2 says \"4711\", neither yes nor no)",
        "kept, but not read: column \"ivy\" (no row says yes)",
        "kept, but not read: column \"Frozen\" (keenspan has an effect of that name",
    ] {
        assert!(words.contains(wanted), "{wanted}: {words}");
    }
    let told = json(&shop.run(&["verify", "--json"]));
    let vines = serde_json::json!([{ "column": "vines", "runs": 2, "hours": 6.0 }]);
    assert_eq!(told["conditions"], vines);
    assert_eq!(told["unread_columns"].as_array().map(Vec::len), Some(3));
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let shop = Shop::new();
    let header = shop.text("runs.csv");
    let rows = "2026-03-05,big-drum,-2,,,oak,,,,,\n".repeat(5000);
    shop.write("runs.csv", format!("{header}{rows}"));
    let mut command = shop.command(&["verify"]);
    let mut child = command
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("the program ends");
    assert_eq!(said(&output), "");
    assert_eq!(status(&output), 4);
}

#[test]
fn files_that_are_absent_empty_or_no_text_are_told_apart() {
    let shop = Shop::new();
    std::fs::remove_file(shop.log().join("costs.csv")).expect("costs.csv");
    assert_eq!(status(&shop.run(&["verify"])), 0);
    shop.write("runs.csv", "");
    let empty = shop.run(&["verify"]);
    assert_eq!(status(&empty), 4);
    assert!(
        answer(&empty).contains("write the header, date,machine,hours"),
        "{}",
        answer(&empty)
    );
    shop.write("runs.csv", b"\xff\xfed\0a\0t\0e\0");
    let wide = shop.run(&["verify"]);
    assert!(answer(&wide).contains("CSV UTF-8"), "{}", answer(&wide));
    std::fs::remove_file(shop.log().join("machines.csv")).expect("machines.csv");
    let none = shop.run(&["verify"]);
    assert_eq!(status(&none), 4);
    assert!(said(&none).contains("machines.csv"));
}
