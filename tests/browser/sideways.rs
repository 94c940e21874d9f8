//! The time line keeps its width on a phone, in a region that keys reach, and the page does not.

use crate::page::{Report, demo};
use crate::screen::{SIZES, Screen};

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
