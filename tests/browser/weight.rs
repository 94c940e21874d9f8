//! How heavy the page is.

use crate::page::{Report, demo, fleet};

#[test]
fn the_demo_is_well_under_a_megabyte() {
    let bytes = Report::of(&demo()).text().len();
    assert!(bytes < 200_000, "{bytes}");
}

/// Two hundred machines must stay well under five megabytes; what each adds is the same whatever their number, and moves
/// by a percent with the words that its numbers call for. More than two fifths of it are words that people read.
#[test]
fn a_machine_adds_little_to_the_page() {
    let [few, more] = [1, 4].map(|copies| Report::of(fleet(copies).path()).text());
    let each = |of: fn(&str) -> usize| (of(&more) - of(&few)) / 6;
    let (all, pictures, words) = (each(str::len), each(in_pictures), each(in_words));
    assert!(all * 200 < 4_200_000, "{all} bytes a machine");
    assert!(pictures < 8_200, "{pictures} bytes of pictures a machine");
    assert!(5 * words > 2 * all, "{words} of {all} bytes are words");
}

fn in_pictures(page: &str) -> usize {
    let pictures = page.split("<svg").skip(1);
    pictures
        .filter_map(|rest| rest.split_once("</svg>"))
        .map(|(picture, _)| picture.len())
        .sum()
}

/// What is left without tags.
fn in_words(page: &str) -> usize {
    let after_tags = page.split('<').filter_map(|part| part.split_once('>'));
    after_tags.map(|(_, words)| words.len()).sum()
}
