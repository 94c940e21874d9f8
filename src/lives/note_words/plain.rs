//! Words that say that nothing is wrong, and notes of which keenspan does not know what they say.

use super::{DENIALS, NoteWords};

/// What is bolted to the rotor, and what it is bolted with.
const PARTS: [&str; 22] = [
    "knife", "knives", "blade", "blades", "bolt", "bolts", "nut", "nuts", "washer", "washers",
    "screw", "screws", "thread", "threads", "tooth", "teeth", "rotor", "drum", "disc", "holder",
    "clamp", "bearing",
];

/// Words that by themselves say nothing against a set. Basis: common usage.
const PLAIN: [&str; 62] = [
    "a",
    "again",
    "all",
    "an",
    "and",
    "any",
    "are",
    "as",
    "before",
    "both",
    "change",
    "changed",
    "checked",
    "chips",
    "clean",
    "cracks",
    "cut",
    "cuts",
    "cutting",
    "damage",
    "dull",
    "each",
    "edge",
    "edges",
    "every",
    "fine",
    "good",
    "in",
    "is",
    "job",
    "keen",
    "light",
    "look",
    "looked",
    "looks",
    "new",
    "nick",
    "nicks",
    "normal",
    "of",
    "ok",
    "okay",
    "on",
    "order",
    "others",
    "overrun",
    "rest",
    "set",
    "sharp",
    "slightly",
    "small",
    "sound",
    "still",
    "the",
    "tight",
    "tightened",
    "torqued",
    "visible",
    "was",
    "well",
    "were",
    "working",
];

impl NoteWords<'_> {
    /// Whether it names a knife or what holds it.
    pub(in crate::lives) fn names_part(&self) -> bool {
        self.words.iter().any(|word| is(&PARTS, &word.text))
    }

    /// Whether nobody need read it: it is blank, is known to speak for or against the set, or says nothing but that all
    /// is as it should be.
    pub(in crate::lives) fn is_understood(&self) -> bool {
        self.words.is_empty()
            || self.speaks_of_damage()
            || self.says_hit()
            || self.says_unmatched()
            || self.says_sound()
            || self.reassures()
    }

    /// Whether every word of it is one that says nothing against the set, and it asks nothing.
    pub(in crate::lives) fn reassures(&self) -> bool {
        let harmless = |word: &str| is(&PARTS, word) || is(&PLAIN, word) || is(&DENIALS, word);
        let mut words = self.words.iter();
        !self.words.is_empty() && !self.asks() && words.all(|word| harmless(&word.text))
    }
}

fn is(words: &[&str], word: &str) -> bool {
    words.contains(&word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_that_nobody_understands_are_told_from_those_that_say_nothing_ill() {
        for note in [
            "loose bolt",
            "bolt missing",
            "one knife 2 mm narrower",
            "knife 3 has a chip in it",
            "holder worn",
            "knives ok?",
            "Schraube locker",
            "play in the bearing",
        ] {
            let words = NoteWords::of(note);
            assert!(!words.is_understood() && !words.reassures(), "{note}");
        }
        for note in [
            "",
            "knives keen",
            "all bolts tight, torqued",
            "No cracks.",
            "edge still good",
            "small nicks on both edges",
        ] {
            assert!(NoteWords::of(note).is_understood(), "{note}");
        }
        for note in ["cracked", "hit a nail", "do not run", "unmatched"] {
            let words = NoteWords::of(note);
            assert!(words.is_understood() && !words.reassures(), "{note}");
        }
    }

    #[test]
    fn parts_are_what_knives_are_held_by() {
        for note in ["loose bolt", "one knife 2 mm narrower", "Knives rattle"] {
            assert!(NoteWords::of(note).names_part(), "{note}");
        }
        for note in ["Schraube locker", "edge so so", "for Friday", ""] {
            assert!(!NoteWords::of(note).names_part(), "{note}");
        }
    }
}
