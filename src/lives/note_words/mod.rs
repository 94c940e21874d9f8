//! What a crew's own words in a note say of a set's soundness.
//!
//! Read with care for one side only: a crack missed costs more than a note read twice, and knives taken for
//! sound that are not cost most of all.

mod damage;
mod matched;
mod sound;

pub(super) use damage::{
    speaks_of_crack, speaks_of_damage, speaks_of_knife_damage, speaks_of_strike,
};
pub(super) use matched::{says_matched, says_unmatched};
pub(super) use sound::says_sound;

/// One word of a note, in small letters, with what stands between it and the word before.
struct Word<'n> {
    gap: &'n str,
    text: String,
}

fn words(note: &str) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut rest = note;
    while let Some(start) = rest.find(char::is_alphanumeric) {
        let (gap, from) = rest.split_at(start);
        let end = from.find(|letter: char| !letter.is_alphanumeric());
        let (text, after) = from.split_at(end.unwrap_or(from.len()));
        let text = text.to_lowercase();
        words.push(Word { gap, text });
        rest = after;
    }
    words
}

/// A note as its bare words.
fn plain(note: &str) -> String {
    let words = words(note);
    let texts: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    texts.join(" ")
}

/// Words that deny what follows them.
const DENIALS: [&str; 3] = ["no", "not", "without"];

/// Whether the word at this place is denied: "no", "not" or "without" stands before it with nothing but
/// blanks, and perhaps "a", "any" or "visible", in between.
fn is_denied(words: &[Word<'_>], at: usize) -> bool {
    let mut here = at;
    loop {
        let blank = words
            .get(here)
            .is_some_and(|word| word.gap.trim().is_empty());
        let before = here.checked_sub(1).filter(|_| blank);
        let Some((place, word)) = before.and_then(|place| Some((place, words.get(place)?))) else {
            return false;
        };
        match word.text.as_str() {
            word if DENIALS.contains(&word) => return true,
            "a" | "any" | "visible" => here = place,
            _ => return false,
        }
    }
}

/// Whether a note has such a word that nothing denies.
fn names(note: &str, such: impl Fn(&str) -> bool) -> bool {
    let words = words(note);
    let mut named = words
        .iter()
        .enumerate()
        .filter(|(_, word)| such(&word.text));
    named.any(|(at, _)| !is_denied(&words, at))
}

/// Whether these words stand in a note one after the other.
fn has_phrase(note: &str, phrases: &[&str]) -> bool {
    let note = format!(" {} ", plain(note));
    phrases
        .iter()
        .any(|phrase| note.contains(&format!(" {phrase} ")))
}
