//! A page as data: texts, lines and areas in millimetres from its upper left corner. What draws a page, as
//! PDF or as HTML, lays out nothing.

use super::fonts::Weight;

/// Sizes of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216).
    A4,
    /// 8.5 in by 11 in (ANSI/ASME Y14.1).
    Letter,
}

impl Paper {
    /// Width and height in millimetres.
    pub fn size(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        }
    }

    /// What people call it.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "Letter",
        }
    }
}

/// A place on a page, in millimetres from the left and from the top.
pub(super) type At = (f64, f64);

/// How dark; cards are printed in black and white.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shade {
    Ink,
    /// Lines to write on.
    Grey,
    /// Areas under black letters.
    Pale,
    Paper,
}

impl Shade {
    /// 0 is black, 1 white.
    pub(super) fn grey(self) -> f64 {
        match self {
            Shade::Ink => 0.0,
            Shade::Grey => 0.45,
            Shade::Pale => 0.88,
            Shade::Paper => 1.0,
        }
    }
}

/// What a text is to somebody who hears the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Title,
    Heading,
    Text,
    /// Of what is for a pen only: on a narrow screen it is left out.
    ForPen,
    /// The heading of such a part.
    HeadingForPen,
}

/// Which part of its lines a text's place names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Left,
    Right,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Style {
    /// Millimetres from line to line of solid setting.
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) anchor: Anchor,
    pub(super) shade: Shade,
    pub(super) role: Role,
}

/// From one baseline to the next, over the size.
const LEADING: f64 = 1.28;

impl Style {
    pub(super) const fn plain(size: f64) -> Self {
        Self {
            size,
            weight: Weight::Regular,
            anchor: Anchor::Left,
            shade: Shade::Ink,
            role: Role::Text,
        }
    }

    pub(super) const fn bold(size: f64) -> Self {
        Self {
            weight: Weight::Bold,
            ..Self::plain(size)
        }
    }

    pub(super) const fn heading(size: f64) -> Self {
        Self {
            role: Role::Heading,
            ..Self::bold(size)
        }
    }

    pub(super) const fn at(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    pub(super) const fn for_pen(self) -> Self {
        let role = match self.role {
            Role::Heading | Role::HeadingForPen => Role::HeadingForPen,
            Role::Title | Role::Text | Role::ForPen => Role::ForPen,
        };
        Self { role, ..self }
    }

    pub(super) const fn on_ink(self) -> Self {
        Self {
            shade: Shade::Paper,
            ..self
        }
    }

    pub(super) fn leading(&self) -> f64 {
        LEADING * self.size
    }

    /// The largest size, up to its own, at which a text fits.
    pub(super) fn fitted(self, text: &str, width: f64) -> Self {
        let wide = self.weight.width(text, self.size);
        let size = if wide > width {
            self.size * width / wide
        } else {
            self.size
        };
        Self { size, ..self }
    }
}

/// Lines of text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Text {
    /// Of the first line, on its baseline.
    pub(super) at: At,
    pub(super) lines: Vec<String>,
    pub(super) style: Style,
}

/// A run of straight strokes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shape {
    pub(super) points: Vec<At>,
    pub(super) closed: bool,
    pub(super) fill: Option<Shade>,
    /// Width of the line, and how dark.
    pub(super) line: Option<(f64, Shade)>,
    pub(super) dashed: bool,
}

impl Shape {
    pub(super) fn path(points: Vec<At>, width: f64, shade: Shade) -> Self {
        Self {
            points,
            closed: false,
            fill: None,
            line: Some((width, shade)),
            dashed: false,
        }
    }

    pub(super) fn area(points: Vec<At>, fill: Shade) -> Self {
        Self {
            points,
            closed: true,
            fill: Some(fill),
            line: None,
            dashed: false,
        }
    }

    pub(super) fn rectangle((x, y): At, (width, height): At) -> Vec<At> {
        vec![
            (x, y),
            (x + width, y),
            (x + width, y + height),
            (x, y + height),
        ]
    }

    pub(super) fn dashed(self) -> Self {
        Self {
            dashed: true,
            ..self
        }
    }
}

/// Something on a page, in the order of reading.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item {
    Text(Text),
    /// A picture, with what it shows in words; without, it is there for the eye only.
    Drawing {
        words: Option<String>,
        shapes: Vec<Shape>,
    },
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Page {
    /// What it is about.
    pub(super) title: String,
    pub(super) items: Vec<Item>,
}

impl Page {
    pub(super) fn new(title: &str) -> Self {
        Self {
            title: title.to_string(),
            items: Vec::new(),
        }
    }

    pub(super) fn text(&mut self, style: Style, at: At, text: &str) {
        self.items.push(Item::Text(Text {
            at,
            lines: vec![text.to_string()],
            style,
        }));
    }

    /// A text cut off where it would be wider.
    pub(super) fn cell(&mut self, style: Style, at: At, width: f64, text: &str) {
        let cut = style.weight.cut(text, style.size, width);
        self.text(style, at, &cut);
    }

    /// A text broken into lines; returns the baseline that the next text would have.
    pub(super) fn paragraph(&mut self, style: Style, at: At, width: f64, text: &str) -> f64 {
        self.paragraph_of(style, at, width, text, usize::MAX)
    }

    /// The same, with at most so many lines.
    pub(super) fn paragraph_of(
        &mut self,
        style: Style,
        at: At,
        width: f64,
        text: &str,
        most: usize,
    ) -> f64 {
        let mut lines = style.weight.broken(text, style.size, width);
        if lines.len() > most {
            let rest = lines.split_off(most.saturating_sub(1)).join(" ");
            lines.push(style.weight.cut(&rest, style.size, width));
        }
        let below = at.1 + lines.len() as f64 * style.leading();
        self.items.push(Item::Text(Text { at, lines, style }));
        below
    }

    pub(super) fn shapes(&mut self, shapes: Vec<Shape>) {
        self.items.push(Item::Drawing {
            words: None,
            shapes,
        });
    }

    pub(super) fn drawing(&mut self, words: String, shapes: Vec<Shape>) {
        self.items.push(Item::Drawing {
            words: Some(words),
            shapes,
        });
    }

    pub(super) fn rule(&mut self, from: At, to: At, width: f64, shade: Shade) {
        self.shapes(vec![Shape::path(vec![from, to], width, shade)]);
    }

    pub(super) fn frame(&mut self, at: At, size: At, width: f64) {
        self.shapes(vec![Shape {
            closed: true,
            ..Shape::path(Shape::rectangle(at, size), width, Shade::Ink)
        }]);
    }

    pub(super) fn filled(&mut self, at: At, size: At, shade: Shade) {
        self.shapes(vec![Shape::area(Shape::rectangle(at, size), shade)]);
    }

    /// Every text on it.
    pub(super) fn texts(&self) -> impl Iterator<Item = &Text> {
        self.items.iter().filter_map(|item| match item {
            Item::Text(text) => Some(text),
            Item::Drawing { .. } => None,
        })
    }
}
