//! Words out of a short list.

use super::Parsed;
use crate::logbook::files::{folded, is_same_name};

/// Alike enough to be worth suggesting, on the Jaro-Winkler scale where 1 is the same word.
/// Basis: judgement.
const ALIKE: f64 = 0.75;

/// The one value that goes by this word; case, spaces, hyphens and underscores do not count.
pub(in crate::logbook::read) fn one_of<T: Copy>(text: &str, choices: &[(&str, T)]) -> Parsed<T> {
    choices
        .iter()
        .find(|(word, _)| is_same_name(word, text))
        .map(|(_, value)| *value)
        .ok_or_else(|| {
            let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
            match nearest(text, &words) {
                Some(word) => format!(
                    "\"{word}\", if that is meant; the words are {}",
                    words.join(", ")
                ),
                None => format!("one of: {}", words.join(", ")),
            }
        })
}

/// The word that looks most like the text, where any does.
pub(in crate::logbook::read) fn nearest<'a>(text: &str, words: &[&'a str]) -> Option<&'a str> {
    let key = folded(text);
    // "dull" is part of "noticed dull", however little the two look alike as a whole.
    if let Some(whole) = words
        .iter()
        .find(|word| key.len() >= 4 && folded(word).contains(&key))
    {
        return Some(whole);
    }
    words
        .iter()
        .map(|word| (strsim::jaro_winkler(&key, &folded(word)), *word))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typing_slip_gets_the_nearest_word() {
        let choices = [("noticed dull", 1), ("touched up", 2)];
        assert_eq!(one_of("Noticed_Dull", &choices), Ok(1));
        assert_eq!(one_of("touched-up", &choices), Ok(2));
        assert!(
            one_of("toched up", &choices).is_err_and(|wanted| wanted.starts_with("\"touched up\""))
        );
        assert!(
            one_of("dull", &choices).is_err_and(|wanted| wanted.starts_with("\"noticed dull\""))
        );
        assert!(one_of("zzz", &choices).is_err_and(|wanted| wanted.starts_with("one of")));
    }
}
