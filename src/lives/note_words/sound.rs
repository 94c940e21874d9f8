//! Words that say that a set was found sound.

use super::NoteWords;

impl NoteWords<'_> {
    /// Whether it says that the set was looked over and found sound, and nothing else: "inspected, sound", as
    /// the crew is told to write, perhaps with "and", "found", or that there are no cracks. Whatever more a note
    /// says may take it back, so that none with more counts.
    pub(in crate::lives) fn says_sound(&self) -> bool {
        const SOUND: [&str; 4] = [
            "inspected sound",
            "inspected and sound",
            "inspected found sound",
            "inspected and found sound",
        ];
        const NO_CRACKS: [&str; 6] = [
            "",
            " no crack",
            " no cracks",
            " no crack found",
            " no cracks found",
            " no visible cracks",
        ];
        let mut rests = SOUND
            .iter()
            .filter_map(|sound| self.plain().strip_prefix(sound));
        rests.next().is_some_and(|rest| NO_CRACKS.contains(&rest)) && !self.asks()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_plain_word_of_an_inspection_says_sound() {
        for note in [
            "inspected, sound",
            "Inspected and found sound.",
            "inspected: sound",
            "inspected, sound, no cracks",
            "inspected, sound, no cracks found",
        ] {
            assert!(NoteWords::of(note).says_sound(), "{note}");
        }
        for note in [
            "to be inspected, sound?",
            "inspected: sound? no",
            "inspected, not sound",
            "inspected, sound but one is cracked",
            "not inspected, sound",
            "inspected, sound it isn't",
            "inspected, sound but two bolts bent, scrap knife 4",
            "inspected, sound except knife 4",
            "inspected, sound only until Friday",
            "inspected, sound after a grind",
            "inspected, sounded odd",
            "inspected, sound 3 of 4",
            "inspected, sound, no cracks found in 1",
            "sound",
            "",
        ] {
            assert!(!NoteWords::of(note).says_sound(), "{note}");
        }
    }
}
