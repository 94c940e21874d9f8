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

    /// The colour that stands for it, and for how a line is drawn, while plotters draws: it knows nothing but colours.
    pub(super) fn rgb(self, stroke: Stroke) -> RGBColor {
        RGBColor(0, stroke as u8, self as u8)
    }

    /// What such a colour stands for.
    pub(super) fn of(RGBColor(_, stroke, tone): RGBColor) -> (Tone, Stroke) {
        let tone = Tone::ALL.into_iter().find(|it| *it as u8 == tone);
        let stroke = Stroke::ALL.into_iter().find(|it| *it as u8 == stroke);
        (tone.unwrap_or(Tone::Ink), stroke.unwrap_or(Stroke::Whole))
    }

    /// Its class in the page's style sheet; what has none is in ink.
    pub(super) fn class(self) -> &'static str {
        match self {
            Tone::Ink => "",
            Tone::Faint => "faint",
            Tone::First => "first",
            Tone::Second => "second",
            Tone::Third => "third",
            Tone::Fourth => "fourth",
            Tone::Alarm => "alarm",
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
    pub(super) const ALL: [Stroke; 4] =
        [Stroke::Whole, Stroke::Long, Stroke::Middle, Stroke::Short];

    /// Its class in the page's style sheet.
    pub(super) fn class(self) -> &'static str {
        match self {
            Stroke::Whole => "",
            Stroke::Long => "long",
            Stroke::Middle => "middling",
            Stroke::Short => "short",
        }
    }

    /// Dash and gap.
    pub(super) fn dashes(self) -> &'static str {
        match self {
            Stroke::Whole => "",
            Stroke::Long => "37.5 15",
            Stroke::Middle => "17.5 11.25",
            Stroke::Short => "6.5 8.5",
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
            let name = format!("{tone:?}").to_lowercase();
            for (part, colour) in [(light, tone.on_paper()), (dark, tone.in_dark())] {
                assert!(part.contains(&format!("--{name}: {colour};")), "{name}");
            }
            assert_eq!(tone.class(), if tone == Tone::Ink { "" } else { &name });
            let class = format!(".{name} {{ color: var(--{name}); }}");
            assert!(tone == Tone::Ink || style.contains(&class), "{class}");
        }
        for stroke in [Stroke::Long, Stroke::Middle, Stroke::Short] {
            let class = format!(
                ".{} {{ stroke-dasharray: {}; }}",
                stroke.class(),
                stroke.dashes()
            );
            assert!(style.contains(&class), "{class}");
        }
    }

    #[test]
    fn a_colour_that_stands_for_tone_and_stroke_is_read_as_what_it_stands_for() {
        for tone in Tone::ALL {
            for stroke in Stroke::ALL {
                assert_eq!(Tone::of(tone.rgb(stroke)), (tone, stroke));
            }
        }
    }
}
