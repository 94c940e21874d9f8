//! What a crew's own words in a note say of a set's soundness.
//!
//! Read with care for one side only: a crack missed costs more than a note read twice, and knives taken for
//! sound that are not cost most of all.

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

/// Words that deny what follows them.
const DENIALS: [&str; 3] = ["no", "not", "without"];

/// Whether the word at this place is denied: "no", "not" or "without" stands before it with nothing but
/// blanks, and perhaps "a", "any" or "visible", in between. Returns the place of the denial.
fn denied_by(words: &[Word<'_>], at: usize) -> Option<usize> {
    let mut here = at;
    loop {
        let blank = words.get(here)?.gap.trim().is_empty();
        let before = here.checked_sub(1).filter(|_| blank)?;
        match words.get(before)?.text.as_str() {
            word if DENIALS.contains(&word) => return Some(before),
            "a" | "any" | "visible" => here = before,
            _ => return None,
        }
    }
}

/// Places of the words that name a crack.
fn cracks<'w>(words: &'w [Word<'_>]) -> impl Iterator<Item = usize> + 'w {
    let named = words.iter().enumerate();
    named
        .filter(|(_, word)| word.text.starts_with("crack"))
        .map(|(at, _)| at)
}

/// Whether a note speaks of a crack. "No crack" and "not cracked" do not; anything else that names one does.
pub(super) fn speaks_of_crack(note: &str) -> bool {
    let words = words(note);
    cracks(&words).any(|at| denied_by(&words, at).is_none())
}

/// Whether a note says that the set was looked over and found sound: it begins with "inspected" (perhaps "and",
/// "found") "sound", asks nothing, and denies nothing but cracks.
pub(super) fn says_sound(note: &str) -> bool {
    let words = words(note);
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    let fillers = (1..words.len()).take_while(|at| matches!(text(*at), "and" | "found"));
    let sound = 1 + fillers.count();
    let no_cracks: Vec<usize> = cracks(&words)
        .filter_map(|at| denied_by(&words, at))
        .collect();
    let denies = (0..words.len()).any(|at| {
        matches!(text(at), "no" | "not" | "without" | "t" | "never") && !no_cracks.contains(&at)
    });
    text(0) == "inspected"
        && text(sound) == "sound"
        && !note.contains('?')
        && !denies
        && !speaks_of_crack(note)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_of_a_crack_is_found_and_its_denial_is_not() {
        for note in [
            "Cracked at the bolt hole",
            "hairline crack?",
            "cracks: two",
            "sound? no: cracked at bolt hole",
            "not sound, cracked",
            "no. Cracked",
            "no other crack",
            "no crack in 1, crack in 2",
        ] {
            assert!(speaks_of_crack(note), "{note}");
        }
        for note in [
            "no crack",
            "Not cracked",
            "without cracks.",
            "no visible cracks",
            "without any crack",
            "not a crack",
            "",
        ] {
            assert!(!speaks_of_crack(note), "{note}");
        }
    }

    #[test]
    fn only_a_plain_word_of_an_inspection_says_sound() {
        for note in [
            "inspected, sound",
            "Inspected and found sound",
            "inspected, sound, no cracks",
        ] {
            assert!(says_sound(note), "{note}");
        }
        for note in [
            "to be inspected, sound?",
            "inspected: sound? no",
            "inspected, not sound",
            "inspected, sound but one is cracked",
            "not inspected, sound",
            "inspected, sound it isn't",
            "sound",
            "",
        ] {
            assert!(!says_sound(note), "{note}");
        }
    }
}
