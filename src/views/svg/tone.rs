//! Colours by name, and lines told apart without colour.

use plotters::style::RGBColor;

/// What a colour stands for. The page's style sheet gives each a value in light and in dark; the values are
/// far enough apart in lightness for those who see no hue (after Okabe and Ito's palette, 2008).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Text and axes.
    Ink,
    /// Grids and what stands back.
    Faint,
    /// The first series.
    First,
    /// The second.
    Second,
    /// The third.
    Third,
    /// The fourth.
    Fourth,
    /// What is wrong.
    Alarm,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// Whole.
    Whole,
    /// In long dashes.
    Long,
    /// In dashes.
    Middle,
    /// In dots, nearly.
    Short,
}

impl Tone {
    pub(super) const ALL: [Tone; 7] = [
        Tone::Ink,
        Tone::Faint,
        Tone::First,
        Tone::Second,
        Tone::Third,
        Tone::Fourth,
        Tone::Alarm,
    ];

    /// The colour that stands for it until the picture is drawn: one that nothing else has.
    pub(super) fn rgb(self, stroke: Stroke) -> RGBColor {
        RGBColor(1, 2 + stroke as u8, 3 + self as u8)
    }

    pub(super) fn sentinel(self, stroke: Stroke) -> String {
        let RGBColor(red, green, blue) = self.rgb(stroke);
        format!("#{red:02X}{green:02X}{blue:02X}")
    }

    pub(super) fn value(self) -> &'static str {
        match self {
            Tone::Ink => "var(--ink)",
            Tone::Faint => "var(--faint)",
            Tone::First => "var(--first)",
            Tone::Second => "var(--second)",
            Tone::Third => "var(--third)",
            Tone::Fourth => "var(--fourth)",
            Tone::Alarm => "var(--alarm)",
        }
    }
}

/// The paper of a picture on its own, as the page's in light.
pub(super) const PAPER: &str = "#fbfaf7";
/// The same on a dark screen.
pub(super) const PAPER_IN_DARK: &str = "#171a19";

impl Tone {
    /// Its colour on light paper, as the page's.
    pub(super) fn on_paper(self) -> &'static str {
        match self {
            Tone::Ink => "#1f2321",
            Tone::Faint => "#c9cbc4",
            Tone::First => "#0b5d8f",
            Tone::Second => "#a34700",
            Tone::Third => "#00664d",
            Tone::Fourth => "#7a3b78",
            Tone::Alarm => "#b3261e",
        }
    }

    /// Its colour on dark paper, as the page's.
    pub(super) fn in_dark(self) -> &'static str {
        match self {
            Tone::Ink => "#ecebe4",
            Tone::Faint => "#464b48",
            Tone::First => "#7cc3ee",
            Tone::Second => "#f0a35e",
            Tone::Third => "#5fcfae",
            Tone::Fourth => "#d9a3d6",
            Tone::Alarm => "#ff9d92",
        }
    }
}

impl Stroke {
    pub(super) const DASHED: [Stroke; 3] = [Stroke::Long, Stroke::Middle, Stroke::Short];

    /// Dash and gap on the canvas.
    pub(super) fn dashes(self) -> &'static str {
        match self {
            Stroke::Whole => "none",
            Stroke::Long => "150 60",
            Stroke::Middle => "70 45",
            Stroke::Short => "26 34",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_on_its_own_has_the_colours_of_the_page() {
        let style = include_str!("../report/style.css");
        let mut parts = style.split("@media");
        let (light, dark) = (parts.next().unwrap(), parts.next().unwrap());
        assert!(light.contains(&format!("--paper: {PAPER};")));
        assert!(dark.contains(&format!("--paper: {PAPER_IN_DARK};")));
        for tone in Tone::ALL {
            let name = tone
                .value()
                .trim_start_matches("var(")
                .trim_end_matches(')');
            for (part, colour) in [(light, tone.on_paper()), (dark, tone.in_dark())] {
                assert!(part.contains(&format!("{name}: {colour};")), "{name}");
            }
        }
    }
}
