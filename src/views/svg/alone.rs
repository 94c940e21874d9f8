//! A picture as a file of its own.

use super::drawing::{LINE, draw, written_size};
use super::tone::{PAPER, PAPER_IN_DARK};
use super::writing::{Dress, length};
use super::{Plot, Tone};

/// A picture on its own is so many times smaller than the numbers in it.
const SMALLER: i32 = 2;

impl Plot {
    /// The picture on its own, on paper of its own: light, and dark where the reader's screen is; letters are
    /// larger where it is shown small. `None` where it cannot be drawn.
    pub fn svg_alone(&self) -> Option<String> {
        let drawn = draw(self).ok()?;
        let (width, height) = written_size(self);
        let look = [
            ("xmlns", "http://www.w3.org/2000/svg".to_string()),
            ("width", (width / SMALLER).to_string()),
            ("height", (height / SMALLER).to_string()),
            ("font-family", "sans-serif".to_string()),
            ("font-size", "37.5".to_string()),
            ("fill", "none".to_string()),
            ("stroke-width", length(LINE)),
        ];
        // Behind all that is drawn.
        let paper = format!("<rect width=\"{width}\" height=\"{height}\" fill=\"{PAPER}\"/>");
        let behind = style_alone() + &paper;
        Some(self.dressed(Dress::Alone, &look, &behind, &drawn))
    }
}

/// Colours on a dark screen in place of those that the elements have, and the letters of a phone. A program that
/// knows no style sheets shows the picture in light.
fn style_alone() -> String {
    let light_and_dark = Tone::ALL.map(|tone| (tone.on_paper(), tone.in_dark()));
    let in_dark: String = light_and_dark
        .into_iter()
        .chain([(PAPER, PAPER_IN_DARK)])
        .flat_map(|pair| ["fill", "stroke"].map(|what| (what, pair)))
        .map(|(what, (light, dark))| format!("[{what}=\"{light}\"]{{{what}:{dark}}}"))
        .collect();
    format!(
        "<style>@media(max-width:40em){{svg{{font-size:57.5px}}}}\
         @media(prefers-color-scheme:dark){{{in_dark}}}</style>"
    )
}

#[cfg(test)]
mod tests {
    use crate::views::svg::tests::plot;

    #[test]
    fn a_picture_on_its_own_has_colours_size_and_paper() {
        let svg = plot().svg_alone().unwrap();
        assert!(svg.starts_with("<svg xmlns") && svg.contains(" width=\"900\" height=\"540\""));
        assert!(!svg.contains("class=") && svg.contains("font-size=\"37.5\""));
        assert!(svg.contains("<rect width=\"1800\" height=\"1080\" fill=\"#fbfaf7\"/>"));
        assert!(svg.contains("[fill=\"#fbfaf7\"]{fill:#171a19}"), "{svg}");
    }
}
