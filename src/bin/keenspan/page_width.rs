//! Answers on a terminal narrower than they are written for.
//!
//! Every view writes lines of at most 78 letters, and knows no terminal. What is narrower is filled anew
//! here: a line that the views broke because its next word had no room is joined again with what follows it,
//! and broken where the terminal ends. Rows of tables and headings stay as they are. Prose that tells a command to
//! type is filled anew at any width: the log's folder comes in, and the command stays on one line.

use crate::typed_next;
use std::io::IsTerminal;
use std::path::Path;

/// The widest line of an answer.
const WRITTEN_FOR: usize = 78;
/// Narrower than this, the terminal breaks lines itself.
const LEAST: usize = 40;

/// Letters that a line may have: what `COLUMNS` says, else what the terminal has.
pub fn width() -> usize {
    let typed = std::env::var("COLUMNS").ok();
    let typed = typed.and_then(|columns| columns.parse().ok());
    let seen = || {
        let terminal = std::io::stdout().is_terminal();
        let size = terminal.then(terminal_size::terminal_size).flatten();
        size.map(|(columns, _)| usize::from(columns.0))
    };
    let width: Option<usize> = typed.or_else(seen);
    width.map_or(WRITTEN_FOR, |width| width.clamp(LEAST, WRITTEN_FOR))
}

/// The text with no line of prose longer than `width`, and its commands whole, for the log in this folder.
pub fn fitted(text: &str, width: usize, log: &Path) -> String {
    let mut fitted = String::new();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        let mut hanging = hanging(line);
        let mut written = vec![line];
        let mut last = line;
        while let Some(next) = lines.next_if(|next| {
            continues(last, next, hanging) || (indent(line) == 0 && is_cut(last, next))
        }) {
            hanging = hanging.max(indent(next));
            written.push(next);
            last = next;
        }
        let further = written.iter().skip(1).map(|next| next.trim_start());
        let joined: Vec<&str> = std::iter::once(line).chain(further).collect();
        let joined = joined.join(" ");
        let whole = typed_next::whole(&joined, log);
        if width >= WRITTEN_FOR && whole.is_none() {
            fitted += &written.join("\n");
        } else {
            let broken = broken(&whole.unwrap_or(joined), hanging, width);
            fitted += &typed_next::untied(&broken);
        }
        fitted.push('\n');
    }
    fitted
}

/// Whether a command of a headline goes on in the next line, which is set in.
fn is_cut(before: &str, line: &str) -> bool {
    typed_next::ends_within(before) && indent(line) == 2
}

/// How far the further lines of a paragraph that begins so are set in.
fn hanging(first: &str) -> usize {
    let indent = indent(first);
    let rest = first.get(indent..).unwrap_or_default();
    match rest.find("  ") {
        // "  - sentence", "  ! sentence".
        _ if rest.starts_with("- ") || rest.starts_with("! ") => indent + 2,
        // "  label         sentence", the sentence in a column of its own.
        Some(label) if indent == 2 && label < 14 => {
            let gap = rest.get(label..).unwrap_or_default();
            indent + label + gap.len() - gap.trim_start().len()
        }
        _ => indent,
    }
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}

/// Whether the views broke the line before because the first word of this one had no room on it.
fn continues(before: &str, line: &str, hanging: usize) -> bool {
    let word = line
        .split_whitespace()
        .next()
        .map_or(0, |word| word.chars().count());
    word > 0 && indent(line) == hanging && before.chars().count() + 1 + word > WRITTEN_FOR
}

/// The line broken at single blanks; columns of a table are parted by more and stay together.
fn broken(line: &str, hanging: usize, width: usize) -> String {
    let start = match indent(line) {
        0 => 0,
        _ => hanging.min(line.len()),
    };
    let body = line.get(start..).unwrap_or_default();
    if line.chars().count() <= width || body.contains("  ") || !line.is_char_boundary(start) {
        return line.to_string();
    }
    let mut text = line.get(..start).unwrap_or_default().to_string();
    // A label's column leaves too little room on a narrow terminal: the sentence stands under it.
    let hanging = if hanging > 4 && width < WRITTEN_FOR {
        4
    } else {
        hanging
    };
    let mut used = start;
    let mut fresh = true;
    for word in body.split(' ') {
        let letters = word.chars().count();
        if !fresh && used + 1 + letters > width {
            text += &format!("\n{}", " ".repeat(hanging));
            (used, fresh) = (hanging, true);
        }
        if !fresh {
            text.push(' ');
            used += 1;
        }
        text += word;
        used += letters;
        fresh = false;
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    const ANSWER: &str = "\
Heron: change the knives every 37 hours
  likely between 34 and 43 hours (90 % bounds), in the wood it usually chips
    in green wood: hardwood
  today's rule  every 50 hours costs 23 more per 100 meter hours than the best
                (1 to 50): worth changing, 96 % sure
  clean         53 (44 to 66)       75 (63 to 90)
  - Engine off, key out and in the pocket of whoever does the work, battery
    isolated.
";

    #[test]
    fn a_wide_terminal_changes_nothing() {
        assert_eq!(fitted(ANSWER, 78, Path::new("logs/our")), ANSWER);
    }

    #[test]
    fn prose_is_filled_anew_and_tables_stay() {
        let expected = "\
Heron: change the knives every 37 hours
  likely between 34 and 43 hours (90 % bounds),
  in the wood it usually chips
    in green wood: hardwood
  today's rule  every 50 hours costs 23 more per
    100 meter hours than the best (1 to 50):
    worth changing, 96 % sure
  clean         53 (44 to 66)       75 (63 to 90)
  - Engine off, key out and in the pocket of
    whoever does the work, battery isolated.
";
        assert_eq!(fitted(ANSWER, 48, Path::new(".")), expected);
    }

    #[test]
    fn no_word_is_lost_or_moved() {
        let words =
            |text: &str| -> Vec<String> { text.split_whitespace().map(str::to_string).collect() };
        for width in LEAST..80 {
            assert_eq!(words(&fitted(ANSWER, width, Path::new("."))), words(ANSWER));
        }
    }

    #[test]
    fn a_command_gets_its_log_and_stays_on_one_line() {
        let answer = "\
Heron: not to be run: the set was struck, and nobody has looked; see keenspan
  knives Ring
  log           65 edges in the log, 65 used, 2 notes on how rows were read;
                keenspan verify shows how it was read
";
        let expected = "\
Heron: not to be run: the set was struck, and nobody has looked; see
  keenspan --log logs/our knives Ring
  log           65 edges in the log, 65 used, 2 notes on how rows were read;
                keenspan --log logs/our verify shows how it was read
";
        assert_eq!(fitted(answer, 78, Path::new("logs/our")), expected);
    }
}
