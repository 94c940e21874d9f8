//! Adding rows: what is refused, what is kept, and what is said about knives.

use crate::support::{Shop, answer, json, said, status};
use keenspan::logbook::read::read_logbook;

#[test]
fn a_run_is_added_with_todays_date_and_reads_back() {
    let shop = Shop::new();
    let run = [
        "add",
        "run",
        "--hours",
        "3.5",
        "--wood",
        "oak 60%, ash 40%",
        "--dirt",
        "dusty",
    ];
    let added = shop.run(&run);
    assert_eq!(status(&added), 0, "{}", said(&added));
    let reading = read_logbook(&shop.log()).expect("a log");
    let run = reading.logbook.runs.first().expect("the run");
    assert_eq!(run.machine, "big-drum");
    assert_eq!(
        run.wood.as_ref().map(ToString::to_string).as_deref(),
        Some("oak 60%, ash 40%")
    );
    assert_eq!(status(&shop.run(&["verify"])), 0);
}

#[test]
fn a_row_with_problems_is_refused_with_all_of_them_and_nothing_is_written() {
    let shop = Shop::new();
    let before = shop.text("runs.csv");
    let wrong = [
        "add",
        "run",
        "--machine",
        "big-drm",
        "--hours",
        "-2",
        "--wood",
        "spruse",
    ];
    let refused = shop.run(&wrong);
    assert_eq!(status(&refused), 2);
    for part in [
        "\"big-drum\"",
        "found \"-2\"",
        "spruce",
        "Nothing was written",
    ] {
        assert!(said(&refused).contains(part), "{part}: {}", said(&refused));
    }
    assert_eq!(shop.text("runs.csv"), before);
}

#[test]
fn an_edge_that_leaves_the_machine_is_asked_its_grade() {
    let shop = Shop::new();
    for event in ["pulled", "flipped"] {
        let before = shop.text("events.csv");
        let refused = shop.run(&["add", "event", event, "--meter", "1240"]);
        assert_eq!(status(&refused), 2);
        assert!(said(&refused).contains("--grade") && said(&refused).contains("--no-grade"));
        assert_eq!(shop.text("events.csv"), before);
        assert_eq!(status(&shop.run(&["add", "event", event, "--no-grade"])), 0);
        assert_eq!(
            status(&shop.run(&["add", "event", event, "--grade", "dull"])),
            0
        );
    }
}

#[test]
fn whoever_handles_knives_is_given_the_cautions() {
    let shop = Shop::new();
    let handled = [
        &["fitted", "--set", "A"][..],
        &["touched", "up"],
        &["flipped", "--grade", "keen"],
        &["pulled", "--no-grade"],
        &["bed-knife-reset"],
        &["bed knife turned"],
        &["reground", "--set", "A"],
    ];
    for event in handled {
        let added = shop.run(&[&["add", "event"], event].concat());
        assert_eq!(status(&added), 0, "{event:?}: {}", said(&added));
        for part in [
            "Engine off, key out",
            "rotor lock",
            "gloves",
            "manual",
            "local rules",
        ] {
            assert!(answer(&added).contains(part), "{event:?}: {part}");
        }
    }
    let noticed = shop.run(&["add", "event", "noticed dull", "--json"]);
    assert!(
        json(&noticed)["cautions"]
            .as_array()
            .is_some_and(Vec::is_empty)
    );
}

#[test]
fn a_text_that_a_spreadsheet_would_run_gets_an_apostrophe_and_comes_back_without() {
    let shop = Shop::new();
    let formulas = [
        "=HYPERLINK(\"http://x\")",
        "+1",
        "-1",
        "@SUM(A1)",
        "\t=1",
        "  =1+1",
        "'=quoted",
    ];
    for formula in formulas {
        let added = shop.run(&[
            "add", "run", "--hours", "1", "--who", formula, "--note", formula,
        ]);
        assert_eq!(status(&added), 0, "{}", said(&added));
    }
    let mut table = csv::Reader::from_path(shop.log().join("runs.csv")).expect("a table");
    for row in table.records() {
        for cell in &row.expect("a row") {
            let runs = cell.trim_start().starts_with(['=', '+', '-', '@']);
            assert!(!runs, "a spreadsheet would run {cell}");
        }
    }
    let runs = read_logbook(&shop.log()).expect("a log").logbook.runs;
    let notes: Vec<&str> = runs.iter().map(|run| run.note.as_str()).collect();
    assert_eq!(notes, formulas.map(str::trim));
}

#[test]
fn a_log_as_a_spreadsheet_left_it_keeps_every_byte_of_its_own() {
    let shop = Shop::new();
    let theirs = "\u{feff}note;who;hours;machine;date;weather\r\n\"two\r\nlines\";Jo;3,5;big-drum;2026-03-05;rain";
    shop.write("runs.csv", theirs);
    let added = shop.run(&["add", "run", "--hours", "2.25", "--note", "a; b"]);
    assert_eq!(status(&added), 0, "{}", said(&added));
    let text = shop.text("runs.csv");
    let new = text.strip_prefix(theirs).expect("the old text");
    assert!(new.starts_with("\r\n\"a; b\";;2,25;big-drum;"), "{new}");
    assert!(new.ends_with(";\r\n"), "{new}");
    let reading = read_logbook(&shop.log()).expect("a log");
    let hours: Vec<_> = reading.logbook.runs.iter().map(|run| run.span).collect();
    assert_eq!(hours.len(), 2, "{:?}", reading.problems);
    let wood = shop.run(&["add", "run", "--hours", "1", "--wood", "oak"]);
    assert_eq!(status(&wood), 4);
    assert!(
        said(&wood).contains("no column \"wood\""),
        "{}",
        said(&wood)
    );
}

#[test]
fn units_asked_for_are_written_out_beside_bare_numbers() {
    let shop = Shop::new();
    let checked = [
        "--units", "metric", "add", "event", "checked", "--flat", "0.4", "--nick", "1/64\"",
    ];
    assert_eq!(status(&shop.run(&checked)), 0);
    let events = read_logbook(&shop.log()).expect("a log").logbook.events;
    let flat = events.first().and_then(|event| event.flat).expect("a flat");
    assert_eq!(flat.millimetres(), 0.4);
}

#[test]
fn a_row_is_added_to_a_log_that_has_problems_elsewhere() {
    let shop = Shop::new();
    let header = shop.text("runs.csv");
    shop.write(
        "runs.csv",
        format!("{header}yesterday,big-drum,2,,,\"oak,,,,,"),
    );
    assert_eq!(
        status(&shop.run(&["add", "run", "--hours", "1", "--wood", "oak, ash"])),
        0
    );
    let reading = read_logbook(&shop.log()).expect("a log");
    assert_eq!((reading.set_aside(), reading.logbook.runs.len()), (1, 1));
}

#[test]
fn eight_writers_at_once_lose_nothing() {
    let shop = Shop::new();
    let writers: Vec<_> = (0..8)
        .map(|writer| {
            let log = shop.log().display().to_string();
            std::thread::spawn(move || {
                for row in 0..10 {
                    let note = format!("{writer}-{row}");
                    let added = crate::support::keenspan(&[
                        "--log", &log, "add", "run", "--hours", "0.1", "--note", &note,
                    ]);
                    assert_eq!(status(&added), 0, "{}", said(&added));
                }
            })
        })
        .collect();
    for writer in writers {
        writer.join().expect("a writer that ended well");
    }
    let runs = read_logbook(&shop.log()).expect("a log").logbook.runs;
    let notes: std::collections::BTreeSet<String> = runs.into_iter().map(|run| run.note).collect();
    assert_eq!(notes.len(), 80);
}

#[test]
fn an_unreachable_folder_is_an_error_that_says_what_to_do() {
    let shop = Shop::new();
    let elsewhere = shop.log().join("nowhere").display().to_string();
    let missing = crate::support::keenspan(&["--log", &elsewhere, "add", "run", "--hours", "1"]);
    assert_eq!(status(&missing), 4);
    assert!(said(&missing).contains("keenspan new FOLDER"));
    assert!(!shop.log().join("nowhere").exists());
}

#[test]
fn a_day_that_cannot_be_is_refused_and_verify_notes_one_that_stands() {
    let shop = Shop::new();
    let before = shop.text("runs.csv");
    let run = |more: &[&str]| shop.run(&[&["add", "run"], more].concat());
    for (more, told) in [
        (
            &["--hours", "300"][..],
            "at most a week's 168 hours under one day",
        ),
        (&["--start", "1200", "--end", "1400"], "come to 200.0 hours"),
        (
            &["--hours", "2", "--date", "2099-01-05"],
            "a day up to today",
        ),
    ] {
        let refused = run(more);
        assert_eq!(status(&refused), 2, "{more:?}");
        assert!(said(&refused).contains(told), "{}", said(&refused));
        assert!(said(&refused).contains("Nothing was written"));
        assert_eq!(shop.text("runs.csv"), before);
    }
    // A week may stand under one day; with it the day is full.
    let week = ["--hours", "160", "--date", "2026-03-02"];
    assert_eq!(status(&run(&week)), 0);
    let more = ["--hours", "11", "--date", "2026-03-02"];
    assert!(said(&run(&more)).contains("come to 171.0 hours"));
    let late = ["add", "event", "noticed dull", "--date", "2099-01-05"];
    assert!(said(&shop.run(&late)).contains("a day up to today"));
    let clean = answer(&shop.run(&["verify"]));
    assert!(!clean.contains("still to come"), "{clean}");
    // A log that has such rows is read all the same.
    let rows = shop.text("runs.csv") + "2099-01-05,big-drum,40,,,,,,,,\n";
    shop.write("runs.csv", rows);
    let verified = shop.run(&["verify"]);
    assert_eq!(status(&verified), 0);
    let words = answer(&verified)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    for part in [
        "runs.csv line 3: 2099-01-05 is still to come",
        "runs.csv line 3: with it the runs of big-drum on 2099-01-05 come to 40.0 hours",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    assert_eq!(status(&shop.run(&["knives"])), 0);
}

#[test]
fn a_run_names_its_machine_where_there_are_several() {
    let shop = Shop::new();
    let second = "add machine --name small-disc --rotor disc --knives 2 --edges 2";
    let added = shop.run(&second.split(' ').collect::<Vec<_>>());
    assert_eq!(status(&added), 0, "{}", said(&added));
    let refused = shop.run(&["add", "run", "--hours", "2"]);
    assert_eq!(status(&refused), 2);
    assert!(
        said(&refused).contains("--machine NAME; machines.csv has big-drum, small-disc"),
        "{}",
        said(&refused)
    );
}

#[test]
fn an_edge_just_fitted_is_not_set_aside() {
    let shop = Shop::at_work();
    let words = answer(&shop.run(&["verify"]));
    assert!(!words.contains("set aside: "), "{words}");
    assert!(words.contains("1 more was just fitted"), "{words}");
}

#[test]
fn words_that_say_something_else_than_the_wood_are_told_where_they_belong() {
    let shop = Shop::new();
    for (wood, right) in [
        ("dead ash", "write ash as wood and dry as state"),
        ("stumps", "write gritty as dirt, and as wood the species"),
        (
            "limbs",
            "hardwood or softwood for \"limbs\", which says the shape",
        ),
        (
            "pine and brush",
            "hardwood or softwood for \"brush\", which says the shape",
        ),
    ] {
        let run = [
            "add", "run", "--hours", "2", "--wood", wood, "--dirt", "clean",
        ];
        let asked = ["interval", "--wood", wood];
        for arguments in [&run[..], &asked[..]] {
            let output = shop.run(arguments);
            assert_eq!(status(&output), 2, "{wood}");
            assert!(said(&output).contains(right), "{wood}: {}", said(&output));
        }
    }
}
