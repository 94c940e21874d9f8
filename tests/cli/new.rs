//! Starting a log.

use crate::support::{Shop, answer, json, keenspan, said, status};

#[test]
fn a_new_log_reads_clean_and_says_how_to_fill_it() {
    let shop = Shop::new();
    assert_eq!(status(&shop.run(&["verify"])), 0);
    let readme = shop.text("README.txt");
    let words = [
        "fitted",
        "checked",
        "noticed dull",
        "touched up",
        "flipped",
        "pulled",
        "reground",
        "struck",
        "discarded",
        "bed knife turned",
        "bed knife reset",
        "meter replaced",
        "clean",
        "dusty",
        "dirty",
        "gritty",
        "keen",
        "working",
        "dull",
        "overrun",
        "manual",
        "locked",
        "gloves",
    ];
    for word in words {
        assert!(readme.contains(word), "{word}");
    }
}

#[test]
fn a_log_that_exists_is_never_written_over() {
    let shop = Shop::new();
    let before = shop.text("machines.csv");
    let log = shop.log().display().to_string();
    let again = keenspan(&[
        "new",
        &log,
        "--machine",
        "other",
        "--rotor",
        "disc",
        "--knives",
        "2",
    ]);
    assert_eq!(status(&again), 2);
    assert!(said(&again).contains("exists already; nothing was changed"));
    assert_eq!(shop.text("machines.csv"), before);
}

#[test]
fn without_a_machine_and_without_a_terminal_nothing_is_made() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let log = folder.path().join("log");
    let refused = keenspan(&["new", &log.display().to_string()]);
    assert_eq!(status(&refused), 2);
    assert!(said(&refused).contains("--machine NAME"));
    assert!(!log.exists());
}

#[test]
fn the_answer_in_json_has_the_fields_that_every_answer_has() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let log = folder.path().join("log").display().to_string();
    let made = keenspan(&[
        "new",
        &log,
        "--json",
        "--units",
        "metric",
        "--machine",
        "M",
        "--rotor",
        "disc",
        "--knives",
        "2",
    ]);
    let answer = json(&made);
    assert_eq!(answer["keenspan"]["command"], "new");
    assert_eq!(answer["keenspan"]["schema"], 2);
    assert_eq!(answer["units"], "metric");
    assert!(answer["warnings"].as_array().is_some_and(Vec::is_empty));
}

#[test]
fn wrong_usage_ends_with_two() {
    for arguments in [
        &["sharpen"][..],
        &["new"],
        &["add", "run", "--nonsense"],
        &["--units", "ells", "verify"],
    ] {
        let wrong = keenspan(arguments);
        assert_eq!(status(&wrong), 2, "{arguments:?}");
        assert_eq!(answer(&wrong), "");
    }
}

#[test]
fn who_is_told_to_fit_knives_is_told_how_to_handle_them() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let log = folder.path().join("log").display().to_string();
    let new = "--machine M --rotor disc --knives 2";
    let new: Vec<&str> = ["new", &log].into_iter().chain(new.split(' ')).collect();
    let made = answer(&keenspan(&new));
    assert!(made.contains("add event fitted"), "{made}");
    for caution in ["machine's own manual", "rotor lock", "key out"] {
        assert!(made.contains(caution), "{caution}: {made}");
    }
}
