//! The sheet that plotters draws on. It keeps what is drawn as data, so that `writing` can say it in few letters:
//! a fleet's report has hundreds of pictures.

use super::tone::{Stroke, Tone};
use plotters::prelude::{DrawingBackend, RGBColor};
use plotters::style::text_anchor::Pos;
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingErrorKind,
};
use std::convert::Infallible;

/// What was drawn, in its order.
#[derive(Debug)]
pub(super) enum Drawn {
    /// Shapes of one look.
    Shapes(Look, Vec<Shape>),
    /// Words.
    Words(Words),
}

/// How shapes look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Look {
    /// A line of this width.
    Line {
        tone: Tone,
        stroke: Stroke,
        width: u32,
    },
    /// An area that lets this much through, from 0 to 1.
    Area { tone: Tone, opacity: f64 },
}

#[derive(Debug)]
pub(super) enum Shape {
    /// From point to point.
    Line(Vec<BackendCoord>),
    /// From point to point and back to the first.
    Ring(Vec<BackendCoord>),
    Circle {
        centre: BackendCoord,
        radius: u32,
    },
}

pub(super) struct Words {
    pub(super) at: BackendCoord,
    /// Where the words stand from there.
    pub(super) position: Pos,
    pub(super) tone: Tone,
    pub(super) words: String,
}

impl std::fmt::Debug for Words {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{} at {:?}", self.words, self.at)
    }
}

impl Drawn {
    pub(super) fn words(&self) -> Option<&Words> {
        match self {
            Drawn::Words(words) => Some(words),
            Drawn::Shapes(..) => None,
        }
    }
}

/// What plotters draws on.
pub(super) struct Sheet<'a> {
    size: (u32, u32),
    drawn: &'a mut Vec<Drawn>,
}

type Done = Result<(), DrawingErrorKind<Infallible>>;

impl<'a> Sheet<'a> {
    pub(super) fn new(drawn: &'a mut Vec<Drawn>, size: (u32, u32)) -> Self {
        Self { size, drawn }
    }

    fn line<S: BackendStyle>(&mut self, style: &S, shape: Shape) -> Done {
        let (tone, stroke) = of(style.color());
        let width = style.stroke_width();
        let look = Look::Line {
            tone,
            stroke,
            width,
        };
        self.shape(look, shape)
    }

    fn area<S: BackendStyle>(&mut self, style: &S, shape: Shape) -> Done {
        let colour = style.color();
        let look = Look::Area {
            tone: of(colour).0,
            opacity: colour.alpha,
        };
        self.shape(look, shape)
    }

    /// Shapes of one look that follow each other stand together, but for areas that shine through each other.
    fn shape(&mut self, look: Look, shape: Shape) -> Done {
        let solid = !matches!(look, Look::Area { opacity, .. } if opacity < 1.0);
        match self.drawn.last_mut() {
            Some(Drawn::Shapes(last, shapes)) if solid && *last == look => shapes.push(shape),
            _ => self.drawn.push(Drawn::Shapes(look, vec![shape])),
        }
        Ok(())
    }
}

/// What this colour stands for.
fn of(colour: BackendColor) -> (Tone, Stroke) {
    let (red, green, blue) = colour.rgb;
    Tone::of(RGBColor(red, green, blue))
}

impl DrawingBackend for Sheet<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Done {
        Ok(())
    }

    fn present(&mut self) -> Done {
        Ok(())
    }

    /// Nothing here is drawn pixel by pixel.
    fn draw_pixel(&mut self, at: BackendCoord, colour: BackendColor) -> Done {
        self.draw_rect(at, (at.0 + 1, at.1 + 1), &colour, true)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Done {
        self.line(style, Shape::Line(vec![from, to]))
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        (left, top): BackendCoord,
        (right, bottom): BackendCoord,
        style: &S,
        fill: bool,
    ) -> Done {
        let corners = vec![(left, top), (right, top), (right, bottom), (left, bottom)];
        match fill {
            true => self.area(style, Shape::Ring(corners)),
            false => self.line(style, Shape::Ring(corners)),
        }
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Done {
        self.line(style, Shape::Line(path.into_iter().collect()))
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Done {
        let circle = Shape::Circle { centre, radius };
        match fill {
            true => self.area(style, circle),
            false => self.line(style, circle),
        }
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Done {
        self.area(style, Shape::Ring(corners.into_iter().collect()))
    }

    fn draw_text<S: BackendTextStyle>(&mut self, words: &str, style: &S, at: BackendCoord) -> Done {
        self.drawn.push(Drawn::Words(Words {
            at,
            position: style.anchor(),
            tone: of(style.color()).0,
            words: words.to_string(),
        }));
        Ok(())
    }
}
