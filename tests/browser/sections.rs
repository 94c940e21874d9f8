//! The knife sets and the drift of the page against the JSON of `knives` and `drift`, rounded here anew.

use crate::numbers::{numbers, texts};
use crate::page::{Report, answers, demo};
use crate::screen::Screen;
use serde_json::Value;

/// Hundredths of a millimetre below one, tenths above.
fn millimetres(value: &Value) -> String {
    let value = value.as_f64().expect("a width");
    let decimals = if value < 0.995 { 2 } else { 1 };
    format!("{value:.decimals$}")
}

/// Whole per cent; 99 stands for over 99, 1 for under 1.
fn per_cent(value: &Value) -> String {
    let value = 100.0 * value.as_f64().expect("a chance");
    match value {
        large if large >= 99.5 => "99".to_string(),
        small if small < 0.5 => "1".to_string(),
        // One draw in two hundred makes half of one per cent, which a format would round to the even number.
        other => format!("{:.0}", other.round()),
    }
}

fn word(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn cells(screen: &Screen, part: &str, row: usize) -> Vec<String> {
    texts(screen, &format!("{part}:nth-child({row}) > *"))
}

#[test]
fn the_table_of_steel_has_the_numbers_of_knives() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    let knives = answers(&demo(), "knives");
    let sets = knives["answers"].as_array().expect("sets");
    let rows = texts(&screen, "#knives tbody tr");
    assert_eq!(rows.len(), sets.len());
    for set in sets {
        let name = word(&set["set"]);
        let found = "[...document.querySelectorAll('#knives tbody tr')].filter(row => \
                     row.cells[0].textContent == NAME).map(row => [...row.cells].map(it => it.textContent))[0]";
        let asked = found.replace("NAME", &format!("{:?}", name));
        let row: Vec<String> = serde_json::from_value(screen.ask(&asked)).expect("a row");
        let stock = &set["stock"];
        let widths = [
            "width",
            "discard_width",
            "above_discard",
            "this_grind",
            "width_after",
        ];
        let mut wanted: Vec<String> = widths.map(|of| millimetres(&stock[of])).to_vec();
        wanted.push(stock["regrinds_left"].to_string());
        wanted.push(set["fresh_edges"].to_string());
        assert_eq!(numbers(&row[1..8].join(" ")), wanted, "{row:?}");
        let best = &set["actions"][0];
        assert!(row[8].starts_with(word(&set["advice"])), "{row:?}");
        let chance = row[8].rsplit('(').next().expect("a chance");
        assert_eq!(numbers(chance), [per_cent(&best["chance_best"])], "{row:?}");
    }
}

#[test]
fn every_set_says_what_knives_says() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    let knives = answers(&demo(), "knives");
    let headings = texts(&screen, "#knives h4");
    let said = texts(&screen, "#knives .set");
    for set in knives["answers"].as_array().expect("sets") {
        let heading = format!("{}: {}", word(&set["set"]), word(&set["advice"]));
        let place = headings.iter().position(|it| *it == heading);
        let said = &said[place.unwrap_or_else(|| panic!("{heading} in {headings:?}"))];
        let chances = said
            .split("(chance of being best):")
            .nth(1)
            .expect("chances");
        let chances = chances.split("As good").next().expect("chances");
        let each = set["actions"].as_array().expect("actions").iter();
        let wanted: Vec<String> = each.map(|it| per_cent(&it["chance_best"])).collect();
        let percents: Vec<String> = chances
            .split(';')
            .map(|one| numbers(one).pop().expect("a chance"))
            .collect();
        assert_eq!(percents, wanted, "{said}");
        let worn = ["estimate", "lower", "upper"]
            .map(|of| format!("{:.0}", 100.0 * set["wear"][of].as_f64().expect("wear")));
        let range = format!(
            "{} % of the way to dull ({} % to {} %)",
            worn[0], worn[1], worn[2]
        );
        assert!(
            said.replace('\u{a0}', " ").contains(&range),
            "{range}: {said}"
        );
    }
    // Bars, their frames and words: one of each a set.
    let words = texts(&screen, "#knives svg text").join("\n");
    for set in knives["answers"].as_array().expect("sets") {
        let left = set["stock"]["regrinds_left"].as_u64().expect("grinds");
        assert!(words.contains(&format!("{left} grind")), "{left}: {words}");
    }
}

#[test]
fn the_table_of_drift_has_the_sums_of_drift() {
    let report = Report::of(&demo());
    let screen = Screen::of(&report.file());
    let drift = answers(&demo(), "drift");
    let chart = &drift["answers"][0];
    let edges = chart["chart"].as_array().expect("edges");
    let groups = chart["groups"].as_array().expect("groups");
    assert!(groups.len() >= 2, "{groups:?}");
    assert_eq!(texts(&screen, "#drift tbody tr").len(), edges.len());
    assert_eq!(texts(&screen, "#drift figure").len(), 1 + groups.len());
    for (place, edge) in edges.iter().enumerate() {
        let row = cells(&screen, "#drift tbody tr", place + 1);
        let whose = format!(
            "{}: {}, edge {}",
            word(&edge["machine"]),
            word(&edge["set"]),
            edge["edge"]
        );
        assert_eq!(row[0], whose);
        assert_eq!(row[1], word(&edge["came_out"]));
        let sums = |it: &Value| {
            ["longer", "shorter"].map(|of| format!("{:.1}", it[of].as_f64().expect("a sum")))
        };
        assert_eq!(numbers(&row[3]), sums(edge), "{row:?}");
        let own = groups.iter().filter_map(|group| {
            let edges = group["edges"].as_array().expect("edges");
            edges.iter().find(|it| it["place"] == place)
        });
        let of_groups: Vec<String> = own.flat_map(sums).collect();
        assert_eq!(numbers(&row[4..].join(" ")), of_groups, "{row:?}");
    }
}
