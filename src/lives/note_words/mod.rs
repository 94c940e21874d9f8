//! What a crew's own words in a note say of a set's soundness.
//!
//! Read with care for one side only: a crack missed costs more than a note read twice, and knives taken for
//! sound that are not cost most of all.

mod damage;
mod matched;
mod plain;
mod sound;

/// A note taken apart into words, once for all that is asked of it.
pub(super) struct NoteWords<'n> {
    note: &'n str,
    words: Vec<Word<'n>>,
    /// The bare words, a blank before and behind each.
    bare: String,
}

/// One word of a note, in small letters, with what stands between it and the word before.
struct Word<'n> {
    gap: &'n str,
    text: String,
}

impl<'n> NoteWords<'n> {
    pub(super) fn of(note: &'n str) -> Self {
        let words = words(note);
        let mut bare = String::new();
        for word in &words {
            if bare.is_empty() {
                bare.push(' ');
            }
            bare.push_str(&word.text);
            bare.push(' ');
        }
        Self { note, words, bare }
    }

    /// The note as its bare words, one blank between them.
    fn plain(&self) -> &str {
        self.bare.trim()
    }

    /// Whether it asks rather than says.
    fn asks(&self) -> bool {
        self.note.contains('?')
    }

    /// Whether it has such a word that nothing denies.
    fn names(&self, such: impl Fn(&str) -> bool) -> bool {
        let words = self.words.iter().enumerate();
        let mut named = words.filter(|(_, word)| such(&word.text));
        named.any(|(at, _)| !is_denied(&self.words, at))
    }

    /// Whether the words of one of these phrases stand in it one after the other. A phrase is written with a
    /// blank at either end, so that it begins and ends with whole words.
    fn has_phrase(&self, phrases: &[&str]) -> bool {
        phrases.iter().any(|phrase| self.bare.contains(phrase))
    }
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

/// Words that deny what follows them.
const DENIALS: [&str; 3] = ["no", "not", "without"];

/// Whether the word at this place is denied: "no", "not" or "without" stands before it with nothing but
/// blanks, and perhaps "a", "any" or "visible", or another word so denied and "or", in between.
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
            // "No nicks or cracks": what is denied of the one is of the other.
            "or" => return place > 0 && is_denied(words, place - 1),
            _ => return false,
        }
    }
}
