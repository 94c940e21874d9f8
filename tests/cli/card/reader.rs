//! Files read back by poppler.

use std::path::Path;
use std::process::Command;

/// What another program makes of a file.
fn read_by(program: &str, arguments: &[&str], file: &Path) -> String {
    let output = Command::new(program)
        .args(arguments)
        .arg(file)
        .arg("-")
        .output()
        .unwrap_or_else(|error| panic!("{program} of poppler-utils: {error}"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "{said}");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

pub fn page_text(file: &Path, page: usize) -> String {
    let page = page.to_string();
    read_by("pdftotext", &["-f", &page, "-l", &page, "-raw"], file)
}

/// How many pages, and their size in points.
pub fn pages(file: &Path) -> (usize, f64, f64) {
    let output = Command::new("pdfinfo").arg(file).output();
    let output = output.expect("pdfinfo of poppler-utils");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let field = |name: &str| {
        let line = text.lines().find_map(|line| line.strip_prefix(name));
        line.expect("a field").trim().to_string()
    };
    let size = field("Page size:");
    let mut sides = size.split(' ').filter_map(|word| word.parse().ok());
    let (width, height) = (sides.next().expect("width"), sides.next().expect("height"));
    assert_eq!(field("Producer:"), "keenspan card");
    (field("Pages:").parse().expect("a number"), width, height)
}

/// Where each word stands, as the reader finds it: left, top, right, bottom in points.
fn words(file: &Path) -> Vec<(String, [f64; 4])> {
    let text = read_by("pdftotext", &["-bbox"], file);
    let word = |line: &str| {
        let side = |name: &str| {
            let (_, after) = line.split_once(&format!("{name}=\""))?;
            after.split_once('"')?.0.parse::<f64>().ok()
        };
        let (_, word) = line.split_once('>')?;
        let sides = [side("xMin")?, side("yMin")?, side("xMax")?, side("yMax")?];
        Some((word.split_once('<')?.0.to_string(), sides))
    };
    let lines = text.lines().filter(|line| line.contains("<word "));
    lines.filter_map(word).collect()
}

/// The box of a word is that of any word of the font: a sixth of it is air above capitals, a fifth lies below
/// the line, where most letters have nothing.
fn ink(word: &str, top: f64, bottom: f64) -> (f64, f64) {
    let high = bottom - top;
    let below = if word.contains(|letter| "gjpqyQ,;()_".contains(letter)) {
        0.0
    } else {
        0.2
    };
    (top + high / 6.0, bottom - below * high)
}

/// No word runs into another or into the white that printers need.
pub fn stands_clear(file: &Path) {
    let (_, wide, high) = pages(file);
    let words = words(file);
    assert!(words.len() > 150, "{}", words.len());
    for (place, (word, [left, top, right, bottom])) in words.iter().enumerate() {
        let inside = *left > 28.0 && *top > 28.0 && *right < wide - 28.0 && *bottom < high - 22.0;
        assert!(inside, "{word} runs off at {left} {top} {right} {bottom}");
        let (top, bottom) = ink(word, *top, *bottom);
        for (other, [from, upper, to, lower]) in &words[place + 1..] {
            let (upper, lower) = ink(other, *upper, *lower);
            let across = left + 0.1 < *to && from + 0.1 < *right;
            let down = top < lower && upper < bottom;
            assert!(!(across && down), "{word} runs into {other}");
        }
    }
}
