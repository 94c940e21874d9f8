//! The pictures in README and notebooks are those that the program, or the library by figures that the notebooks
//! hold, makes now. `WRITE_PICTURES=1` writes them anew.

mod by_hand;
mod calibration;
mod checks;
mod defaults;
mod growing;
mod marks;
mod page;

use crate::support::{answer, keenspan, said, status};
use keenspan::views::svg::Plot;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Of the demo's report.
const OF_THE_DEMO: [&str; 4] = [
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

/// The picture kept under this name is this one.
fn hold_svg(name: &str, svg: &str) {
    let kept = folder().join(name);
    if std::env::var_os("WRITE_PICTURES").is_some() {
        fs::create_dir_all(folder()).expect("a folder");
        fs::write(&kept, svg).expect("written");
    }
    let kept = fs::read_to_string(kept).unwrap_or_default();
    assert!(kept == svg, "{name}: write it anew: WRITE_PICTURES=1");
}

fn hold(name: &str, plot: &Plot) {
    hold_svg(name, &plot.svg_alone().expect(name));
}

/// Those of these names among the pictures of a log's report.
fn hold_reported(log: &Path, names_kept: &[&str]) {
    let scratch = tempfile::tempdir().expect("a temporary folder");
    let (log, made) = (log.display(), scratch.path().join("pictures"));
    let told = made.display().to_string();
    let output = keenspan(&["--log", &log.to_string(), "report", "--pictures", &told]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    let told = format!("{} pictures are in ", names(&made).len());
    assert!(answer(&output).contains(&told), "{}", answer(&output));
    for name in names_kept {
        let svg = fs::read_to_string(made.join(name)).expect(name);
        hold_svg(name, &svg);
    }
}

#[test]
fn the_pictures_of_the_demo() {
    hold_reported(
        &Path::new(ROOT).join("datasets/demo-riverbank"),
        &OF_THE_DEMO,
    );
}

/// Each picture that a page shows is there and said in words, and each one kept is shown.
#[test]
fn pages_show_pictures_that_are_there_with_words_for_them() {
    let mut shown = BTreeSet::new();
    let notebooks = fs::read_dir(Path::new(ROOT).join("notebooks-md")).expect("the notebooks");
    let notebooks = notebooks.map(|entry| entry.expect("an entry").path());
    for page in notebooks.chain([Path::new(ROOT).join("README.md")]) {
        if page.is_dir() {
            continue;
        }
        let text = fs::read_to_string(&page).expect("a page");
        for part in text.split("\n![").skip(1) {
            let (words, rest) = part.split_once("](").expect("a picture");
            let (file, _) = rest.split_once(')').expect("a picture");
            assert!(words.len() > 60, "{}: {words}", page.display());
            let file = page.parent().expect("a folder").join(file);
            assert!(file.exists(), "{}: {}", page.display(), file.display());
            let name = file.file_name().expect("a name").to_string_lossy();
            shown.insert(name.into_owned());
        }
    }
    assert_eq!(shown, names(&folder()));
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
