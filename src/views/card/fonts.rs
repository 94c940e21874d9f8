//! The letters of the cards: how wide they are, and which there are.

use std::sync::OnceLock;
use ttf_parser::Face;

/// The two weights that the cards are set in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// Width of a letter in a font that cannot be read, as a share of its size.
const USUAL_WIDTH: f64 = 0.6;

impl Weight {
    pub(super) const ALL: [Weight; 2] = [Weight::Regular, Weight::Bold];

    /// The font file.
    pub(super) fn data(self) -> &'static [u8] {
        match self {
            Weight::Regular => include_bytes!("fonts/DejaVuSans.ttf"),
            Weight::Bold => include_bytes!("fonts/DejaVuSans-Bold.ttf"),
        }
    }

    /// The name of the font in a PDF.
    pub(super) fn name(self) -> &'static str {
        match self {
            Weight::Regular => "DejaVuSans",
            Weight::Bold => "DejaVuSans-Bold",
        }
    }

    /// The font, read once.
    pub(super) fn face(self) -> Option<&'static Face<'static>> {
        static REGULAR: OnceLock<Option<Face<'static>>> = OnceLock::new();
        static BOLD: OnceLock<Option<Face<'static>>> = OnceLock::new();
        let once = match self {
            Weight::Regular => &REGULAR,
            Weight::Bold => &BOLD,
        };
        once.get_or_init(|| Face::parse(self.data(), 0).ok())
            .as_ref()
    }

    /// How wide a text is at size 1.
    fn width_at_one(self, text: &str) -> f64 {
        let Some(face) = self.face() else {
            return USUAL_WIDTH * text.chars().count() as f64;
        };
        let em = f64::from(face.units_per_em());
        let advance = |letter: char| {
            let glyph = face.glyph_index(letter).unwrap_or_default();
            f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) / em
        };
        text.chars().map(advance).sum()
    }

    /// How wide a text is at this size, in the unit of the size.
    pub(super) fn width(self, text: &str, size: f64) -> f64 {
        size * self.width_at_one(text)
    }

    /// The letters of a text that the font has not.
    pub(super) fn missing(self, text: &str) -> Vec<char> {
        let Some(face) = self.face() else {
            return Vec::new();
        };
        let mut missing: Vec<char> = text
            .chars()
            .filter(|letter| face.glyph_index(*letter).is_none())
            .collect();
        missing.sort_unstable();
        missing.dedup();
        missing
    }

    /// A text broken into lines of at most this width. A word that is wider stands alone, and is cut.
    pub(super) fn broken(self, text: &str, size: f64, width: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let word = self.cut(word, size, width);
            let longer = format!("{line} {word}");
            if line.is_empty() {
                line = word;
            } else if self.width(&longer, size) <= width {
                line = longer;
            } else {
                lines.push(std::mem::replace(&mut line, word));
            }
        }
        lines.push(line);
        lines
    }

    /// A text as it is where it fits, else as much of it as does, and three dots.
    pub(super) fn cut(self, text: &str, size: f64, width: f64) -> String {
        if self.width(text, size) <= width {
            return text.to_string();
        }
        let room = width - self.width("…", size);
        let mut cut = String::new();
        let mut used = 0.0;
        for letter in text.chars() {
            used += self.width(letter.encode_utf8(&mut [0; 4]), size);
            if used > room {
                break;
            }
            cut.push(letter);
        }
        cut.trim_end().to_string() + "…"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_nothing_is_lost() {
        let text = "Wait until the rotor is seen to stand still, then fit the rotor lock.";
        for weight in Weight::ALL {
            let lines = weight.broken(text, 3.0, 40.0);
            assert!(lines.len() > 1);
            assert!(lines.iter().all(|line| weight.width(line, 3.0) <= 40.0));
            assert_eq!(lines.join(" "), text);
        }
        let cut = Weight::Bold.cut("Donaudampfschifffahrt", 5.0, 30.0);
        assert!(cut.ends_with('…') && Weight::Bold.width(&cut, 5.0) <= 30.0);
    }

    #[test]
    fn widths_are_those_of_the_font() {
        // Advance widths over units per em of DejaVu Sans 2.37: digits 1303 of 2048, space 651 of 2048.
        let width = |text| Weight::Regular.width(text, 2048.0);
        assert_eq!(
            (width("0"), width(" "), width("12")),
            (1303.0, 651.0, 2606.0)
        );
    }

    #[test]
    fn the_letters_of_many_crews_are_there() {
        for name in ["Żółw", "Ærø", "Ђорђе", "Ρίζα", "Őszi", "Şahin", "Văn Đức"]
        {
            for weight in Weight::ALL {
                assert_eq!(weight.missing(name), Vec::<char>::new(), "{name}");
            }
        }
        assert_eq!(Weight::Bold.missing("木 mill 木"), vec!['木']);
    }
}
