//! A crew whose edges last less than half as long from some day on: the page says so first, and shows it.

use crate::numbers::{numbers, texts};
use crate::page::{Report, answers};
use crate::screen::Screen;
use serde_json::json;
use std::fs;
use tempfile::TempDir;

/// Lives that scatter by a third either way.
const STEADY: [u32; 12] = [52, 41, 60, 47, 35, 55, 49, 66, 44, 38, 57, 50];

/// Two sets by turns, ground between turns and noticed dull; two fifths of the life from the 25th edge on.
fn drifting(edges: usize) -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut runs = "date,machine,meter start,meter end,wood,dirt,state\n".to_string();
    let mut events = "date,event,machine,meter,set,edge,by\n".to_string();
    let mut meter = 1200.0;
    for number in 0..edges {
        let share = if number < 24 { 1.0 } else { 0.4 };
        let next = meter + share * f64::from(STEADY[number % STEADY.len()]);
        let month = format!("{}-{:02}", 2022 + number / 12, 1 + number % 12);
        let set = ["A", "B"][number % 2];
        events += &format!(
            "{month}-10,reground,,,{set},,the mill\n{month}-10,fitted,Owl,{meter:.1},{set},1,\n"
        );
        runs += &format!("{month}-20,Owl,{meter:.1},{next:.1},oak,clean,green\n");
        events += &format!(
            "{month}-20,noticed dull,Owl,{next:.1},{set},1,\n{month}-20,pulled,Owl,{next:.1},{set},1,\n"
        );
        meter = next;
    }
    let machines =
        "name,rotor,knives,edges,meter,rule,discard width\nOwl,drum,4,2,1200,50,102 mm\n";
    let sets = "name,knives,edges,width,regrinds\nA,4,2,103 mm,1\nB,4,2,,1\n";
    for (file, text) in [
        ("runs.csv", runs.as_str()),
        ("events.csv", &events),
        ("machines.csv", machines),
        ("sets.csv", sets),
        ("shop.csv", "key,value,unit,note\nunits,metric,,\n"),
        ("costs.csv", "key,value,unit,note\n"),
    ] {
        fs::write(folder.path().join(file), text).expect("a file");
    }
    folder
}

#[test]
fn lives_that_run_short_are_said_first_and_marked_in_the_picture() {
    let log = drifting(36);
    let report = Report::of(log.path());
    if let Some(to) = std::env::var_os("KEEP_DRIFTING") {
        fs::copy(report.file(), to).expect("a copy");
    }
    let screen = Screen::of(&report.file());
    let drift = answers(log.path(), "drift");
    let shift = &drift["answers"][0]["shifts"][0];
    assert_eq!(shift["side"], json!("shorter"), "{shift}");
    let since = shift["since"]["estimate"].as_str().expect("a day");
    let first = texts(&screen, ".alarm a").join(" ");
    assert!(
        first.contains(&format!("edges run short since about {since}")),
        "{first}"
    );
    let said = texts(&screen, "#drift").join(" ");
    let noticed = shift["noticed_on"].as_str().expect("a day");
    assert!(
        said.contains(&format!("noticed with that of {noticed}")),
        "{said}"
    );
    let ratio = ["estimate", "lower", "upper"]
        .map(|of| format!("{:.2}", shift["ratio"][of].as_f64().expect("a ratio")));
    let how_much = said.split("How much:").nth(1).expect("how much");
    let edges = shift["edges_in_run"].to_string();
    assert_eq!(numbers(how_much)[..4], [&[edges], &ratio[..]].concat());
    // The square, and what it says to look at.
    assert_eq!(
        screen.ask("document.querySelectorAll('#drift svg .alarm.area').length > 1"),
        json!(true)
    );
    let look_at = shift["look_at"].as_array().expect("a list").len();
    assert_eq!(texts(&screen, "#drift ol li").len(), look_at);
}

#[test]
fn too_few_edges_get_a_sentence_and_no_picture() {
    let log = drifting(4);
    let report = Report::of(log.path());
    let screen = Screen::of(&report.file());
    let said = texts(&screen, "#drift").join(" ");
    assert!(
        said.contains("Only 4 edges have finished, too few to tell"),
        "{said}"
    );
    assert_eq!(
        screen.ask("document.querySelectorAll('#drift svg').length"),
        json!(0)
    );
}
