//! Notes of which keenspan does not know what they say, told from those that say that nothing is wrong.

use super::{DENIALS, NoteWords};

/// Words that by themselves say nothing against a set. Basis: common usage.
const PLAIN: [&str; 80] = [
    "a",
    "again",
    "all",
    "an",
    "and",
    "any",
    "are",
    "as",
    "bed",
    "before",
    "bit",
    "blade",
    "blades",
    "bolt",
    "bolts",
    "both",
    "change",
    "changed",
    "checked",
    "clean",
    "cuts",
    "cutting",
    "disc",
    "drum",
    "dull",
    "each",
    "edge",
    "edges",
    "every",
    "fine",
    "found",
    "ft",
    "gap",
    "good",
    "holder",
    "holders",
    "in",
    "is",
    "job",
    "keen",
    "knife",
    "knives",
    "lb",
    "light",
    "look",
    "looked",
    "looks",
    "mm",
    "new",
    "nm",
    "normal",
    "nut",
    "nuts",
    "of",
    "ok",
    "okay",
    "on",
    "order",
    "others",
    "rest",
    "reset",
    "retorqued",
    "rotor",
    "screws",
    "set",
    "sharp",
    "slightly",
    "still",
    "teeth",
    "thanks",
    "the",
    "tight",
    "tightened",
    "to",
    "torqued",
    "very",
    "visible",
    "was",
    "well",
    "were",
];

/// Faults: harmless only where they are denied.
const FAULTS: [&str; 7] = [
    "crack", "cracks", "damage", "damaged", "loose", "nick", "nicks",
];

/// Work of which a note gives a figure.
const FIGURED: [&str; 3] = ["torqued", "retorqued", "gap"];

impl NoteWords<'_> {
    /// Whether nobody need read it: it is blank, is known to speak for or against the set, or says nothing but that all
    /// is as it should be.
    pub(in crate::lives) fn is_understood(&self) -> bool {
        self.words.is_empty()
            || self.speaks_of_damage()
            || self.says_hit()
            || self.says_unmatched()
            || self.says_sound()
            || self.says_matched()
            || self.is_harmless()
    }

    /// Whether every word of it is one that says nothing against the set, and it asks nothing. What is denied must be a
    /// fault: "no cracks" is harmless, "no bolts" and "not tight" are not.
    fn is_harmless(&self) -> bool {
        let is = |words: &[&str], at: usize| {
            self.words
                .get(at)
                .is_some_and(|word| words.contains(&word.text.as_str()))
        };
        let figured = (0..self.words.len()).any(|at| is(&FIGURED, at));
        let figure = |at: usize| {
            let word = self.words.get(at);
            word.is_some_and(|word| word.text.chars().all(|letter| letter.is_ascii_digit()))
        };
        // A denial reaches as far as "a", "any" and "visible" do.
        let denied_fault = |denial: usize| {
            let mut rest =
                (denial + 1..self.words.len()).skip_while(|&at| is(&["a", "any", "visible"], at));
            rest.next().is_some_and(|at| is(&FAULTS, at))
        };
        let harmless = |at: usize| {
            is(&PLAIN, at)
                || is(&FAULTS, at) && super::is_denied(&self.words, at)
                || is(&DENIALS, at) && denied_fault(at)
                || figured && figure(at)
        };
        !self.asks() && (0..self.words.len()).all(harmless)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_that_nobody_understands_are_told() {
        for note in [
            "loose bolt",
            "loose",
            "came loose",
            "bolt missing",
            "one knife 2 mm narrower",
            "knife 3 has a chip in it",
            "knife chips",
            "knife 3",
            "holder worn",
            "clamps loose",
            "knives ok?",
            "Schraube locker",
            "play in the bearing",
            "not tight",
            "bolts not tight",
            "bolts not torqued",
            "no bolts",
            "without bolts",
            "no nuts on the rest",
            "all knives dull and no nuts",
            "knives not in order",
            "not ok",
            "no good",
            "not checked",
            "no edge",
            "nicks",
            "damage on knife",
            "no",
            "overrun",
            "hit concrete",
        ] {
            assert!(!NoteWords::of(note).is_understood(), "{note}");
        }
    }

    #[test]
    fn notes_that_say_nothing_ill_and_those_that_are_read_are_not() {
        for note in [
            "",
            "knives keen",
            "all bolts tight, torqued",
            "bolts retorqued to 190 Nm",
            "bed knife gap reset to 2 mm",
            "No cracks.",
            "no visible damage, no nicks",
            "edge still good",
            "knives a bit dull",
            "knives matched",
            "inspected, sound",
            "cracked",
            "knives not sound",
            "hit a nail",
            "do not run",
            "unmatched",
        ] {
            assert!(NoteWords::of(note).is_understood(), "{note}");
        }
    }
}
