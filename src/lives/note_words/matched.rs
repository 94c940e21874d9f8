//! Words that say whether the knives of a set match.

use super::NoteWords;

impl NoteWords<'_> {
    /// Whether it says that the knives do not match.
    pub(in crate::lives) fn says_unmatched(&self) -> bool {
        const PHRASES: [&str; 9] = [
            " different width ",
            " different widths ",
            " not matched ",
            " not match ",
            " not matching ",
            " don t match ",
            " doesn t match ",
            " dont match ",
            " no match ",
        ];
        let odd = |word: &str| word == "unmatched" || word.starts_with("mismatch");
        self.names(odd) || self.has_phrase(&PHRASES)
    }

    /// Whether it says that the knives match, and nothing else.
    pub(in crate::lives) fn says_matched(&self) -> bool {
        const MATCHED: [&str; 6] = [
            "matched",
            "matched again",
            "knives matched",
            "knives match",
            "set matched",
            "checked matched",
        ];
        MATCHED.contains(&self.plain()) && !self.asks()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_says_that_knives_match_or_do_not() {
        for note in [
            "unmatched",
            "Mismatched: knife 3 is new",
            "knives do not match",
            "not matched yet",
            "don't match",
            "knives of different widths",
        ] {
            let note = NoteWords::of(note);
            assert!(
                note.says_unmatched() && !note.says_matched(),
                "{}",
                note.note
            );
        }
        for note in ["matched", "Knives match.", "matched again"] {
            let note = NoteWords::of(note);
            assert!(
                note.says_matched() && !note.says_unmatched(),
                "{}",
                note.note
            );
        }
        for note in ["to be matched", "matched?", "no mismatch", ""] {
            let note = NoteWords::of(note);
            assert!(
                !note.says_matched() && !note.says_unmatched(),
                "{}",
                note.note
            );
        }
    }
}
