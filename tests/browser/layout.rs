//! Whether everything fits: no text is cut, runs into other text, or leaves the page or its picture.

use crate::page::{Report, demo, fleet};
use crate::screen::{SIZES, Screen, Size};
use serde_json::{Value, json};

const LAYOUT: &str = include_str!("layout.js");

fn nothing_is_cut(screen: &Screen, size: Size) {
    screen.show(size, false);
    let found = screen.ask(LAYOUT);
    assert_eq!(found, json!([]), "{}", size.name);
}

#[test]
fn nothing_is_cut_or_runs_into_something_at_any_size() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    for size in SIZES {
        nothing_is_cut(&screen, size);
    }
    screen.run("document.querySelectorAll('details').forEach(it => it.open = true)");
    for size in SIZES {
        nothing_is_cut(&screen, size);
    }
}

#[test]
fn long_names_and_a_small_phone_are_no_trouble() {
    let log = fleet(1);
    for file in ["machines.csv", "sets.csv", "runs.csv", "events.csv"] {
        let path = log.path().join(file);
        let text = std::fs::read_to_string(&path).expect("a file");
        let text = text
            .replace(
                "Heron 1",
                "the long heron of the lower yard, bought second-hand",
            )
            .replace("Blue 1", "Blue knives with the longer bolts and the notch");
        // A comma in a name wants quotes.
        let text = text.replace(
            "the long heron of the lower yard, bought second-hand",
            "\"the long heron of the lower yard, bought second-hand\"",
        );
        std::fs::write(path, text).expect("a file");
    }
    let report = Report::of(log.path());
    assert!(
        report
            .text()
            .contains("bought second-hand: change the knives")
    );
    let screen = Screen::of(&report.file());
    let small = Size {
        name: "phone",
        width: 340,
        height: 640,
        paper: false,
    };
    nothing_is_cut(&screen, small);
    nothing_is_cut(&screen, SIZES[1]);
}

#[test]
fn the_check_is_awake() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    screen.show(SIZES[0], false);
    screen.run(
        "document.querySelector('h2').style = 'white-space: nowrap'; \
         [...document.querySelectorAll('svg text')].slice(0, 2).forEach(it => { it.setAttribute('x', 1775); \
         it.setAttribute('y', 225) })",
    );
    let found = screen.ask(LAYOUT).to_string();
    for wanted in [
        "the page is",
        "stands from",
        "leaves the picture",
        "runs into",
    ] {
        assert!(found.contains(wanted), "{wanted}: {found}");
    }
    assert_ne!(found, Value::Null.to_string());
}
