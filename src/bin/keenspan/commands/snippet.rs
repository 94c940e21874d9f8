//! A problem with the line of the file that it stands in, and a mark under the place.

use keenspan::logbook::{Line, Problem, is_parquet, row_with_mark};
use std::ops::Range;
use std::path::Path;

/// Letters of a line that are shown at most.
const WIDE: usize = 92;
/// Letters shown before the mark where the line is longer than that.
const BEFORE: usize = 40;

/// The problem in a sentence, then the line with a mark.
pub fn with_row(problem: &Problem) -> String {
    format!("{problem}{}", row(problem))
}

/// The problem without the file's name, then the line with a mark.
pub fn within_file(problem: &Problem) -> String {
    let sentence = problem.to_string();
    let file = format!("{} ", problem.file);
    let sentence = sentence.strip_prefix(&file).unwrap_or(&sentence);
    format!("{sentence}{}", row(problem))
}

/// The line of a table that is no log, with a mark; nothing where the file has changed since it was read, or has no
/// lines.
pub fn of_table(file: &Path, line: u64, column: &str) -> String {
    if is_parquet(file) {
        return String::new();
    }
    let text = std::fs::read(file).unwrap_or_default();
    row_with_mark(&text, line, column)
        .map_or(String::new(), |(row, mark)| marked(line, &row, &mark))
}

fn row(problem: &Problem) -> String {
    let Line(number) = problem.line;
    marked(number, &problem.row, &problem.mark)
}

fn marked(number: u64, row: &str, mark: &Range<usize>) -> String {
    if row.is_empty() {
        return String::new();
    }
    let from = window_start(mark);
    let shown: String = row.chars().skip(from).take(WIDE).map(printable).collect();
    let indent = mark.start - from;
    let wide = mark.len().clamp(1, WIDE.saturating_sub(indent).max(1));
    let (blanks, mark) = (" ".repeat(indent), "^".repeat(wide));
    format!("\n{number:>7} | {shown}\n        | {blanks}{mark}")
}

/// The first letter shown: the line's own first, unless the mark would be out of sight.
fn window_start(mark: &Range<usize>) -> usize {
    if mark.end <= WIDE {
        0
    } else {
        mark.start.saturating_sub(BEFORE)
    }
}

/// One column for each letter, so that the mark stays under its place.
fn printable(letter: char) -> char {
    if letter.is_control() { ' ' } else { letter }
}

#[cfg(test)]
mod tests {
    use super::*;
    use keenspan::logbook::LogFile;

    fn problem(row: &str, mark: std::ops::Range<usize>) -> Problem {
        Problem {
            file: LogFile::Runs,
            line: Line(14),
            column: "hours".into(),
            found: "-2".into(),
            wanted: "hours".into(),
            row: row.into(),
            mark,
        }
    }

    #[test]
    fn the_mark_stands_under_the_cell() {
        let shown = within_file(&problem("2026-03-05,drum,-2,oak", 16..18));
        let expected = "line 14, column \"hours\": found \"-2\"; write hours\n     14 | \
                        2026-03-05,drum,-2,oak\n        |                 ^^";
        assert_eq!(shown, expected);
    }

    #[test]
    fn a_long_line_is_shown_around_the_mark() {
        let long = format!("{}-2", "x".repeat(300));
        let shown = with_row(&problem(&long, 300..302));
        let last: Vec<&str> = shown.lines().rev().take(2).collect();
        assert!(last.iter().all(|line| line.chars().count() <= WIDE + 10));
        assert_eq!(last[0].find('^'), last[1].find('-'));
    }
}
