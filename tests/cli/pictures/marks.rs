//! Short names for what the pictures of the notebooks are drawn of.

use keenspan::views::svg::{Axis, Form, Key, Mark, Plot, Sample, Stroke, Tone};

pub type Places = Vec<(f64, f64)>;

pub fn plot(description: &str, across: Axis, up: Axis, shape: f64, marks: Vec<Mark>) -> Plot {
    Plot {
        description: description.to_string(),
        across,
        up,
        marks,
        keys: Vec::new(),
        shape,
    }
}

/// An axis with nothing written on it.
pub fn bare(from: f64, to: f64) -> Axis {
    Axis {
        names: vec![(from, String::new())],
        ..Axis::numbers("", from, to)
    }
}

pub fn line(points: Places, tone: Tone, stroke: Stroke) -> Mark {
    Mark::Line {
        points,
        tone,
        stroke,
    }
}

pub fn point(at: (f64, f64), tone: Tone, form: Form) -> Mark {
    Mark::Point { at, tone, form }
}

pub fn upright(at: f64, tone: Tone, word: &str) -> Mark {
    let word = word.to_string();
    Mark::Upright { at, tone, word }
}

pub fn word(at: (f64, f64), word: &str) -> Mark {
    let word = word.to_string();
    Mark::Word {
        at,
        tone: Tone::Ink,
        word,
    }
}

/// A thin bar: bounds of what a point shows.
pub fn bounds(across: (f64, f64), at: f64, tone: Tone) -> Mark {
    Mark::Bar {
        across,
        at,
        tone,
        thickness: 0.5,
    }
}

pub fn key_of_line(word: &str, tone: Tone, stroke: Stroke) -> Key {
    key(word, tone, Sample::Line(stroke))
}

pub fn key_of_points(word: &str, tone: Tone, form: Form) -> Key {
    key(word, tone, Sample::Point(form))
}

fn key(word: &str, tone: Tone, sample: Sample) -> Key {
    let word = word.to_string();
    Key { word, tone, sample }
}

/// So many places from one to another, both among them.
pub fn between(from: f64, to: f64, count: usize) -> impl Iterator<Item = f64> {
    (0..count).map(move |place| from + (to - from) * place as f64 / (count - 1) as f64)
}
