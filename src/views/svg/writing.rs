//! What was drawn, as the text of SVG: for a page, whose style sheet knows looks by their classes, or for a file of
//! its own, in which every element says its look itself.

use super::drawing::LINE;
use super::escaped;
use super::path::{FINER, path, written};
use super::sheet::{Drawn, Look, Words};
use plotters::style::text_anchor::{HPos, VPos};

/// Its name and its value.
pub(super) type Attribute = (&'static str, String);

/// For whom a picture is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dress {
    /// For a page with a style sheet.
    Page,
    /// For a file of its own.
    Alone,
}

impl Dress {
    /// All that was drawn.
    pub(super) fn body(self, drawn: &[Drawn]) -> String {
        let mut body = String::new();
        for run in drawn.chunk_by(|one, next| self.in_one(one, next)) {
            match run {
                [Drawn::Shapes(look, shapes)] => body += &self.shapes(*look, &path(shapes)),
                [Drawn::Words(words)] => body += &self.words(words, &self.place_of(words)),
                several => body += &self.row_of_words(several),
            }
        }
        body
    }

    /// Words that stand alike, as the numbers of an axis do, say once how they stand.
    fn in_one(self, one: &Drawn, next: &Drawn) -> bool {
        match (self, one, next) {
            (Dress::Page, Drawn::Words(one), Drawn::Words(next)) => {
                self.place_of(one) == self.place_of(next)
            }
            _ => false,
        }
    }

    fn row_of_words(self, row: &[Drawn]) -> String {
        let words = || row.iter().filter_map(Drawn::words);
        let place = words().next().map(|first| self.place_of(first));
        let each: String = words().map(|one| self.words(one, &[])).collect();
        let begun = self.begun("g", &place.unwrap_or_default());
        format!("{begun}>{each}</g>")
    }

    fn shapes(self, look: Look, path: &str) -> String {
        let look = match self {
            Dress::Page => look_by_class(look),
            Dress::Alone => look_itself(look),
        };
        self.begun("path", &look) + &format!(" d=\"{path}\"/>")
    }

    fn words(self, words: &Words, place: &[Attribute]) -> String {
        let at = [("x", words.at.0), ("y", words.at.1)];
        let at = at.map(|(name, place)| (name, written(place).to_string()));
        let begun = self.begun("text", &[place, &at].concat());
        format!("{begun}>{}</text>", escaped(&words.words))
    }

    /// How words stand, and in which tone.
    fn place_of(self, words: &Words) -> Vec<Attribute> {
        let anchor = match words.position.h_pos {
            HPos::Left => "",
            HPos::Center => "middle",
            HPos::Right => "end",
        };
        let (level, down) = match words.position.v_pos {
            VPos::Top => ("under", ".76em"),
            VPos::Center => ("level", ".5ex"),
            VPos::Bottom => ("over", "-.5ex"),
        };
        match self {
            Dress::Page => vec![classes(&[anchor, level, words.tone.class()])],
            Dress::Alone => vec![
                ("dy", down.to_string()),
                ("text-anchor", anchor.to_string()),
                ("fill", words.tone.on_paper().to_string()),
            ],
        }
    }

    /// The beginning of an element, with those attributes that have a value.
    pub(super) fn begun(self, name: &str, attributes: &[Attribute]) -> String {
        let said = attributes.iter().filter(|(_, value)| !value.is_empty());
        said.fold(format!("<{name}"), |begun, (name, value)| {
            begun + &self.attribute(name, value)
        })
    }
    /// HTML wants quotes only around what has more than letters and figures, SVG around everything.
    fn attribute(self, name: &str, value: &str) -> String {
        let plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '.';
        if self == Dress::Page && value.chars().all(plain) {
            format!(" {name}={value}")
        } else {
            format!(" {name}=\"{}\"", escaped(value))
        }
    }
}

fn look_by_class(look: Look) -> Vec<Attribute> {
    match look {
        Look::Line {
            tone,
            stroke,
            width,
        } => vec![
            classes(&[tone.class(), stroke.class()]),
            ("stroke-width", own_width(width)),
        ],
        Look::Area { tone, opacity } => {
            vec![
                classes(&[tone.class(), "area"]),
                ("opacity", share(opacity)),
            ]
        }
    }
}

fn look_itself(look: Look) -> Vec<Attribute> {
    match look {
        Look::Line {
            tone,
            stroke,
            width,
        } => vec![
            ("stroke", tone.on_paper().to_string()),
            ("stroke-dasharray", stroke.dashes().to_string()),
            ("stroke-width", own_width(width)),
        ],
        Look::Area { tone, opacity } => vec![
            ("fill", tone.on_paper().to_string()),
            ("opacity", share(opacity)),
        ],
    }
}

fn classes(names: &[&str]) -> Attribute {
    let named: Vec<&str> = names.iter().copied().filter(|it| !it.is_empty()).collect();
    ("class", named.join(" "))
}

/// A width other than that which everything inherits.
fn own_width(width: u32) -> String {
    if width == LINE {
        return String::new();
    }
    length(width)
}

/// In units of what is written.
pub(super) fn length(width: u32) -> String {
    (f64::from(width) / f64::from(FINER)).to_string()
}

/// What lets nothing through says nothing.
fn share(opacity: f64) -> String {
    if opacity < 1.0 {
        opacity.to_string()
    } else {
        String::new()
    }
}
