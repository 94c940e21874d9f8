//! Commands that answers tell people to type next work when they are copied as they stand.

use crate::support::{Shop, answer, keenspan, said, status};
use std::path::Path;

/// Every command of an answer that reads the log, from the program's name to the end of its line.
fn commands(words: &str) -> Vec<String> {
    const READ_THE_LOG: [&str; 11] = [
        "add", "verify", "fit", "interval", "due", "report", "knives", "card", "job", "sets",
        "drift",
    ];
    let reads = |verb: &str| {
        READ_THE_LOG.contains(&verb.trim_end_matches(|letter: char| !letter.is_alphanumeric()))
    };
    let mut found = Vec::new();
    for line in words.lines() {
        for (at, _) in line.match_indices("keenspan ") {
            let command = &line[at..];
            let verb = command.split(' ').nth(1).unwrap_or_default();
            if reads(verb) || verb == "--log" {
                found.push(command.to_string());
            }
        }
        // No command is cut off where its name ends.
        assert!(!line.ends_with("keenspan"), "{words}");
    }
    found
}

#[test]
fn every_command_of_an_answer_names_the_log_that_was_asked_about() {
    let shop = Shop::at_work();
    let log = shop.log().display().to_string();
    let mut count = 0;
    for typed in [
        "due",
        "interval",
        "knives",
        "fit",
        "verify",
        "job --hours 4",
        "sets --turnaround 7 --hours-per-year 400",
        "drift",
        "interval --machine nobody",
        "knives nobody",
        "sets --turnaround 7",
    ] {
        let output = shop.run(&typed.split(' ').collect::<Vec<_>>());
        for command in commands(&(answer(&output) + &said(&output))) {
            assert!(
                command.starts_with(&format!("keenspan --log {log} ")),
                "{typed}: {command}"
            );
            count += 1;
        }
    }
    assert!(count >= 8, "{count}");
}

/// The words of a command up to what a person has to fill in.
fn typed(command: &str, log: &str) -> Vec<String> {
    let after = command.strip_prefix("keenspan --log ").expect(command);
    let after = after.strip_prefix(log).expect(command);
    let words = after.split_whitespace().take(2).map(str::to_string);
    ["--log".to_string(), log.to_string()]
        .into_iter()
        .chain(words)
        .collect()
}

#[test]
fn a_command_that_is_copied_is_answered() {
    let shop = Shop::at_work();
    let log = shop.log().display().to_string();
    let due = commands(&answer(&shop.run(&["due"])));
    let knives = due.iter().find(|it| it.contains(" knives ")).expect("one");
    let arguments = typed(knives, &log);
    assert_eq!(arguments.last().map(String::as_str), Some("A"));
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    assert_eq!(status(&keenspan(&arguments)), 0);
}

#[test]
fn a_folder_with_blanks_is_quoted_and_the_folder_one_stands_in_is_not_named() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let log = folder.path().join("our log");
    let written = log.display().to_string();
    let new = "--machine drum --rotor drum --knives 4 --edges 2 --meter 1200";
    let new: Vec<&str> = ["new", &written]
        .into_iter()
        .chain(new.split(' '))
        .collect();
    let made = answer(&keenspan(&new));
    assert!(
        made.contains(&format!("keenspan --log \"{written}\" add set")),
        "{made}"
    );
    let due = answer(&keenspan(&["--log", &written, "due"]));
    assert!(
        due.contains(&format!("keenspan --log \"{written}\" add event fitted")),
        "{due}"
    );
    let here = std::process::Command::new(env!("CARGO_BIN_EXE_keenspan"))
        .arg("due")
        .current_dir(Path::new(&log))
        .output()
        .expect("the program runs");
    let here = answer(&here);
    assert!(here.contains("keenspan add event fitted"), "{here}");
    assert!(!here.contains("--log"), "{here}");
}
