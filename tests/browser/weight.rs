//! How heavy the page is.

use crate::page::{Report, demo, fleet};

#[test]
fn the_demo_is_well_under_a_megabyte() {
    let bytes = Report::of(&demo()).text().len();
    assert!(bytes < 200_000, "{bytes}");
}

/// Two hundred machines must stay under five megabytes; what each adds is the same whatever their number.
#[test]
fn a_machine_adds_little_to_the_page() {
    let [few, more] = [1, 4].map(|copies| Report::of(fleet(copies).path()).text().len());
    let each = (more - few) / 6;
    assert!(each * 200 < 5_000_000, "{each} bytes a machine");
}
