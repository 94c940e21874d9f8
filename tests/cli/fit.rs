//! What the log has taught, asked of logs as crews have them.

use crate::support::{Shop, answer, is_estimate, json, keenspan, said, status};
use serde_json::Value;
use std::path::Path;
use std::process::Output;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");

fn demo(arguments: &[&str]) -> Output {
    keenspan(&[&["--log", DEMO, "fit"], arguments].concat())
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_demo_log_tells_what_it_taught_in_plain_words_within_eighty_columns() {
    let output = demo(&[]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    assert_eq!(said(&output), "", "no bar where nobody watches");
    let text = answer(&output);
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let words = flat(&text);
    for part in [
        "Half of all new edges on an average drum machine are dull after",
        "an average disc machine",
        "Dirty wood wears your edges",
        "Wood twice as hard wears your edges",
        "How many times as long edges on each machine last",
        "The eye that grades is off by about",
        "still the default:",
        "Method:",
        "The computation holds up",
        "after 12 more changes the range should be",
        "rotor is seen to stand still",
        "runs.csv 1. keenspan --log",
        "demo-riverbank verify shows them",
    ] {
        assert!(words.contains(part), "{part}\n{text}");
    }
    for jargon in [
        "posterior",
        "prior ",
        "logit",
        "log_sigma",
        "beta",
        "Hessian",
        "covariate",
        "NaN",
    ] {
        assert!(!words.contains(jargon), "{jargon}\n{text}");
    }
}

#[test]
fn programs_get_bounds_before_and_after_for_every_quantity() {
    let whole = json(&demo(&["--json"]));
    assert_eq!(whole["keenspan"]["command"], "fit");
    for list in ["learned", "groups", "strikes"] {
        let rows = whole[list].as_array().expect("a list");
        assert!(!rows.is_empty(), "{list}");
        for row in rows {
            assert!(
                is_estimate(&row["before"]) && is_estimate(&row["after"]),
                "{row}"
            );
            assert!(row["unit"].is_string() && row["name"].is_string(), "{row}");
            let share = row["share_from_defaults"].as_f64().expect("a share");
            assert!((0.0..=1.0).contains(&share), "{row}");
        }
    }
    assert_eq!(whole["strikes"].as_array().expect("a list").len(), 4);
    assert_eq!(whole["health"]["method"], "laplace");
    assert!(
        whole["health"]["doubts"]
            .as_array()
            .expect("a list")
            .is_empty()
    );
    let edges = &whole["edges"];
    let count = |name: &str| edges[name].as_u64().expect("a number");
    let aside = edges["set_aside"].as_array().expect("a list").len() as u64;
    assert_eq!(count("found"), count("used") + aside);
    for machine in whole["habits"].as_array().expect("a list") {
        let ranges: Vec<f64> = machine["after"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|it| it["range"].as_f64().expect("a range"))
            .collect();
        assert_eq!(ranges.len(), 4);
        assert!(ranges.windows(2).all(|pair| pair[0] <= pair[1]));
        assert!(ranges[3] < machine["now"].as_f64().expect("a range"));
    }
}

/// The demo was written from known truths: dirty wood wears faster than dusty, gritty faster than dirty, and
/// what the log says of dirt narrows its bounds.
#[test]
fn dirt_is_learned_in_its_order_and_its_bounds_come_in() {
    let whole = json(&demo(&["--json"]));
    let rows = whole["learned"].as_array().expect("a list");
    let of = |name: &str| rows.iter().find(|row| row["name"] == name).expect("a row");
    let width = |row: &Value, when: &str| {
        let part = |name: &str| row[when][name].as_f64().expect("a number");
        (part("upper") / part("lower")).ln()
    };
    let after = |name: &str| of(name)["after"]["estimate"].as_f64().expect("a number");
    assert!(
        after("dusty wood") < after("dirty wood") && after("dirty wood") < after("gritty wood")
    );
    for name in ["dirty wood", "gritty wood", "life on a drum"] {
        assert!(
            width(of(name), "after") < 0.8 * width(of(name), "before"),
            "{name}"
        );
    }
}

#[test]
fn an_empty_log_has_taught_nothing_and_says_so() {
    let shop = Shop::new();
    let output = shop.run(&["fit"]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let words = flat(&answer(&output));
    assert!(words.contains("taught next to nothing yet"), "{words}");
    assert!(!words.contains("average disc machine"), "the crew has none");
    assert!(words.contains("against"), "{words}");
}

/// On a log that holds one edge at work, where chains take a second.
#[test]
fn chains_and_weighted_draws_agree_and_the_words_name_the_chains() {
    let shop = Shop::new();
    let fitted = "add event fitted --set A --meter 1200 --date 2026-03-02";
    let pulled = "add event pulled --meter 1255 --grade dull --date 2026-03-20";
    for row in [fitted, pulled] {
        let output = shop.run(&row.split(' ').collect::<Vec<_>>());
        assert_eq!(status(&output), 0, "{}", said(&output));
    }
    let rows = |whole: &Value| whole["learned"].as_array().expect("a list").clone();
    let (quick, chains) = (
        shop.run(&["--json", "fit", "--posterior", "laplace"]),
        shop.run(&["--json", "fit", "--posterior", "nuts"]),
    );
    let (quick, by_chains, ended) = (json(&quick), json(&chains), status(&chains));
    assert_eq!(by_chains["health"]["method"], "nuts");
    let doubts = by_chains["health"]["doubts"].as_array().expect("a list");
    assert_eq!(ended, if doubts.is_empty() { 0 } else { 3 });
    for (one, other) in rows(&quick).iter().zip(rows(&by_chains)) {
        let part = |row: &Value, name: &str| row["after"][name].as_f64().expect("a number");
        let width = part(one, "upper") - part(one, "lower");
        let apart = (part(one, "estimate") - part(&other, "estimate")).abs();
        assert!(apart < 0.1 * width, "{one}\n{other}");
    }
    let words = answer(&shop.run(&["fit", "--posterior", "nuts"]));
    assert!(words.contains("Method: 4 chains of a sampler"), "{words}");
}

#[test]
fn other_laws_of_life_and_other_packs_are_taken_and_wrong_ones_named() {
    let whole = json(&demo(&["--json", "--family", "lognormal"]));
    assert_eq!(whole["family"], "lognormal");
    let missing = demo(&["--priors", "no-such-file.toml"]);
    assert_eq!(status(&missing), 2);
    assert!(
        said(&missing).contains("no-such-file.toml"),
        "{}",
        said(&missing)
    );
    let unknown = demo(&["--posterior", "guess"]);
    assert_eq!(status(&unknown), 2);
    assert!(said(&unknown).contains("laplace"), "{}", said(&unknown));
}

/// Programs that a shell runs in the background are born deaf to Ctrl-C, and so are their children; the end
/// by SIGTERM is the same.
fn interrupts_are_ignored() -> bool {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ignored = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    let mask = ignored.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok());
    mask.is_some_and(|mask| mask & 0b10 != 0)
}

#[cfg(unix)]
#[test]
fn an_interrupt_while_it_works_leaves_nothing_behind() {
    use std::os::unix::process::ExitStatusExt;
    use std::time::Duration;
    let (name, number) = if interrupts_are_ignored() {
        ("-TERM", 15)
    } else {
        ("-INT", 2)
    };
    let shop = Shop::new();
    for file in [
        "machines.csv",
        "sets.csv",
        "events.csv",
        "runs.csv",
        "shop.csv",
        "costs.csv",
    ] {
        let source = Path::new(DEMO).join(file);
        if source.exists() {
            shop.write(file, std::fs::read(source).expect("the demo"));
        }
    }
    let before = contents(&shop.log());
    let mut child = shop
        .command(&["fit", "--posterior", "nuts"])
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("the program runs");
    std::thread::sleep(Duration::from_millis(300));
    let sent = std::process::Command::new("kill")
        .args([name, &child.id().to_string()])
        .status();
    assert!(sent.expect("kill").success());
    let ended = child.wait().expect("a child");
    assert_eq!(
        ended.signal(),
        Some(number),
        "it was still at work: {ended}"
    );
    assert_eq!(contents(&shop.log()), before);
}

#[cfg(unix)]
fn contents(folder: &Path) -> Vec<(std::ffi::OsString, Vec<u8>)> {
    let entries = std::fs::read_dir(folder).expect("the log folder");
    let mut files: Vec<_> = entries
        .map(|entry| {
            let entry = entry.expect("a file");
            (
                entry.file_name(),
                std::fs::read(entry.path()).expect("a readable file"),
            )
        })
        .collect();
    files.sort();
    files
}
