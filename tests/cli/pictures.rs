//! The pictures in README and notebooks are those that the program makes of the demo now.

use crate::support::{answer, keenspan, said, status};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Those kept, with the pages that show them.
const KEPT: [&str; 4] = [
    "cost-heron.svg",
    "drift-all-machines.svg",
    "edges-heron.svg",
    "knives-heron.svg",
];

fn folder() -> PathBuf {
    Path::new(ROOT).join("notebooks-md/pictures")
}

fn names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    let name = |entry: fs::DirEntry| entry.file_name().to_string_lossy().into_owned();
    entries.map(|entry| name(entry.expect("a file"))).collect()
}

/// `WRITE_PICTURES=1` writes them anew.
#[test]
fn the_pictures_kept_are_those_of_the_demo() {
    let scratch = tempfile::tempdir().expect("a temporary folder");
    let demo = format!("{ROOT}/datasets/demo-riverbank");
    let made = scratch.path().join("pictures");
    let output = keenspan(&[
        "--log",
        &demo,
        "report",
        "--pictures",
        &made.display().to_string(),
    ]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let told = format!("{} pictures are in ", names(&made).len());
    assert!(answer(&output).starts_with(&told), "{}", answer(&output));
    let anew = std::env::var_os("WRITE_PICTURES").is_some();
    for name in KEPT {
        let made = fs::read(made.join(name)).expect(name);
        if anew {
            fs::create_dir_all(folder()).expect("a folder");
            fs::write(folder().join(name), &made).expect("written");
        }
        let kept = fs::read(folder().join(name)).expect(name);
        assert!(kept == made, "{name}: write it anew: WRITE_PICTURES=1");
    }
    assert_eq!(names(&folder()), BTreeSet::from(KEPT.map(String::from)));
}

/// Each picture that a page shows is there and said in words, and each one kept is shown.
#[test]
fn pages_show_pictures_that_are_there_with_words_for_them() {
    let mut shown = BTreeSet::new();
    for (page, beside) in [
        ("README.md", "."),
        ("notebooks-md/01-first-hour.md", "notebooks-md"),
    ] {
        let text = fs::read_to_string(Path::new(ROOT).join(page)).expect(page);
        for part in text.split("![").skip(1) {
            let (words, rest) = part.split_once("](").expect("a picture");
            let (file, _) = rest.split_once(')').expect("a picture");
            assert!(words.len() > 60, "{page}: {words}");
            let file = Path::new(ROOT).join(beside).join(file);
            assert!(file.exists(), "{page}: {}", file.display());
            let name = file.file_name().expect("a name").to_string_lossy();
            shown.insert(name.into_owned());
        }
    }
    assert_eq!(shown, BTreeSet::from(KEPT.map(String::from)));
}

#[test]
fn a_picture_is_written_over_nothing_but_a_picture_of_its_own() {
    let scratch = tempfile::tempdir().expect("a temporary folder");
    let demo = format!("{ROOT}/datasets/demo-riverbank");
    let file = scratch.path().join("cost-heron.svg");
    fs::write(&file, "somebody's own").expect("written");
    let folder = scratch.path().display().to_string();
    let output = keenspan(&["--log", &demo, "report", "--pictures", &folder]);
    assert_eq!(status(&output), 2);
    assert!(
        said(&output).contains("cost-heron.svg"),
        "{}",
        said(&output)
    );
    assert_eq!(
        fs::read_to_string(&file).expect("the file"),
        "somebody's own"
    );
    assert_eq!(names(scratch.path()).len(), 1);
    // Neither a page nor pictures: nothing to do.
    assert_eq!(status(&keenspan(&["--log", &demo, "report"])), 2);
}
