//! Cells that a spreadsheet would run as a formula.
//!
//! A cell that begins with `=`, `+`, `-` or `@` is written with an apostrophe before it, which a
//! spreadsheet takes to mean plain text, and is read back without it. No number in a log is ever
//! negative, so no number is touched.

/// The cell as it may stand in a file.
pub(super) fn guarded(cell: &str) -> String {
    if looks_like_a_formula(cell) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

/// The cell as it was before [`guarded`].
pub(super) fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if looks_like_a_formula(rest) => rest,
        _ => cell,
    }
}

/// Leading blanks do not stop a spreadsheet. Leading apostrophes are looked through so that a cell
/// which really starts with one comes back whole. The full-width signs count where an input method
/// turns them into plain ones.
fn looks_like_a_formula(cell: &str) -> bool {
    cell.trim_start_matches(|character: char| character == '\'' || character.is_whitespace())
        .starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_formula_gets_an_apostrophe_and_plain_words_do_not() {
        assert_eq!(guarded("=SUM(A1:A9)"), "'=SUM(A1:A9)");
        assert_eq!(guarded("\t@cmd"), "'\t@cmd");
        assert_eq!(guarded("'=1"), "''=1");
        assert_eq!(guarded("the Smiths' oak"), "the Smiths' oak");
        assert_eq!(guarded("12.5"), "12.5");
    }

    proptest! {
        // A failure shows its case; no file is left at the top level.
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn every_cell_comes_back_as_it_was(cell in "['=+@ \t\r\n-]{0,4}.{0,6}") {
            let written = guarded(&cell);
            prop_assert_eq!(unguarded(&written), cell);
            prop_assert!(!written.trim_start().starts_with(['=', '+', '-', '@']));
        }
    }
}
