//! Notes of which keenspan does not know what they say, told from those that say that nothing is wrong.
//!
//! Words that are harmless one by one may tell of a disaster together ("found a bit of blade in the drum"), so that only
//! sentences of a few shapes count.

use super::{DENIALS, NoteWords, Word};

/// What stands before a part. Basis of this and all that follow: common usage.
const ARTICLES: [&str; 6] = ["a", "all", "both", "each", "every", "the"];
/// What a look is at.
const PARTS: [&str; 16] = [
    "bedknife", "blade", "blades", "bolt", "bolts", "disc", "drum", "edge", "edges", "holder",
    "holders", "knife", "knives", "nuts", "set", "teeth",
];
const VERBS: [&str; 9] = [
    "are", "cut", "cuts", "cutting", "is", "look", "looks", "was", "were",
];
const DEGREES: [&str; 9] = [
    "a", "all", "again", "bit", "little", "slightly", "still", "very", "now",
];
const GOOD: [&str; 20] = [
    "changed",
    "checked",
    "clean",
    "dull",
    "fine",
    "good",
    "keen",
    "matched",
    "new",
    "normal",
    "ok",
    "okay",
    "overrun",
    "reset",
    "retorqued",
    "sharp",
    "tight",
    "tightened",
    "torqued",
    "well",
];
/// Work of which a note gives a figure, and what it is given in.
const FIGURED: [&str; 3] = ["reset", "retorqued", "torqued"];
const UNITS: [&str; 6] = ["ft", "inch", "lb", "lbs", "mm", "nm"];
/// Harmless of all knives, or of bolts; one new knife among others does not match them.
const NEW: [&str; 2] = ["changed", "new"];
const ONE_KNIFE: [&str; 4] = ["blade", "edge", "knife", "tooth"];
/// Faults: harmless only where they are denied.
const FAULTS: [&str; 13] = [
    "bent", "broken", "chipped", "crack", "cracked", "cracks", "damage", "damaged", "loose",
    "missing", "nick", "nicked", "nicks",
];
/// Signs that say nothing by themselves.
const SIGNS: &str = ".,;:!/()'\"-\u{2013}\u{2014}\u{2019}";
/// What may stand between a denial and a fault, and behind one.
const ANY: [&str; 3] = ["a", "any", "visible"];
const SEEN: [&str; 3] = ["found", "seen", "visible"];
/// What is read as knives that do not match.
const UNMATCHED: [&[&str]; 6] = [
    &["unmatched"],
    &["mismatched"],
    &["not", "matched"],
    &["not", "matching"],
    &["do", "not", "match"],
    &["don", "t", "match"],
];

impl NoteWords<'_> {
    /// Whether nobody need read it: it is blank, holds the set until it is found sound, says that, or says nothing but
    /// that all is as it should be, or that knives match or do not.
    pub(in crate::lives) fn is_understood(&self) -> bool {
        self.is_blank()
            || self.speaks_of_damage()
            || self.says_hit()
            || self.says_sound()
            || self.says_matched()
            || self.is_harmless()
    }

    /// Nothing, or what people write for nothing.
    fn is_blank(&self) -> bool {
        let mark = |letter: char| letter.is_whitespace() || "-\u{2013}\u{2014}./".contains(letter);
        self.note.chars().all(mark)
    }

    /// Whether every clause of it is of a shape that says nothing against the set but what is read otherwise, and
    /// nothing is asked.
    fn is_harmless(&self) -> bool {
        let is_read = |letter: char| {
            letter.is_alphanumeric() || letter.is_whitespace() || SIGNS.contains(letter)
        };
        let clauses = clauses(&self.words);
        !clauses.is_empty()
            && self.note.chars().all(is_read)
            && clauses.iter().all(|clause| is_plain(clause))
    }
}

/// The words between two stops, or between "and" and "but".
fn clauses<'w>(words: &'w [Word<'_>]) -> Vec<Vec<&'w str>> {
    let mut clauses: Vec<Vec<&str>> = Vec::new();
    for word in words {
        let joins = ["and", "but"].contains(&word.text.as_str());
        // The point in a figure is none.
        let figures = clauses.last().and_then(|clause| clause.last());
        let point = word.gap == "." && figures.is_some_and(|last| is_number(last));
        let stops = !word.gap.trim().is_empty() && !point;
        if clauses.is_empty() || joins || stops {
            clauses.push(Vec::new());
        }
        if let Some(clause) = clauses.last_mut().filter(|_| !joins) {
            clause.push(&word.text);
        }
    }
    clauses.retain(|clause| !clause.is_empty());
    clauses
}

/// "The knives are still keen", "tight", "bolts torqued to 190 Nm", "no visible cracks", "knife 2 not matched".
fn is_plain(clause: &[&str]) -> bool {
    let rest = past(past(clause, &ARTICLES), &["bed"]);
    let named = past(rest, &PARTS);
    // "Knife 2 is sharp."
    let numbered = match named {
        [number, after @ ..] if named.len() < rest.len() && is_number(number) => after,
        _ => named,
    };
    let said = past(past(past(numbered, &["gap"]), &VERBS), &DEGREES);
    let of_one = numbered.len() < named.len()
        || clause.iter().any(|word| ONE_KNIFE.contains(word)) && !clause.contains(&"bed");
    match said {
        [new, ..] if NEW.contains(new) && of_one => false,
        said if UNMATCHED.contains(&said) => true,
        ["in", "order"] => true,
        [denial, rest @ ..] if DENIALS.contains(denial) => denies_a_fault(rest),
        [work, figure @ ..] if FIGURED.contains(work) && !figure.is_empty() => is_figure(figure),
        [good, rest @ ..] if GOOD.contains(good) => past(past(rest, &PARTS), &["again"]).is_empty(),
        _ => false,
    }
}

/// "any nicks", "visible cracks or damage", "loose bolts", "cracks found".
fn denies_a_fault(denied: &[&str]) -> bool {
    match past(denied, &ANY) {
        [fault, rest @ ..] if FAULTS.contains(fault) => match past(past(rest, &PARTS), &SEEN) {
            ["or", others @ ..] => denies_a_fault(others),
            rest => rest.is_empty(),
        },
        _ => false,
    }
}

/// "to 190 nm", "2 mm", "2.5mm", its point left out.
fn is_figure(words: &[&str]) -> bool {
    let figure = past(words, &["to"]);
    let begins = figure
        .first()
        .is_some_and(|word| behind_digits(word).len() < word.len());
    let or_unit = |word: &&str| {
        let unit = behind_digits(word);
        unit.is_empty() || UNITS.contains(&unit)
    };
    begins && figure.iter().all(or_unit)
}

fn is_number(word: &str) -> bool {
    behind_digits(word).is_empty()
}

fn behind_digits(word: &str) -> &str {
    word.trim_start_matches(|letter: char| letter.is_ascii_digit())
}

/// What is left behind the first words of a clause that are such.
fn past<'c, 'w>(clause: &'c [&'w str], such: &[&str]) -> &'c [&'w str] {
    let first = clause.iter().position(|word| !such.contains(word));
    first.map_or(&[], |first| &clause[first..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_that_nobody_understands_are_told() {
        for note in [
            "bolt is off",
            "play in a holder",
            "one knife 2 mm narrower",
            "knife 3 has a chip in it",
            "knife chips",
            "knife 3",
            "holder worn",
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
            "no",
            "hit concrete",
            "a new blade",
            "knife 2 is new",
            "blade changed",
            "bolts tight \u{274c}",
            "knives sharp \u{1f480}",
            "knife 3 good \u{2718}",
            "torqued 3 of 4 bolts",
            "bolts torqued to 3 of 4",
            "gap in blade 3",
            "blade 3 gap",
            "new gap",
            "found a bit of blade in the drum",
            "bit of blade in the drum",
            "found a nut on the rotor",
            "change bolts before the job",
            "knives sharp, Schraube locker",
            "no cracks and bolts out",
            "no cracks or bolts",
            "unmatched and a nut off",
            "sharp but one out",
            "?",
            "\u{26a0}",
            "all keen!\u{26a0}",
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
            "The knives are still very sharp.",
            "knife 2 is sharp, bolts tight again",
            "knives new",
            "bed knife changed",
            "new bolts, torqued 140 ft lb",
            "all in order",
            "no cracks or nicks found",
            "bolts not loose",
            "no loose bolts",
            "gap reset",
            "bed knife gap reset to 1.5 mm",
            "overrun",
            "-",
            "loose bolt",
            "bolt missing",
            "damage on knife",
            "knives matched",
            "inspected, sound",
            "cracked",
            "knives not sound",
            "hit a nail",
            "do not run",
            "unmatched",
            "knife 2 not matched",
            "no loose or damaged bolts",
            "no missing bolts",
            "no nicks or cracks",
        ] {
            assert!(NoteWords::of(note).is_understood(), "{note}");
        }
    }
}
