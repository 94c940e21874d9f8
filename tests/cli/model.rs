//! Saved fits: used while they are of the log as it stands.

use crate::support::{Shop, answer, json, said, status};
use keenspan::lives::edge_lives;
use keenspan::logbook::read::read_logbook;
use keenspan::logbook::write::write_text_file;
use keenspan::quantities::WearFraction;
use keenspan::wear::{EdgeRecords, PriorPack, WearModel};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use std::fs;
use std::path::PathBuf;

/// A log with one edge in it, and the fit of it, saved beside it from another seed than the program's.
fn saved() -> (Shop, PathBuf) {
    let shop = Shop::new();
    let fitted = "add event fitted --set A --meter 1200 --date 2026-03-02";
    let run = "add run --hours 22 --wood oak --date 2026-03-08";
    let next = "add run --hours 22 --wood oak --date 2026-03-09";
    let pulled = "add event pulled --meter 1244 --grade dull --date 2026-03-10";
    for typed in [fitted, run, next, pulled] {
        let output = shop.run(&typed.split(' ').collect::<Vec<_>>());
        assert_eq!(status(&output), 0, "{}", said(&output));
    }
    let lives = edge_lives(&read_logbook(&shop.log()).expect("the log").logbook);
    let (records, seen) = EdgeRecords::from_lives(&lives);
    let pack = PriorPack::common_practice().expect("the pack");
    let model = WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction"));
    let model = model.draws(500).seed(77).check().expect("a model");
    let fingerprint = model.fingerprint(&records, &seen).expect("a fingerprint");
    let posterior = model.fit(&DatasetBase::new(records, seen)).expect("a fit");
    let file = shop.log().join("fit.model.json");
    let text = posterior.save(&fingerprint).to_text().expect("text");
    write_text_file(&file, &text).expect("written");
    (shop, file)
}

fn interval(shop: &Shop, file: &std::path::Path) -> std::process::Output {
    shop.run(&["--json", "interval", "--model", &file.display().to_string()])
}

const CHANGED: &str = "are not those that";

#[test]
fn a_fit_of_the_log_as_it_stands_is_used() {
    let (shop, file) = saved();
    let fresh = json(&shop.run(&["--json", "interval"]));
    let kept = json(&interval(&shop, &file));
    assert!(!kept["warnings"].to_string().contains(CHANGED));
    let cost = |whole: &serde_json::Value| whole["answers"][0]["cost_per_hour"].to_string();
    // The draws are those of the file, from another seed, and not fresh ones.
    assert_ne!(cost(&kept), cost(&fresh));
    assert_eq!(cost(&kept), cost(&json(&interval(&shop, &file))));
    assert_eq!(shop.strays(), 0);
}

/// The same but for the rounding of numbers.
fn assert_alike(one: &serde_json::Value, other: &serde_json::Value) {
    use serde_json::Value::{Array, Number, Object};
    match (one, other) {
        (Array(ones), Array(others)) => {
            assert_eq!(ones.len(), others.len());
            ones.iter()
                .zip(others)
                .for_each(|(a, b)| assert_alike(a, b));
        }
        (Object(ones), Object(others)) => {
            assert!(ones.keys().eq(others.keys()));
            ones.values()
                .zip(others.values())
                .for_each(|(a, b)| assert_alike(a, b));
        }
        (Number(a), Number(b)) => {
            let (a, b) = (a.as_f64().expect("a number"), b.as_f64().expect("a number"));
            assert!((a - b).abs() <= 1e-6 * b.abs().max(1e-3), "{a} {b}");
        }
        (one, other) => assert_eq!(one, other),
    }
}

#[test]
fn a_fit_of_a_log_that_has_changed_is_told_and_made_anew() {
    let (shop, file) = saved();
    let events = shop.text("events.csv").replace(",dull,", ",overrun,");
    assert_ne!(events, shop.text("events.csv"));
    shop.write("events.csv", events);
    let output = interval(&shop, &file);
    assert_eq!(status(&output), 0);
    let kept = json(&output);
    let warnings = kept["warnings"].as_array().expect("warnings");
    let says =
        |warning: &serde_json::Value| warning.as_str().is_some_and(|it| it.contains(CHANGED));
    assert!(warnings.iter().any(says), "{warnings:?}");
    let fresh = json(&shop.run(&["--json", "interval"]));
    assert_alike(&kept["answers"], &fresh["answers"]);
    let words = answer(&shop.run(&["interval", "--model", &file.display().to_string()]));
    assert!(words.contains("fresh fit"), "{words}");
    // The search began from what was saved, which shows nowhere but in that note.
    let (before, note) = words.split_once("  ! The log,").expect("the note");
    let (_, after) = note.split_once("fit.model.json.\n").expect("its end");
    let lines = |text: &str| -> Vec<String> {
        let lines = text.lines().filter(|line| !line.trim().is_empty());
        lines.map(String::from).collect()
    };
    let without = format!("{before}{after}");
    assert_eq!(lines(&without), lines(&answer(&shop.run(&["interval"]))));
}

#[test]
fn a_file_that_cannot_be_used_is_refused_by_name() {
    let (shop, file) = saved();
    let text = fs::read_to_string(&file).expect("the model");
    let refused = |text: &str| {
        fs::write(&file, text).expect("written");
        let output = interval(&shop, &file);
        assert_eq!((status(&output), answer(&output)), (2, String::new()));
        let said = said(&output);
        assert!(said.contains("fit.model.json"), "{said}");
        said
    };
    let format = |number: &str| text.replace("\"keenspan_model\": 2", number);
    let later = refused(&format("\"keenspan_model\": 3"));
    assert!(later.contains("has format 3"), "{later}");
    let earlier = refused(&format("\"keenspan_model\": 1"));
    assert!(earlier.contains("Save the fit anew"), "{earlier}");
    let cut = refused(&text[..text.len() / 2]);
    assert!(cut.contains("cut off"), "{cut}");
    let other = refused("date,machine,hours\n");
    assert!(other.contains("no saved model"), "{other}");
    fs::remove_file(&file).expect("removed");
    let missing = interval(&shop, &file);
    assert_eq!(status(&missing), 2);
    let words = said(&missing);
    assert!(words.contains("it cannot be read"), "{words}");
    assert!(words.contains("fit --save"), "{words}");
}
