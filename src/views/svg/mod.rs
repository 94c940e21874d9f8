//! Plots as SVG: plain data in, a picture for a page out.
//!
//! plotters rounds to whole pixels, which shows as a jagged curve; so everything is drawn ten times as large
//! and scaled by the viewBox. It draws on a sheet that keeps shapes and words as data, which are then written in as
//! few letters as they need. Looks are classes that the page's style sheet knows, colours one for light and one for
//! dark; no line is told from another by its colour alone.
//!
//! # Examples
//!
//! ```
//! use keenspan::views::svg::{Axis, Mark, Plot, Stroke, Tone};
//!
//! let plot = Plot {
//!     description: "Chance that an edge is dull against hours".to_string(),
//!     across: Axis::numbers("meter hours since fresh", 0.0, 80.0),
//!     up: Axis::numbers("chance of dull, %", 0.0, 100.0),
//!     marks: vec![
//!         Mark::Line {
//!             points: vec![(0.0, 0.0), (40.0, 20.0), (80.0, 90.0)],
//!             tone: Tone::First,
//!             stroke: Stroke::Whole,
//!         },
//!         Mark::Upright { at: 37.0, tone: Tone::Third, word: "best 37".to_string() },
//!     ],
//!     keys: vec![],
//!     shape: 0.55,
//! };
//! // On paper of its own, with the description for those who cannot see it.
//! let svg = plot.svg_alone().ok_or("it could not be drawn")?;
//! assert!(svg.starts_with("<svg xmlns") && svg.contains("aria-label=\"Chance that"));
//! # Ok::<(), &str>(())
//! ```

mod alone;
mod axes;
mod drawing;
mod path;
mod sheet;
mod tone;
mod writing;

pub use tone::{Stroke, Tone};

use drawing::{DrawingError, draw, written_size};
use sheet::Drawn;
use writing::{Attribute, Dress};

/// A picture of the size that a page gives it.
#[derive(Debug, Clone)]
pub struct Plot {
    /// What it shows, for those who cannot see it.
    pub description: String,
    /// Along.
    pub across: Axis,
    /// Up.
    pub up: Axis,
    /// Drawn in this order.
    pub marks: Vec<Mark>,
    /// Which line is which, from left to right over the picture; none where there is one line only.
    pub keys: Vec<Key>,
    /// Height over width.
    pub shape: f64,
}

/// One axis.
#[derive(Debug, Clone)]
pub struct Axis {
    /// What it counts, with its unit.
    pub label: String,
    /// From here.
    pub from: f64,
    /// To here.
    pub to: f64,
    /// About so many ticks.
    pub ticks: usize,
    /// Words for some of its values, for an axis of names; numbers where there are none.
    pub names: Vec<(f64, String)>,
    /// Logarithmic.
    pub logarithmic: bool,
}

/// Which line is which.
#[derive(Debug, Clone)]
pub struct Key {
    /// What it shows.
    pub word: String,
    /// In which tone.
    pub tone: Tone,
    /// How it is drawn.
    pub sample: Sample,
}

/// What stands before the word of a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// A piece of a line.
    Line(Stroke),
    /// A point.
    Point(Form),
}

/// Something drawn.
#[derive(Debug, Clone)]
pub enum Mark {
    /// A line through points.
    Line {
        /// The points.
        points: Vec<(f64, f64)>,
        /// In which tone.
        tone: Tone,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// What lies between two lines over the same places: place, lower, upper.
    Ribbon {
        /// The points.
        points: Vec<(f64, f64, f64)>,
        /// In which tone.
        tone: Tone,
    },
    /// From one place to another at one height: bounds of an estimate, a stretch of work.
    Bar {
        /// From, to.
        across: (f64, f64),
        /// At this height.
        at: f64,
        /// In which tone.
        tone: Tone,
        /// As thick as this, in hundredths of the width.
        thickness: f64,
    },
    /// A rectangle, full or as an outline.
    Block {
        /// From, to.
        across: (f64, f64),
        /// From, to.
        up: (f64, f64),
        /// In which tone.
        tone: Tone,
        /// Full, not an outline.
        full: bool,
    },
    /// A word that begins here.
    Word {
        /// Where.
        at: (f64, f64),
        /// In which tone.
        tone: Tone,
        /// The word.
        word: String,
    },
    /// A point of some form.
    Point {
        /// Where.
        at: (f64, f64),
        /// In which tone.
        tone: Tone,
        /// Of which form.
        form: Form,
    },
    /// An upright line through the whole height, with a word at its top.
    Upright {
        /// Where.
        at: f64,
        /// In which tone.
        tone: Tone,
        /// The word.
        word: String,
    },
    /// A stretch of the axis across, shaded from bottom to top.
    Shade {
        /// From.
        from: f64,
        /// To.
        to: f64,
        /// In which tone.
        tone: Tone,
    },
}

/// Forms of points, told apart without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A full circle.
    Full,
    /// An open circle.
    Open,
    /// A square.
    Square,
    /// A triangle.
    Triangle,
    /// A cross.
    Cross,
}

impl Axis {
    /// Numbers from one to another.
    pub fn numbers(label: &str, from: f64, to: f64) -> Self {
        Self {
            label: label.to_string(),
            from,
            to,
            ticks: 7,
            names: Vec::new(),
            logarithmic: false,
        }
    }

    /// Logarithmic.
    pub fn logarithmic(mut self) -> Self {
        self.logarithmic = true;
        self
    }

    /// Names at heights 1, 2, 3 and so on from the bottom.
    pub fn named(names: Vec<String>) -> Self {
        let count = names.len() as f64;
        let at = names.into_iter().enumerate();
        Self {
            names: at.map(|(place, name)| (1.0 + place as f64, name)).collect(),
            ..Self::numbers("", 0.4, count + 0.6)
        }
    }
}

impl Plot {
    /// The picture, for a page whose style sheet gives text its size and classes their looks; a plot that
    /// cannot be drawn says so in words.
    pub fn svg(&self) -> String {
        match draw(self) {
            Ok(drawn) => self.dressed(Dress::Page, &[], "", &drawn),
            Err(DrawingError) => {
                format!("<p>{}: could not be drawn</p>", escaped(&self.description))
            }
        }
    }

    /// With a viewBox that scales, a description, and what is behind all that is drawn.
    fn dressed(&self, dress: Dress, look: &[Attribute], behind: &str, drawn: &[Drawn]) -> String {
        let (width, height) = written_size(self);
        let picture = [
            ("viewBox", format!("0 0 {width} {height}")),
            ("role", "img".to_string()),
            ("aria-label", self.description.clone()),
        ];
        let begun = dress.begun("svg", &[look, &picture].concat());
        let body = dress.body(drawn);
        format!("{begun}>{behind}{body}</svg>\n")
    }
}

/// Text inside an attribute or element.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
pub(in crate::views::svg) mod tests {
    use super::*;

    pub(in crate::views::svg) fn plot() -> Plot {
        Plot {
            description: "Cost & hours".to_string(),
            across: Axis::numbers("hours", 0.0, 100.0),
            up: Axis::numbers("cost", 0.0, 10.0),
            marks: vec![
                Mark::Ribbon {
                    points: vec![(0.0, 1.0, 2.0), (50.0, 2.0, 4.0)],
                    tone: Tone::First,
                },
                Mark::Line {
                    points: vec![(0.0, 1.5), (50.0, 3.0)],
                    tone: Tone::First,
                    stroke: Stroke::Long,
                },
            ],
            keys: vec![Key {
                word: "dusty".to_string(),
                tone: Tone::First,
                sample: Sample::Line(Stroke::Long),
            }],
            shape: 0.6,
        }
    }

    #[test]
    fn a_picture_scales_is_described_and_has_no_colour_of_its_own() {
        let svg = plot().svg();
        assert!(svg.starts_with("<svg viewBox"));
        assert!(svg.contains("viewBox=\"0 0 ") && svg.ends_with("</svg>\n"));
        assert!(svg.contains("aria-label=\"Cost &amp; hours\""));
        assert!(svg.contains("class=\"first long\"") && svg.contains(">dusty</text>"));
        assert_eq!(svg.matches("first long").count(), 2, "{svg}");
        assert!(!svg.contains("font-") && !svg.contains('#'), "{svg}");
    }
}
