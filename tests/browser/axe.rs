//! Whether people who see little, or hear the page, or use it with keys, can: axe-core's rules.

use crate::page::{Report, demo};
use crate::screen::{SIZES, Screen};

#[test]
fn axe_finds_nothing_in_light_and_in_dark_at_any_size() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    screen.run(&axe());
    for size in SIZES {
        for dark in [false, true] {
            screen.show(size, dark);
            let found = violations(&screen);
            assert!(found.is_empty(), "{}, dark {dark}: {found:#?}", size.name);
        }
    }
    screen.run("document.querySelectorAll('details').forEach(it => it.open = true)");
    let found = violations(&screen);
    assert!(found.is_empty(), "all folds open: {found:#?}");
}

#[test]
fn axe_is_awake() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    screen.run(&axe());
    screen.show(SIZES[0], false);
    // Grey on grey, and a picture that nobody can hear.
    screen.run("document.querySelector('h2').style = 'color: #ccc; background: #ddd'");
    screen.run("document.querySelector('svg').removeAttribute('aria-label')");
    let found = violations(&screen).join(" ");
    assert!(
        found.contains("color-contrast") && found.contains("svg-img-alt"),
        "{found}"
    );
}

/// Each violation as its rule and the first place where it was found.
fn violations(screen: &Screen) -> Vec<String> {
    let found = screen.ask(
        "axe.run(document, { resultTypes: ['violations'] }).then(it => it.violations.map(one => \
         one.id + ': ' + one.help + ' ' + one.nodes[0].html.slice(0, 200)))",
    );
    let found = found
        .as_array()
        .cloned()
        .unwrap_or_else(|| panic!("axe did not answer"));
    found
        .iter()
        .map(|one| one.as_str().unwrap_or_default().to_string())
        .collect()
}

/// axe-core as npm brings it; it is not kept here, being under a licence of its own.
fn axe() -> String {
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/.target/browser/node_modules/axe-core/axe.min.js"
    );
    std::fs::read_to_string(file).unwrap_or_else(|_| {
        panic!(
            "axe-core is missing: the report is checked with it. Install it with: npm install --no-save \
             --prefix .target/browser axe-core"
        )
    })
}
