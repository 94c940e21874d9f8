//! Words that speak of a crack, of other damage, or of a strike.

use super::NoteWords;

/// Words one letter away from "crack" that mean something else.
const NO_CRACKS: [&str; 4] = ["crank", "creak", "crick", "crock"];

/// A crack by its name, or by one letter less, more, other or swapped: notes are typed in gloves.
fn is_crack(word: &str) -> bool {
    let endings = ["ed", "d", "ing", "s"];
    let stem = endings.iter().find_map(|ending| word.strip_suffix(ending));
    let is = |stem: &str| {
        stem.starts_with(['c', 'k'])
            && strsim::osa_distance(stem, "crack") <= 1
            && !NO_CRACKS.contains(&stem)
    };
    const NAMES: [&str; 4] = ["crack", "fractur", "fissur", "hairline"];
    NAMES.iter().any(|name| word.starts_with(name)) || is(word) || stem.is_some_and(is)
}

impl NoteWords<'_> {
    /// Whether it speaks of a crack. "No crack" and "not cracked" do not; anything else that names one does.
    pub(in crate::lives) fn speaks_of_crack(&self) -> bool {
        self.names(is_crack)
    }

    /// Whether it speaks of damage that may be a crack, or that makes a set unfit for another reason, if it is
    /// of the knives that it speaks.
    fn speaks_of_break(&self) -> bool {
        const WORDS: [&str; 20] = [
            "break",
            "broke",
            "broken",
            "split",
            "snap",
            "snapped",
            "bent",
            "loose",
            "loosened",
            "missing",
            "sheared",
            "stripped",
            "undone",
            "undersize",
            "undersized",
            "welded",
            "unsafe",
            "unsound",
            "unfit",
            "shattered",
        ];
        const PHRASES: [&str; 29] = [
            " chipped off ",
            " chipped edge ",
            " chipped knife ",
            " edge chipped ",
            " knife chipped ",
            " fell off ",
            " fell out ",
            " flew off ",
            " flew out ",
            " threw a ",
            " knife came off ",
            " blade came off ",
            " bolt came off ",
            " nut came off ",
            " lost a bolt ",
            " lost a nut ",
            " lost a knife ",
            " lost a blade ",
            " bolt lost ",
            " nut lost ",
            " below width ",
            " under width ",
            " too thin ",
            " too narrow ",
            " not sound ",
            " not safe ",
            " below minimum ",
            " under minimum ",
            " below discard ",
        ];
        self.names(|word| WORDS.contains(&word))
            || self.has_phrase(&PHRASES)
            || self.names_damage()
            || self.warns()
    }

    /// Whether it names damage that is not the weather's: storm damage is what crews are called to.
    fn names_damage(&self) -> bool {
        const WEATHER: [&str; 6] = ["storm", "wind", "hail", "ice", "frost", "snow"];
        let words = self.words.iter().enumerate();
        let mut named = words.filter(|(_, word)| word.text.starts_with("damage"));
        named.any(|(at, _)| {
            let before = at.checked_sub(1).and_then(|before| self.words.get(before));
            let by_weather = before.is_some_and(|word| WEATHER.contains(&word.text.as_str()));
            !by_weather && !super::is_denied(&self.words, at)
        })
    }

    /// Whether it says that something is not to be run.
    fn warns(&self) -> bool {
        const PHRASES: [&str; 9] = [
            " do not run ",
            " don t run ",
            " dont run ",
            " do not use ",
            " don t use ",
            " dont use ",
            " do not fit ",
            " not to be run ",
            " must not be run ",
        ];
        self.has_phrase(&PHRASES)
    }

    /// Whether, as a note on a set, it speaks of damage, a crack or other.
    pub(in crate::lives) fn speaks_of_damage(&self) -> bool {
        self.speaks_of_crack() || self.speaks_of_break()
    }

    /// Whether, as a note on a day's work, it speaks of damage to knives. Wood splits and branches break: such
    /// words count beside the name of what is bolted to the rotor only; a crack counts whatever it is in.
    pub(in crate::lives) fn speaks_of_knife_damage(&self) -> bool {
        // "Set", "edge" and "tooth" stand in too many other sentences.
        const PARTS: [&str; 22] = [
            "knife", "knives", "blade", "blades", "bolt", "bolts", "nut", "nuts", "screw",
            "screws", "bedknife", "anvil", "rotor", "drum", "disc", "disk", "holder", "holders",
            "clamp", "clamps", "wedge", "wedges",
        ];
        let of_knives = || self.names(|word| PARTS.contains(&word));
        self.speaks_of_crack() || self.warns() || (of_knives() && self.speaks_of_break())
    }

    /// Whether it says that something hard was hit.
    pub(in crate::lives) fn says_hit(&self) -> bool {
        const HIT: [&str; 12] = [
            "metal", "steel", "iron", "stone", "stones", "rock", "rocks", "nail", "nails", "wire",
            "spike", "chain",
        ];
        self.names(|word| word == "hit") && self.names(|word| HIT.contains(&word))
    }

    /// Whether, as the words of a row, it speaks of a strike, by its name or by one letter other.
    pub(in crate::lives) fn speaks_of_strike(&self) -> bool {
        const STRUCK: [&str; 3] = ["struck", "strike", "strikes"];
        // A truck is none.
        let struck = |word: &str| {
            let near = |name: &&str| strsim::osa_distance(word, name) <= 1;
            word.starts_with('s') && STRUCK.iter().any(near)
        };
        self.names(struck) || self.says_hit()
    }
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
            "no crack in 1 or crack in 2",
            "dull or cracked",
            "knife 2 craked",
            "a carck",
            "crakced",
            "kracked",
            "fractured at the hole",
            "hairline in no. 3",
            "knife 2 fissured",
            "no crack, but knife 3 hairline",
        ] {
            assert!(NoteWords::of(note).speaks_of_crack(), "{note}");
        }
        for note in [
            "no crack",
            "Not cracked",
            "without cracks.",
            "no visible cracks",
            "without any crack",
            "not a crack",
            "no fracture",
            "no nicks or cracks",
            "no visible damage or cracks",
            "no hairlines",
            "cranked by hand",
            "on tracks, in the rack",
            "crane came late",
            "",
        ] {
            assert!(!NoteWords::of(note).speaks_of_crack(), "{note}");
        }
    }

    #[test]
    fn other_damage_is_found_in_a_note_on_a_set() {
        for note in [
            "knife 3 broken",
            "a bolt snapped",
            "two bolts bent",
            "split at the end",
            "corner chipped off",
            "do not run",
            "Don't run!",
            "unsafe",
            "inspected, not sound",
            "chunk missing",
            "knife 1 below minimum width",
            "too narrow, out",
            "loose bolt",
            "bolt missing",
            "lost a bolt",
            "bolts stripped",
            "damage on knife",
            "below width",
            "ground too thin",
            "edge chipped",
        ] {
            assert!(NoteWords::of(note).speaks_of_damage(), "{note}");
        }
        for note in [
            "not bent",
            "nothing to see",
            "no broken bolts",
            "no loose bolts",
            "no cracks or damage",
            "no loose or damaged bolts",
            "storm damage",
            "inspected, sound",
        ] {
            assert!(!NoteWords::of(note).speaks_of_damage(), "{note}");
        }
    }

    #[test]
    fn on_a_days_work_wood_may_split_and_break() {
        for note in [
            "split oak",
            "broken branches",
            "belt snapped",
            "storm damage, drum clogged",
            "cleared storm damage, knives dull",
            "storm damaged tree, blades fine",
            "took a break then set up again",
            "broke for lunch, all set",
            "lost an hour, set the chipper up twice",
            "split logs, edge of field",
            "lost a tooth off the saw",
            "missing gate key, set of cones left",
            "knife keen, dry",
        ] {
            assert!(!NoteWords::of(note).speaks_of_knife_damage(), "{note}");
        }
        for note in [
            "broke a knife",
            "bolt bent",
            "cracked",
            "knives unsafe",
            "nut missing",
            "bedknife loose",
            "holders loose",
            "bolt sheared",
            "bolt fell out",
            "bolts came undone",
            "threw a blade",
            "blade flew out",
            "knife came off",
            "do not run it",
            "bolt loose and a knife wobbles",
        ] {
            assert!(NoteWords::of(note).speaks_of_knife_damage(), "{note}");
        }
    }

    #[test]
    fn a_strike_is_found_under_a_slip_of_the_pen() {
        for words in [
            "struck. ",
            "strcuk. at the gate",
            "stuck. ",
            ". hit a stone",
        ] {
            assert!(NoteWords::of(words).speaks_of_strike(), "{words}");
        }
        for words in [
            "checked. keen",
            "pulled. not struck",
            "reground. truck late",
        ] {
            assert!(!NoteWords::of(words).speaks_of_strike(), "{words}");
        }
    }
}
