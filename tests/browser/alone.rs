//! The page stands alone: no network, no script.

use crate::page::{Report, demo};
use crate::screen::{SIZES, Screen};
use serde_json::json;

#[test]
fn the_page_asks_for_nothing_and_runs_nothing() {
    let report = Report::of(&demo());
    let text = report.text();
    for banned in [
        "<script",
        " src=",
        "url(",
        "@import",
        "<link",
        "<iframe",
        "<object",
        "javascript:",
    ] {
        assert!(!text.contains(banned), "{banned}");
    }
    assert!(!text.contains("://"));
    let screen = Screen::of(&report.file());
    assert_eq!(
        screen.ask("performance.getEntriesByType('resource').length"),
        json!(0)
    );
    let handlers = "[...document.querySelectorAll('*')].filter(it => [...it.attributes].some(own => \
                    own.name.startsWith('on'))).length";
    assert_eq!(screen.ask(handlers), json!(0));
}

#[test]
fn folds_open_and_links_lead_somewhere_with_scripts_off() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    screen.scripts(false);
    screen.open(&report.file());
    screen.show(SIZES[0], false);
    let height = "document.querySelector('details').getBoundingClientRect().height";
    let of_fold = || screen.ask(height).as_f64().unwrap_or_default();
    let closed = of_fold();
    screen.run("document.querySelector('details summary').click()");
    assert!(of_fold() > closed + 100.0, "{closed}, then {}", of_fold());
    let astray =
        "[...document.querySelectorAll('a')].filter(it => !document.querySelector(it.hash)).length";
    assert_eq!(screen.ask(astray), json!(0));
    let pictures = "[...document.querySelectorAll('svg')].filter(it => it.getBoundingClientRect().height < 80).length";
    assert_eq!(screen.ask(pictures), json!(0));
}
