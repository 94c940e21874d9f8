//! Shells, man and terminals of every kind.

use crate::support::{Shop, answer, json, keenspan, said, status};
use std::process::{Command, Stdio};

fn demo(arguments: &[&str], environment: &[(&str, &str)]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_keenspan"));
    command
        .env_remove("NO_COLOR")
        .env_remove("COLUMNS")
        .args([
            "--log",
            concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank"),
        ])
        .args(arguments)
        .envs(environment.iter().copied())
        .stdin(Stdio::null());
    answer(&command.output().expect("the program runs"))
}

#[test]
fn bash_reads_its_completions_and_offers_the_commands() {
    let script = answer(&keenspan(&["completions", "bash"]));
    let offered = Command::new("bash")
        .arg("-c")
        .arg(format!(
            "{script}\nCOMP_WORDS=(keenspan int) COMP_CWORD=1; _keenspan keenspan int keenspan; \
             printf '%s\\n' \"${{COMPREPLY[@]}}\""
        ))
        .output()
        .expect("bash runs");
    assert_eq!(answer(&offered).trim(), "interval", "{}", said(&offered));
}

#[test]
fn completions_are_the_same_on_a_narrow_terminal_and_in_json() {
    let plain = answer(&keenspan(&["completions", "zsh"]));
    assert_eq!(demo(&["completions", "zsh"], &[("COLUMNS", "40")]), plain);
    let told = json(&keenspan(&["--json", "completions", "zsh"]));
    assert_eq!(told["script"], plain);
    assert_eq!(status(&keenspan(&["completions", "abacus"])), 2);
}

#[test]
fn every_command_has_a_page_for_man() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = folder.path().join("man").display().to_string();
    let told = json(&keenspan(&["--json", "man", "--out", &out]));
    let files = told["files"].as_array().expect("files");
    let help = answer(&keenspan(&["--help"]));
    let listed = help.lines().skip_while(|line| *line != "Commands:").skip(1);
    let commands: Vec<&str> = listed
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert!(
        commands.contains(&"interval") && commands.len() > 10,
        "{commands:?}"
    );
    for name in commands {
        let page = format!("{out}/keenspan-{name}.1");
        let text = std::fs::read_to_string(&page).expect("a page");
        assert!(text.contains(&format!(".TH keenspan-{name} 1")), "{text}");
        assert!(files.iter().any(|file| *file == page.as_str()), "{page}");
    }
    assert!(std::fs::exists(format!("{out}/keenspan-add-run.1")).expect("a folder"));
}

#[test]
fn man_replaces_its_own_pages_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = folder.path().display().to_string();
    assert_eq!(status(&keenspan(&["man", "--out", &out])), 0);
    assert_eq!(status(&keenspan(&["man", "--out", &out])), 0);
    let other = folder.path().join("keenspan-due.1");
    std::fs::write(&other, "my notes\n").expect("a file");
    let refused = keenspan(&["man", "--out", &out]);
    assert_eq!(status(&refused), 2);
    assert!(said(&refused).contains("keenspan-due.1 stands there already"));
    assert_eq!(
        std::fs::read_to_string(&other).expect("a file"),
        "my notes\n"
    );
}

#[test]
fn prose_fits_a_narrow_terminal_and_says_the_same() {
    let wide = demo(&["interval"], &[]);
    // A command with the folder of its log stays whole, however long that is.
    let command = |line: &str| line.contains("keenspan --log");
    let mut lines = wide.lines();
    assert!(
        lines.all(|line| command(line) || line.chars().count() <= 78),
        "{wide}"
    );
    for columns in ["40", "55"] {
        let narrow = demo(&["interval"], &[("COLUMNS", columns)]);
        let width: usize = columns.parse().expect("a width");
        let prose = |line: &&str| !line.trim_start().contains("  ");
        for line in narrow.lines().filter(prose) {
            // A heading of a machine or table is one line.
            let heading = !line.starts_with(' ') || line.contains("change every so many");
            let whole = heading || command(line);
            assert!(whole || line.chars().count() <= width, "{line}");
        }
        let words = |text: &str| {
            text.split_whitespace()
                .map(str::to_string)
                .collect::<Vec<_>>()
        };
        assert_eq!(words(&narrow), words(&wide));
    }
    let odd = demo(&["interval"], &[("COLUMNS", "wide")]);
    assert_eq!(odd, wide);
}

#[test]
fn alarms_are_red_only_where_colours_are_wanted() {
    let red = "\u{1b}[1m\u{1b}[31m!";
    let plain = demo(&["interval"], &[]);
    assert!(
        plain.contains("  ! Rows") && !plain.contains('\u{1b}'),
        "{plain}"
    );
    let forced = demo(&["interval"], &[("CLICOLOR_FORCE", "1")]);
    assert!(forced.contains(red), "{forced:?}");
    let none = demo(&["interval"], &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]);
    assert_eq!(none, plain);
    let json = demo(&["--json", "interval"], &[("CLICOLOR_FORCE", "1")]);
    assert!(!json.contains('\u{1b}'));
}

#[test]
fn a_fault_that_stops_an_answer_is_shown_in_its_row() {
    let shop = Shop::new();
    shop.write("shop.csv", "key,value,unit,note\nunits,cubits,,\n");
    let stopped = shop.run(&["interval"]);
    assert_eq!(status(&stopped), 4);
    let shown = "      2 | units,cubits,,\n        |       ^^^^^^\n";
    assert!(said(&stopped).contains(shown), "{}", said(&stopped));
}

#[test]
fn a_fault_in_a_life_table_is_shown_in_its_row() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lives.csv");
    std::fs::write(&file, "lower,upper\n10,10\n12,dozen\n").expect("a file");
    let stopped = keenspan(&["lifedata", &file.display().to_string()]);
    assert_eq!(status(&stopped), 4);
    let shown = "      3 | 12,dozen\n        |    ^^^^^\n";
    assert!(said(&stopped).contains(shown), "{}", said(&stopped));
}
