//! Notebook 03 (and the end of 02): the defaults, and what an empty log answers by them.

use super::marks::{bounds, key_of_line, key_of_points, line, plot, point, upright};
use super::page::{Page, numbers};
use super::{hold, hold_reported};
use crate::support::Shop;
use keenspan::quantities::Basis;
use keenspan::views::svg::{Axis, Form, Mark, Plot, Stroke, Tone};
use keenspan::wear::PriorPack;

/// The default of this name.
pub fn likely(name: &str) -> f64 {
    let pack = PriorPack::common_practice().expect("the pack");
    let entries = pack.entries().into_iter();
    let mut named = entries.filter(|(own, _)| own == name);
    named.next().expect(name).1.likely
}

#[test]
fn an_empty_log() {
    let shop = Shop::without_rule();
    hold_reported(&shop.log(), &["cost-big-drum.svg", "dull-big-drum.svg"]);
}

#[test]
fn how_fast_wood_and_dirt_wear() {
    hold("defaults-of-wear.svg", &wear());
}

#[test]
fn the_share_of_time_that_the_crew_waits() {
    hold("waiting-share.svg", &waiting());
}

/// The factors of wear, the strongest uppermost, with the range that nine shops in ten lie within.
fn wear() -> Plot {
    let pack = PriorPack::common_practice().expect("the pack");
    let mut factors: Vec<_> = pack
        .entries()
        .into_iter()
        .filter_map(|(name, entry)| Some((name.strip_prefix("wear.")?.replace('_', " "), entry)))
        .filter(|(name, _)| name != "hardness")
        .collect();
    factors.sort_by(|(_, one), (_, other)| one.likely.total_cmp(&other.likely));
    let marks = factors.iter().zip(1..).flat_map(|((_, entry), row)| {
        let at = f64::from(row);
        let (tone, form) = by_basis(entry.basis);
        let range = bounds((entry.low, entry.high), at, tone);
        [range, point((entry.likely, at), tone, form)]
    });
    let like_clean = upright(1.0, Tone::Ink, "");
    let names = factors.iter().map(|(name, _)| name.clone());
    Plot {
        keys: [
            ("common practice", Basis::CommonPractice),
            ("from memory", Basis::FromMemory),
        ]
        .map(|(word, basis)| {
            let (tone, form) = by_basis(basis);
            key_of_points(word, tone, form)
        })
        .to_vec(),
        ..plot(
            "How many times faster than clean green wood each condition wears an edge, by the defaults, with \
             the range that nine shops in ten lie within",
            Axis::numbers("times as fast as clean, green wood", 0.4, 40.0).logarithmic(),
            Axis::named(names.collect()),
            0.6,
            std::iter::once(like_clean).chain(marks).collect(),
        )
    }
}

fn by_basis(basis: Basis) -> (Tone, Form) {
    match basis {
        Basis::CommonPractice => (Tone::First, Form::Full),
        Basis::FromMemory => (Tone::Second, Form::Triangle),
        other => panic!("a key for {other:?}"),
    }
}

/// The table of hours by the share of time that the crew waits, for four knives.
fn waiting() -> Plot {
    let page = Page::new("03-defaults.md");
    let table = page.table("| share of time the crew waits |");
    let column = |name: &str| table[0].iter().position(|head| *head == name).expect(name);
    let answers = |column: usize| -> Vec<(f64, Vec<f64>)> {
        let rows = table[1..].iter();
        rows.map(|row| (100.0 * numbers(row[0])[0], numbers(row[column])))
            .collect()
    };
    let kinds = [
        ("drum, 4 knives", Tone::First, Stroke::Whole),
        ("disc, 4 knives", Tone::Second, Stroke::Long),
    ];
    let ribbons = kinds.iter().map(|(name, tone, _)| Mark::Ribbon {
        points: answers(column(name))
            .iter()
            .map(|(share, hours)| (*share, hours[1], hours[2]))
            .collect(),
        tone: *tone,
    });
    let lines = kinds.iter().map(|(name, tone, stroke)| {
        let points = answers(column(name));
        let points = points.iter().map(|(share, hours)| (*share, hours[0]));
        line(points.collect(), *tone, *stroke)
    });
    let now = 100.0 * page.number_after("The default is ");
    let default = upright(now, Tone::Ink, &format!("default {now:.0} %"));
    Plot {
        keys: kinds
            .map(|(name, tone, stroke)| key_of_line(name, tone, stroke))
            .to_vec(),
        ..plot(
            "The interval by an empty log against the share of chipping time that the crew waits, with bounds",
            Axis::numbers("share of chipping time that the crew waits, %", 0.0, 100.0),
            Axis::numbers("change every so many meter hours", 0.0, 140.0),
            0.6,
            ribbons.chain(lines).chain([default]).collect(),
        )
    }
}
