//! Cards and sheets, read back by programs that are not ours: pdfinfo and pdftotext of poppler.

mod reader;

use crate::support::{Shop, answer, json, keenspan, said, status};
use reader::{page_text, pages, stands_clear};
use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};
use tempfile::TempDir;

const LOG: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");

/// A folder for files, thrown away at the end of the test.
struct Desk(TempDir);

impl Desk {
    fn new() -> Self {
        Self(tempfile::tempdir().expect("a temporary folder"))
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// A card of the demo log.
    fn demo(&self, name: &str, arguments: &str) -> (PathBuf, Output) {
        let file = self.file(name);
        let out = file.display().to_string();
        let typed = arguments.split_whitespace();
        let start = ["--log", LOG, "card", "--out", &out];
        let output = keenspan(&start.into_iter().chain(typed).collect::<Vec<_>>());
        (file, output)
    }
}

/// What a card must show for one answer of `due`: marks as its hour meter shows them.
fn marks(machine: &Value) -> Vec<String> {
    let reads = |value: &Value| format!("{:.1}", value.as_f64().expect("a number"));
    let first = &machine["ahead"][0]["due"];
    let mut shown = Vec::new();
    for class in machine["by_dirt"].as_array().expect("classes") {
        let due = &class["due"];
        if due["overdue"].is_null() {
            shown.push(reads(&due["mark"]["estimate"]));
            shown.push(format!(
                "{} to {}",
                reads(&due["mark"]["lower"]),
                reads(&due["mark"]["upper"])
            ));
        } else {
            shown.push("that is past".to_string());
        }
    }
    if first["overdue"].is_null() {
        for part in ["estimate", "lower", "upper"] {
            shown.push(reads(&first["mark"][part]));
        }
    } else {
        shown.push("Overdue by about".to_string());
        shown.push(reads(&machine["ahead"][0]["was_due_at"]["estimate"]));
    }
    shown.push(machine["since"].as_str().expect("a day").to_string());
    shown.push(machine["set"].as_str().expect("a set").to_string());
    shown
}

/// A page's words without its marks of HTML.
fn plain(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for letter in html.chars() {
        match letter {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            letter if !inside => text.push(letter),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_machine_has_one_page_with_the_numbers_of_due() {
    let desk = Desk::new();
    let due = json(&keenspan(&["--log", LOG, "due", "--json"]));
    let (pdf, output) = desk.demo("card.pdf", "");
    assert_eq!(status(&output), 0, "{}", said(&output));
    assert!(answer(&output).contains("Engine off, key out"));
    let (html, _) = desk.demo("card.html", "");
    let html = std::fs::read_to_string(html).expect("the page");
    let sections: Vec<&str> = html.split("<section").skip(1).collect();
    let machines = due["answers"].as_array().expect("machines");
    assert_eq!(
        (pages(&pdf).0, sections.len()),
        (machines.len(), machines.len())
    );
    for (place, machine) in machines.iter().enumerate() {
        let printed = page_text(&pdf, place + 1);
        let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
        let section = plain(sections[place]);
        let name = machine["machine"].as_str().expect("a name").to_string();
        for shown in marks(machine).into_iter().chain([name]) {
            assert!(printed.contains(&shown), "{shown}: {printed}");
            assert!(section.contains(&shown), "{shown}: {section}");
        }
        for caution in due["cautions"].as_array().expect("cautions") {
            let words = caution.as_str().expect("a caution");
            assert!(printed.contains(words), "{words}: {printed}");
            assert!(section.contains(words), "{words}: {section}");
        }
    }
    // The figures of the machine's own row.
    assert!(page_text(&pdf, 1).contains("190 N m") && page_text(&pdf, 2).contains("92.0 mm"));
}

#[test]
fn nothing_on_a_page_runs_into_anything_or_off_it() {
    let desk = Desk::new();
    for (name, arguments) in [
        ("a.pdf", "--machine Heron"),
        ("b.pdf", "--machine Nettle --paper letter --units us"),
        ("c.pdf", "--set White --paper letter --units us"),
    ] {
        let (file, output) = desk.demo(name, arguments);
        assert_eq!(status(&output), 0, "{}", said(&output));
        stands_clear(&file);
    }
    // The fullest pages: many knives and many warnings, on the shorter paper.
    let shop = Shop::new();
    let machine = "the large drum that stands at the far end of the upper yard";
    let machines = shop
        .text("machines.csv")
        .replace("big-drum,drum,4", &format!("{machine},drum,8"));
    shop.write("machines.csv", machines);
    for typed in [
        "add set --name B --knives 8 --edges 2",
        "add event fitted --set B --meter 1250 --date 2026-03-02",
        "add run --hours 6 --wood oak --dirt clean --date 2026-03-02",
        "add event struck --meter 1254 --date 2026-03-02",
    ] {
        let output = shop.run(&typed.split(' ').collect::<Vec<_>>());
        assert_eq!(status(&output), 0, "{}", said(&output));
    }
    for arguments in [vec!["card"], vec!["card", "--set", "B"]] {
        let file = shop.log().join("full.pdf");
        let out = file.display().to_string();
        let output = shop.run(&[&arguments[..], &["--paper", "letter", "--out", &out]].concat());
        assert_eq!(status(&output), 0, "{}", said(&output));
        stands_clear(&file);
    }
}

#[test]
fn paper_is_as_asked_for_or_as_the_units_have_it() {
    let desk = Desk::new();
    // A4 and Letter in points: 72 to the inch, 25.4 mm to the inch.
    let a4 = (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0);
    let letter = (612.0, 792.0);
    for (arguments, wanted) in [
        ("", a4),
        ("--units us", letter),
        ("--paper letter", letter),
        ("--units us --paper a4", a4),
    ] {
        let (file, output) = desk.demo("card.pdf", &format!("--machine Nettle {arguments}"));
        assert_eq!(status(&output), 0, "{}", said(&output));
        let (count, width, height) = pages(&file);
        assert_eq!(count, 1);
        assert!(
            (width - wanted.0).abs() < 0.1 && (height - wanted.1).abs() < 0.1,
            "{arguments}"
        );
    }
    // 110 N m are 81.1 pound-feet, 92 mm are 3.622 in (NIST SP 811, appendix B).
    let (file, _) = desk.demo("us.pdf", "--machine Nettle --units us");
    let text = page_text(&file, 1);
    assert!(
        text.contains("81 lb ft") && text.contains("3.622 in"),
        "{text}"
    );
}

#[test]
fn the_sheet_of_a_set_has_its_advice_widths_and_history() {
    let desk = Desk::new();
    let knives = json(&keenspan(&["--log", LOG, "knives", "Red", "--json"]));
    for name in ["red.pdf", "red.html"] {
        let (file, output) = desk.demo(name, "--set red");
        assert_eq!(status(&output), 0, "{}", said(&output));
        let text = if name.ends_with("pdf") {
            assert_eq!(pages(&file).0, 1);
            page_text(&file, 1)
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
        } else {
            plain(&std::fs::read_to_string(file).expect("the page"))
        };
        let answer = &knives["answers"][0];
        let left = answer["stock"]["regrinds_left"].to_string();
        let advice = answer["advice"].as_str().expect("advice");
        assert!(text.to_lowercase().contains(advice), "{advice}: {text}");
        // Red was listed at 108.8 mm; its logged grinds took 0.4, 0.8 and 0.4 mm; Heron discards at 102 mm.
        for shown in [
            "Set Red",
            "108.8 mm",
            "107.2 mm",
            "102.0 mm",
            &format!("grinds left: {left}"),
            "2024-04-08 took 0.40 mm, sharpening van",
            "2024-03-04 2024-04-02 Heron 46",
        ] {
            assert!(text.contains(shown), "{shown}: {text}");
        }
    }
}

#[test]
fn what_cannot_be_made_is_said_in_a_sentence() {
    let desk = Desk::new();
    for (name, arguments, says) in [
        ("x.pdf", "--machine Otter", "it has Heron, Nettle"),
        ("x.pdf", "--set Grey", "the log has no set \"Grey\""),
        ("x.doc", "", "ends in .pdf or .html"),
    ] {
        let (file, output) = desk.demo(name, arguments);
        assert_eq!(status(&output), 2, "{arguments}");
        assert!(said(&output).contains(says), "{}", said(&output));
        assert!(!file.exists());
    }
}

#[test]
fn only_a_card_is_written_over() {
    let desk = Desk::new();
    let other = desk.file("card.pdf");
    std::fs::write(&other, "%PDF-1.7 an invoice").expect("written");
    let (file, output) = desk.demo("card.pdf", "");
    assert_eq!(status(&output), 2);
    assert!(
        said(&output).contains("name another file"),
        "{}",
        said(&output)
    );
    let kept = std::fs::read_to_string(&file).expect("the invoice");
    assert_eq!(kept, "%PDF-1.7 an invoice");
    for name in ["own.pdf", "own.html"] {
        let (_, first) = desk.demo(name, "--machine Heron");
        let (_, again) = desk.demo(name, "--machine Heron");
        assert_eq!((status(&first), status(&again)), (0, 0), "{}", said(&again));
    }
}

#[test]
fn a_file_that_cannot_be_written_is_named_and_nothing_is_left() {
    let desk = Desk::new();
    let (_, output) = desk.demo("nowhere/card.pdf", "");
    assert_eq!(status(&output), 4);
    assert!(said(&output).contains("card.pdf"), "{}", said(&output));
    #[cfg(target_os = "linux")]
    full_disk(&desk);
}

/// A limit on the size of files stands in for a full disk: the system refuses the rest of the bytes.
#[cfg(target_os = "linux")]
fn full_disk(desk: &Desk) {
    let (file, output) = desk.demo("card.pdf", "");
    assert_eq!(status(&output), 0);
    let before = std::fs::read(&file).expect("the card");
    let typed = format!(
        "trap '' XFSZ; ulimit -f 8; exec {} --log {LOG} card --out {}",
        env!("CARGO_BIN_EXE_keenspan"),
        file.display()
    );
    let output = Command::new("sh").args(["-c", &typed]).output();
    let output = output.expect("a shell");
    assert_eq!(status(&output), 4, "{}", said(&output));
    assert!(
        said(&output).contains("stands as it was before"),
        "{}",
        said(&output)
    );
    assert_eq!(std::fs::read(&file).expect("the card"), before);
    let left = std::fs::read_dir(desk.0.path())
        .expect("the folder")
        .count();
    assert_eq!(left, 1);
}

#[test]
fn a_machine_without_figures_has_lines_to_fill_in_and_any_name() {
    let shop = Shop::new();
    let machines = shop.text("machines.csv").replace("big-drum", "Żółw 木 <b>");
    shop.write("machines.csv", machines);
    for name in ["card.pdf", "card.html"] {
        let file = shop.log().join(name);
        let output = shop.run(&["card", "--out", &file.display().to_string()]);
        // Nobody wrote down which edge is in: the card says so, and leaves its box blank.
        assert_eq!(status(&output), 3, "{}", said(&output));
        let strange = answer(&output).contains("do not include 木");
        assert_eq!(strange, name.ends_with("pdf"));
        let text = if strange {
            page_text(&file, 1)
        } else {
            plain(&std::fs::read_to_string(&file).expect("the page"))
                .replace("&lt;", "<")
                .replace("&gt;", ">")
        };
        assert!(text.contains("Żółw 木 <b>"), "{text}");
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            words.contains("No row of the log says which edge is at work"),
            "{words}"
        );
        assert!(!words.contains("N m") && !words.contains("lb ft") && !words.contains(" mm"));
    }
}

#[test]
fn a_struck_edge_has_no_mark_on_its_card() {
    let shop = Shop::new();
    for typed in [
        "add event fitted --set A --meter 1250 --date 2026-03-02",
        "add run --hours 6 --wood oak --dirt clean --date 2026-03-02",
        "add event struck --meter 1254 --date 2026-03-02",
    ] {
        let output = shop.run(&typed.split(' ').collect::<Vec<_>>());
        assert_eq!(status(&output), 0, "{}", said(&output));
    }
    let file = shop.log().join("card.pdf");
    let before = json(&shop.run(&["due", "--json"]));
    assert_eq!(before["answers"][0]["ahead"], Value::Array(Vec::new()));
    let output = shop.run(&["card", "--out", &file.display().to_string()]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let text = page_text(&file, 1);
    assert!(
        text.contains("not to be run") && text.contains("A was struck"),
        "{text}"
    );
    assert!(
        !text.contains("dull already") && !text.contains(" h "),
        "{text}"
    );
}

/// Whoever holds knives that must not run is not told to grind them.
#[test]
fn the_sheet_of_knives_that_must_not_run_sends_nobody_to_grind_them() {
    let desk = Desk::new();
    for (seen, sound) in [("--cracked", false), ("--width 101mm", false), ("", true)] {
        let (pdf, _) = desk.demo("white.pdf", format!("--set White {seen}").trim());
        stands_clear(&pdf);
        let printed = page_text(&pdf, 1);
        let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(
            printed.contains("Grind all to the narrowest"),
            sound,
            "{printed}"
        );
        assert_eq!(
            printed.contains("Neither ground nor run"),
            !sound,
            "{printed}"
        );
        assert_eq!(printed.contains("Not to be run"), !sound, "{printed}");
    }
}

/// The sheet tells the same decision as `knives` with the same things seen.
#[test]
fn what_is_seen_on_the_bench_is_on_the_sheet() {
    let desk = Desk::new();
    let seen = "--grade dull --nick 0.5mm --width 96.5mm";
    let typed: Vec<&str> = ["--log", LOG, "--json", "knives", "Ring"]
        .into_iter()
        .chain(seen.split(' '))
        .collect();
    let knives = json(&keenspan(&typed))["answers"][0].clone();
    let unseen = json(&keenspan(&["--log", LOG, "--json", "knives", "Ring"]))["answers"][0].clone();
    assert_ne!(knives["advice"], unseen["advice"]);
    let (pdf, output) = desk.demo("ring.pdf", &format!("--set Ring {seen}"));
    assert_eq!(status(&output), 0, "{}", said(&output));
    stands_clear(&pdf);
    let printed = page_text(&pdf, 1);
    let printed = printed.split_whitespace().collect::<Vec<_>>().join(" ");
    let advice = knives["advice"].as_str().expect("words");
    let wear = knives["wear"]["estimate"].as_f64().expect("a fraction");
    for shown in [
        format!("What to do: in Nettle, edge 2 {}", capital(advice)),
        "graded dull, deepest nick 0.5mm, narrowest knife 96.5mm".to_string(),
        format!("edge 2 about {:.0} % of the way to dull", 100.0 * wear),
        "now, measured 96.5 mm".to_string(),
    ] {
        assert!(printed.contains(&shown), "{shown}: {printed}");
    }
    // Without a set there is nothing to see.
    let (_, output) = desk.demo("all.pdf", "--nick 1mm");
    assert_eq!(status(&output), 2);
}

fn capital(words: &str) -> String {
    let (first, rest) = words.split_at(1);
    first.to_uppercase() + rest
}

/// As a phone gets it: as wide as the screen, the mark before the cautions, nothing lost.
#[test]
fn the_page_is_made_for_a_phone_too() {
    let desk = Desk::new();
    let (html, _) = desk.demo("card.html", "");
    let html = std::fs::read_to_string(html).expect("the page");
    assert!(html.contains("name=\"viewport\" content=\"width=device-width, initial-scale=1\""));
    let words = plain(&html);
    let place = |part: &str| {
        words
            .find(part)
            .unwrap_or_else(|| panic!("{part}: {words}"))
    };
    assert!(place("Knives due at hour meter") < place("Before hands go near knives"));
}
