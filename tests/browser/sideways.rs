//! The time line keeps its width on a phone, in a region that keys reach, and the page does not.

use crate::page::{Report, demo};
use crate::screen::{SIZES, Screen, Size};
use std::path::PathBuf;
use std::process::Command;

#[test]
fn a_time_line_on_a_phone_is_drawn_sideways_by_finger_or_by_keys() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    screen.show(SIZES[0], false);
    let number = |asked: &str| screen.ask(asked).as_f64().expect("a number");
    let wide = number("document.querySelector('.sideways').scrollWidth");
    let shown = number("document.querySelector('.sideways').clientWidth");
    assert!(wide > 1.7 * shown, "{wide} in {shown}");
    screen.run("document.querySelector('.sideways').focus()");
    let focused = "document.activeElement.matches('[role=region][aria-label]') ? 1 : 0";
    assert_eq!(number(focused), 1.0);
    screen.run("document.querySelector('.sideways').scrollLeft = 200");
    assert_eq!(
        number("document.querySelector('.sideways').scrollLeft"),
        200.0
    );
    // On a desktop there is room for all of it.
    screen.show(SIZES[1], false);
    let wide = number("document.querySelector('.sideways').scrollWidth");
    assert!(wide <= number("document.querySelector('.sideways').clientWidth"));
}

/// A card or a sheet as a file, in a folder that goes away with it.
fn card(arguments: &[&str]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("card.html");
    let output = Command::new(env!("CARGO_BIN_EXE_keenspan"))
        .arg("--log")
        .arg(demo())
        .args(["card", "--out"])
        .arg(&file)
        .args(arguments)
        .output()
        .expect("the program runs");
    assert!(output.status.success());
    (folder, file)
}

#[test]
fn cards_and_sheets_fit_a_narrow_phone_and_are_themselves_on_paper() {
    for arguments in [&[][..], &["--set", "Ring", "--nick", "0.5mm"]] {
        let (_folder, file) = card(arguments);
        let screen = Screen::of(&file);
        let number = |asked: &str| screen.ask(asked).as_f64().expect("a number");
        let narrow = Size {
            width: 360,
            ..SIZES[0]
        };
        for size in [narrow, SIZES[0]] {
            for dark in [false, true] {
                screen.show(size, dark);
                let wide = number("document.documentElement.scrollWidth");
                assert!(wide <= f64::from(size.width), "{wide} {arguments:?}");
                // Nothing that is read is smaller than a phone's own letters.
                let least = "Math.min(...[...document.querySelectorAll('.page :is(h1,h2,p)')]\
                    .filter(it => it.offsetParent).map(it => parseFloat(getComputedStyle(it).fontSize)))";
                assert!(number(least) >= 16.0, "{arguments:?}");
            }
        }
        let paper = Size {
            width: 794,
            height: 1123,
            ..SIZES[2]
        };
        screen.show(paper, false);
        let high = "document.querySelector('.page').getBoundingClientRect().height";
        // 297 mm at 96 dots per inch.
        assert!((number(high) - 297.0 / 25.4 * 96.0).abs() < 1.0);
        let mark = "parseFloat(getComputedStyle(document.querySelector('.page h2')).fontSize)";
        assert!(
            (number(mark) - 4.4 / 25.4 * 96.0).abs() < 0.5,
            "{arguments:?}"
        );
        let hidden = "[...document.querySelectorAll('.page *')].filter(it => getComputedStyle(it).display == 'none').length";
        assert_eq!(number(hidden), 0.0);
    }
}
