//! From marks to plotters' elements.

use super::{Axis, Form, Mark, Plot, Tone};
use plotters::coord::Shift;
use plotters::coord::ranged1d::{AsRangedCoord, Ranged, ValueFormatter};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// The width of every canvas, in its own units.
const WIDTH: f64 = 7200.0;
/// Sizes on that canvas.
const TEXT: f64 = 150.0;
const LINE: u32 = 26;
const HAIR: u32 = 6;
const POINT: i32 = 55;

/// The drawing failed; plotters says nothing that would help a reader.
pub(super) struct DrawingError;

type Canvas<'a> = DrawingArea<SVGBackend<'a>, Shift>;

pub(super) fn size(plot: &Plot) -> (u32, u32) {
    (WIDTH as u32, (WIDTH * plot.shape) as u32)
}

/// The picture as plotters writes it.
pub(super) fn draw(plot: &Plot) -> Result<String, DrawingError> {
    let mut drawn = String::new();
    {
        let root = SVGBackend::with_string(&mut drawn, size(plot)).into_drawing_area();
        let across = plot.across.from..plot.across.to;
        let up = plot.up.from..plot.up.to;
        let done = if plot.across.logarithmic {
            draw_on(plot, &root, across.log_scale(), up)
        } else {
            draw_on(plot, &root, across, up)
        };
        done.ok_or(DrawingError)?;
        root.present().map_err(|_| DrawingError)?;
    }
    Ok(drawn)
}

fn text(tone: Tone, position: Pos) -> TextStyle<'static> {
    ("sans-serif", TEXT)
        .into_font()
        .color(&tone.rgb())
        .pos(position)
}

/// The width that the longest name needs.
fn room_for(axis: &Axis) -> u32 {
    let longest = axis
        .names
        .iter()
        .map(|(_, name)| name.chars().count())
        .max();
    longest.map_or(620, |letters| 200 + (letters as f64 * TEXT * 0.55) as u32)
}

fn draw_on<X>(plot: &Plot, root: &Canvas<'_>, across: X, up: std::ops::Range<f64>) -> Option<()>
where
    X: AsRangedCoord<Value = f64>,
    X::CoordDescType: ValueFormatter<f64> + Ranged<ValueType = f64>,
{
    let middle = Pos::new(HPos::Center, VPos::Top);
    let mut chart = ChartBuilder::on(root)
        .margin_top(260)
        .margin_right(620)
        .margin_bottom(40)
        .x_label_area_size(520)
        .y_label_area_size(room_for(&plot.up))
        .build_cartesian_2d(across, up)
        .ok()?;
    let (across, up) = (&plot.across, &plot.up);
    let mut mesh = chart.configure_mesh();
    mesh.axis_style(Tone::Ink.rgb().stroke_width(HAIR))
        .bold_line_style(Tone::Faint.rgb().stroke_width(HAIR))
        .light_line_style(TRANSPARENT)
        .label_style(text(Tone::Ink, middle))
        .x_labels(across.ticks)
        .y_labels(if up.names.is_empty() {
            up.ticks
        } else {
            4 * up.names.len() + 1
        })
        .x_desc(&across.label)
        .y_desc(&up.label)
        .axis_desc_style(text(Tone::Ink, middle));
    let (name_across, name_up) = (|x: &f64| across.tick(*x), |y: &f64| up.tick(*y));
    mesh.x_label_formatter(&name_across)
        .y_label_formatter(&name_up);
    if !up.names.is_empty() {
        mesh.disable_y_mesh();
    }
    mesh.draw().ok()?;
    for mark in &plot.marks {
        draw_mark(plot, &mut chart, mark)?;
    }
    Some(())
}

type Chart<'a, 'b, X> =
    ChartContext<'a, SVGBackend<'b>, Cartesian2d<X, plotters::coord::types::RangedCoordf64>>;

fn draw_mark<X>(plot: &Plot, chart: &mut Chart<'_, '_, X>, mark: &Mark) -> Option<()>
where
    X: Ranged<ValueType = f64>,
{
    let (bottom, top) = (plot.up.from, plot.up.to);
    let beside = Pos::new(HPos::Left, VPos::Center);
    match mark {
        Mark::Line {
            points,
            tone,
            dashes,
            word,
        } => {
            let style = tone.rgb().stroke_width(LINE);
            let points = points.iter().copied();
            match dashes {
                None => chart
                    .draw_series(LineSeries::new(points.clone(), style))
                    .ok()
                    .map(drop)?,
                Some(length) => {
                    let length = (length * WIDTH / 100.0) as u32;
                    let dashed =
                        DashedLineSeries::new(points.clone(), length, length * 3 / 4, style);
                    chart.draw_series(dashed).ok().map(drop)?;
                }
            }
            let last = points.last()?;
            let word = Text::new(format!(" {word}"), last, text(*tone, beside));
            chart.draw_series([word]).ok().map(drop)
        }
        Mark::Ribbon { points, tone } => {
            let lower = points.iter().map(|(x, low, _)| (*x, *low));
            let upper = points.iter().rev().map(|(x, _, high)| (*x, *high));
            let outline: Vec<(f64, f64)> = lower.chain(upper).collect();
            let area = Polygon::new(outline, tone.rgb().mix(0.18).filled());
            chart.draw_series([area]).ok().map(drop)
        }
        Mark::Bar {
            across,
            at,
            tone,
            thickness,
        } => {
            let style = tone.rgb().stroke_width((thickness * WIDTH / 100.0) as u32);
            let bar = PathElement::new(vec![(across.0, *at), (across.1, *at)], style);
            chart.draw_series([bar]).ok().map(drop)
        }
        Mark::Point { at, tone, form } => draw_point(chart, *at, *tone, *form),
        Mark::Upright { at, tone, word } => {
            let line =
                PathElement::new(vec![(*at, bottom), (*at, top)], tone.rgb().stroke_width(14));
            chart.draw_series([line]).ok()?;
            let above = text(*tone, Pos::new(HPos::Center, VPos::Bottom));
            chart
                .draw_series([Text::new(word.clone(), (*at, top), above)])
                .ok()
                .map(drop)
        }
        Mark::Shade { from, to, tone } => {
            let area = Rectangle::new([(*from, bottom), (*to, top)], tone.rgb().mix(0.14).filled());
            chart.draw_series([area]).ok().map(drop)
        }
        Mark::Word { at, word, tone } => {
            let word = Text::new(word.clone(), *at, text(*tone, beside));
            chart.draw_series([word]).ok().map(drop)
        }
    }
}

fn draw_point<X>(chart: &mut Chart<'_, '_, X>, at: (f64, f64), tone: Tone, form: Form) -> Option<()>
where
    X: Ranged<ValueType = f64>,
{
    let (full, line) = (tone.rgb().filled(), tone.rgb().stroke_width(18));
    match form {
        Form::Full => chart
            .draw_series([Circle::new(at, POINT, full)])
            .ok()
            .map(drop),
        Form::Open => chart
            .draw_series([Circle::new(at, POINT, line)])
            .ok()
            .map(drop),
        Form::Triangle => chart
            .draw_series([TriangleMarker::new(at, POINT + 20, full)])
            .ok()
            .map(drop),
        Form::Cross => chart
            .draw_series([Cross::new(at, POINT, line)])
            .ok()
            .map(drop),
        Form::Square => {
            let square =
                EmptyElement::at(at) + Rectangle::new([(-POINT, -POINT), (POINT, POINT)], full);
            chart.draw_series([square]).ok().map(drop)
        }
    }
}
