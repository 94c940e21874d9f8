//! From marks to plotters' elements.

use super::axes::{LONGEST_NAME, draw_axes, ticks};
use super::path::written;
use super::sheet::{Drawn, Sheet};
use super::tone::{Stroke, Tone};
use super::{Axis, Form, Key, Mark, Plot, Sample};
use plotters::coord::ranged1d::{AsRangedCoord, Ranged};
use plotters::coord::types::RangedCoordf64;
use plotters::coord::{CoordTranslate, Shift};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// The width of every canvas, in its own units.
const WIDTH: f64 = 7200.0;
/// The largest text that the page's style sheet draws on that canvas, which it does on a phone: room is
/// made for that.
const TEXT: f64 = 230.0;
/// The width of a letter on the mean, in heights of the text.
const LETTER: f64 = 0.62;
/// From one line of text to the next.
const ROW: i32 = 300;
pub(super) const LINE: u32 = 26;
pub(super) const HAIR: u32 = 6;
/// Between an axis and the numbers under it; twice as much beside it, where its lowest number would touch them.
pub(super) const GAP: i32 = 50;
const POINT: i32 = 55;

/// The drawing failed; plotters says nothing that would help a reader.
pub(super) struct DrawingError;

type Canvas<'a> = DrawingArea<Sheet<'a>, Shift>;

pub(super) type Chart<'a, 'b, X> = ChartContext<'a, Sheet<'b>, Cartesian2d<X, RangedCoordf64>>;

fn size(plot: &Plot) -> (u32, u32) {
    (WIDTH as u32, (WIDTH * plot.shape) as u32)
}

/// The size in units of what is written.
pub(super) fn written_size(plot: &Plot) -> (i32, i32) {
    let (width, height) = size(plot);
    (written(width as i32), written(height as i32))
}

/// All that is on the picture.
pub(super) fn draw(plot: &Plot) -> Result<Vec<Drawn>, DrawingError> {
    let mut drawn = Vec::new();
    {
        let root = Sheet::new(&mut drawn, size(plot)).into_drawing_area();
        let across = plot.across.from..plot.across.to;
        let up = plot.up.from..plot.up.to;
        let done = if plot.across.logarithmic {
            draw_on(plot, &root, across.log_scale(), up)
        } else {
            draw_on(plot, &root, across, up)
        };
        done.ok_or(DrawingError)?;
    }
    Ok(drawn)
}

/// The size is the style sheet's; plotters is only told where the text stands.
pub(super) fn text(tone: Tone, position: Pos) -> TextStyle<'static> {
    ("sans-serif", TEXT)
        .into_font()
        .color(&tone.rgb(Stroke::Whole))
        .pos(position)
}

fn wide(letters: usize) -> i32 {
    (letters as f64 * TEXT * LETTER) as i32
}

/// The width that the longest number or name needs.
fn room_left(axis: &Axis) -> i32 {
    let letters = ticks(axis)
        .into_iter()
        .map(|(_, name)| name.chars().count());
    wide(letters.max().unwrap_or(0).clamp(2, LONGEST_NAME)) + 3 * GAP
}

/// Lines of text over the picture: what the axis up counts, keys, and words over upright lines.
fn rows_above(plot: &Plot) -> i32 {
    let upright = |mark: &Mark| matches!(mark, Mark::Upright { .. });
    row_of_keys(plot) + i32::from(!plot.keys.is_empty()) + i32::from(plot.marks.iter().any(upright))
}

fn row_of_keys(plot: &Plot) -> i32 {
    i32::from(!plot.up.label.is_empty())
}

fn draw_on<X>(plot: &Plot, root: &Canvas<'_>, across: X, up: std::ops::Range<f64>) -> Option<()>
where
    X: AsRangedCoord<Value = f64>,
    X::CoordDescType: Ranged<ValueType = f64>,
{
    let left = room_left(&plot.up);
    let right = wide(2);
    let mut chart = ChartBuilder::on(root)
        .margin_top(GAP + ROW * rows_above(plot))
        .margin_right(right)
        .margin_bottom(GAP + 2 * ROW)
        .margin_left(left)
        .build_cartesian_2d(across, up)
        .ok()?;
    draw_axes(&mut chart, &plot.across, &plot.up)?;
    for mark in &plot.marks {
        draw_mark(plot, &mut chart, mark)?;
    }
    let (_, height) = size(plot);
    let middle = (left + WIDTH as i32 - right) / 2;
    let below = text(Tone::Ink, Pos::new(HPos::Center, VPos::Bottom));
    let at = (middle, height as i32 - GAP);
    root.draw(&Text::new(plot.across.label.clone(), at, below))
        .ok()?;
    if !plot.up.label.is_empty() {
        let above = text(Tone::Ink, Pos::new(HPos::Left, VPos::Top));
        root.draw(&Text::new(plot.up.label.clone(), (GAP, GAP), above))
            .ok()?;
    }
    draw_keys(root, &plot.keys, (left, ROW * row_of_keys(plot) + ROW / 2))
}

/// The keys in one line, each a piece of its line, or its point, and its word.
fn draw_keys(root: &Canvas<'_>, keys: &[Key], at: (i32, i32)) -> Option<()> {
    const SAMPLE: i32 = 420;
    let (mut left, height) = at;
    for Key { word, tone, sample } in keys {
        let wide_sample = match sample {
            Sample::Line(stroke) => {
                let piece = vec![(left, height), (left + SAMPLE, height)];
                let style = tone.rgb(*stroke).stroke_width(LINE);
                root.draw(&PathElement::new(piece, style)).ok()?;
                SAMPLE
            }
            Sample::Point(form) => {
                let place = (left + POINT, height);
                draw_point(root, place, *tone, *form)?;
                2 * POINT
            }
        };
        let beside = text(*tone, Pos::new(HPos::Left, VPos::Center));
        let place = (left + wide_sample + GAP, height);
        root.draw(&Text::new(word.clone(), place, beside)).ok()?;
        left += wide_sample + 4 * GAP + wide(word.chars().count());
    }
    Some(())
}

fn draw_mark<X>(plot: &Plot, chart: &mut Chart<'_, '_, X>, mark: &Mark) -> Option<()>
where
    X: Ranged<ValueType = f64>,
{
    let (bottom, top) = (plot.up.from, plot.up.to);
    match mark {
        Mark::Line {
            points,
            tone,
            stroke,
        } => {
            let style = tone.rgb(*stroke).stroke_width(LINE);
            let line = LineSeries::new(points.iter().copied(), style);
            chart.draw_series(line).ok().map(drop)
        }
        Mark::Ribbon { points, tone } => {
            let lower = points.iter().map(|(x, low, _)| (*x, *low));
            let upper = points.iter().rev().map(|(x, _, high)| (*x, *high));
            let outline: Vec<(f64, f64)> = lower.chain(upper).collect();
            let area = Polygon::new(outline, tone.rgb(Stroke::Whole).mix(0.18).filled());
            chart.draw_series([area]).ok().map(drop)
        }
        Mark::Bar {
            across,
            at,
            tone,
            thickness,
        } => {
            let thickness = (thickness * WIDTH / 100.0) as u32;
            let style = tone.rgb(Stroke::Whole).stroke_width(thickness);
            let bar = PathElement::new(vec![(across.0, *at), (across.1, *at)], style);
            chart.draw_series([bar]).ok().map(drop)
        }
        Mark::Block {
            across,
            up,
            tone,
            full,
        } => draw_block(chart, *across, *up, tone.rgb(Stroke::Whole), *full),
        Mark::Word { at, tone, word } => {
            let beside = text(*tone, Pos::new(HPos::Left, VPos::Center));
            let word = EmptyElement::at(*at) + Text::new(word.clone(), (2 * GAP, 0), beside);
            chart.draw_series([word]).ok().map(drop)
        }
        Mark::Point { at, tone, form } => draw_point(chart.plotting_area(), *at, *tone, *form),
        Mark::Upright { at, tone, word } => {
            let style = tone.rgb(Stroke::Whole).stroke_width(14);
            let line = PathElement::new(vec![(*at, bottom), (*at, top)], style);
            chart.draw_series([line]).ok()?;
            let above = text(*tone, Pos::new(side(plot, *at, word), VPos::Bottom));
            let word = EmptyElement::at((*at, top)) + Text::new(word.clone(), (0, -GAP), above);
            chart.draw_series([word]).ok().map(drop)
        }
        Mark::Shade { from, to, tone } => {
            let style = tone.rgb(Stroke::Whole).mix(0.14).filled();
            let area = Rectangle::new([(*from, bottom), (*to, top)], style);
            chart.draw_series([area]).ok().map(drop)
        }
    }
}

/// A full rectangle, or an outline that lies within it.
fn draw_block<X>(
    chart: &mut Chart<'_, '_, X>,
    (left, right): (f64, f64),
    (bottom, top): (f64, f64),
    colour: RGBColor,
    full: bool,
) -> Option<()>
where
    X: Ranged<ValueType = f64>,
{
    let corners = vec![(left, bottom), (right, bottom), (right, top), (left, top)];
    if full {
        let area = Polygon::new(corners, colour.filled());
        return chart.draw_series([area]).ok().map(drop);
    }
    let around = corners.into_iter().chain([(left, bottom), (right, bottom)]);
    let line = PathElement::new(around.collect::<Vec<_>>(), colour.stroke_width(LINE));
    chart.draw_series([line]).ok().map(drop)
}

/// Where the word of an upright line stands: over its line, or on the side away from a neighbour whose word
/// it would run into.
fn side(plot: &Plot, at: f64, word: &str) -> HPos {
    let span = plot.across.to - plot.across.from;
    let close = |other: f64, letters: usize| {
        (other - at).abs() / span * WIDTH
            < f64::from(wide(letters + word.chars().count()) + 2 * GAP)
    };
    let mut neighbours = plot.marks.iter().filter_map(|mark| match mark {
        Mark::Upright {
            at: other,
            word: of,
            ..
        } if of != word => close(*other, of.chars().count()).then_some((*other, of.as_str())),
        _ => None,
    });
    match neighbours.next() {
        None => centred_or_inside(plot, (at - plot.across.from) / span, word),
        // Two lines in one place: the words decide.
        Some((other, of)) if (at, word) < (other, of) => HPos::Right,
        Some(_) => HPos::Left,
    }
}

/// Over its line, where the word does not leave the picture there; `share` is how far along the axis it stands.
fn centred_or_inside(plot: &Plot, share: f64, word: &str) -> HPos {
    let (left, right) = (f64::from(room_left(&plot.up)), f64::from(wide(2)));
    let half = f64::from(wide(word.chars().count())) / 2.0;
    let place = left + share * (WIDTH - left - right);
    if place < half {
        HPos::Left
    } else if place + half > WIDTH {
        HPos::Right
    } else {
        HPos::Center
    }
}

fn draw_point<Place>(
    area: &DrawingArea<Sheet<'_>, Place>,
    at: Place::From,
    tone: Tone,
    form: Form,
) -> Option<()>
where
    Place: CoordTranslate,
    Place::From: Clone + 'static,
{
    let colour = tone.rgb(Stroke::Whole);
    let (full, line) = (colour.filled(), colour.stroke_width(18));
    let drawn = match form {
        Form::Full => area.draw(&Circle::new(at, POINT, full)),
        Form::Open => area.draw(&Circle::new(at, POINT, line)),
        Form::Triangle => area.draw(&TriangleMarker::new(at, POINT + 20, full)),
        Form::Cross => area.draw(&Cross::new(at, POINT, line)),
        Form::Square => {
            let square = Rectangle::new([(-POINT, -POINT), (POINT, POINT)], full);
            area.draw(&(EmptyElement::at(at) + square))
        }
    };
    drawn.ok()
}
