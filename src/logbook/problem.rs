//! What is wrong in the log, and where.

use super::{Line, LogFile};
use std::fmt;
use std::ops::Range;

/// Letters of a found text that are shown; the rest is cut off.
const SHOWN: usize = 60;

/// One thing that is wrong in the log. The row that it stands in was set aside; a problem in the
/// header (line 1) sets every row of the file aside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The file.
    pub file: LogFile,
    /// The line in that file.
    pub line: Line,
    /// The column, as the file's header calls it.
    pub column: String,
    /// What stands there; blank where nothing does.
    pub found: String,
    /// What would be right, in words that follow "write".
    pub wanted: String,
    /// The line of the file in which it stands.
    pub row: String,
    /// The letters of `row` that are meant.
    pub mark: Range<usize>,
}

impl Problem {
    /// The found text as it is shown: unprintable letters spelt out, a long text cut short.
    pub fn found_in_short(&self) -> String {
        in_short(&self.found)
    }
}

/// A found text as it is shown: unprintable letters spelt out, a long text cut short.
pub(super) fn in_short(found: &str) -> String {
    let printable: String = found.escape_debug().collect();
    let printable = printable.replace("\\\"", "\"").replace("\\'", "'");
    match printable.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{}...", printable.get(..end).unwrap_or_default()),
        None => printable,
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            file,
            line: Line(line),
            column,
            wanted,
            ..
        } = self;
        write!(formatter, "{file} line {line}, column \"{column}\": ")?;
        if self.found.is_empty() {
            write!(formatter, "found nothing; write {wanted}")
        } else {
            write!(
                formatter,
                "found \"{}\"; write {wanted}",
                self.found_in_short()
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_problem_names_file_line_column_and_what_would_be_right() {
        let problem = Problem {
            file: LogFile::Runs,
            line: Line(14),
            column: "hours".into(),
            found: "-2".into(),
            wanted: "hours, zero or more, such as 3.5".into(),
            row: String::new(),
            mark: 0..0,
        };
        assert_eq!(
            problem.to_string(),
            "runs.csv line 14, column \"hours\": found \"-2\"; write hours, zero or more, such as 3.5"
        );
    }
}
