//! Colours by name.

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
    pub(super) fn rgb(self) -> RGBColor {
        RGBColor(1, 2, 3 + self as u8)
    }

    pub(super) fn sentinel(self) -> String {
        format!("#0102{:02X}", 3 + self as u8)
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
