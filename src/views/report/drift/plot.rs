//! The picture of both sums of one series.

use super::Series;
use crate::decisions::{Shift, Side, Sums};
use crate::views::DriftChart;
use crate::views::svg::{Axis, Form, Key, Mark, Plot, Sample, Stroke, Tone};

/// About so many dates under the picture.
const DATES: usize = 5;
/// Letters of a date that say year and month.
const YEAR_AND_MONTH: usize = 7;

/// The sum for longer lives upwards, that for shorter ones downwards, between the limits of a sign.
pub fn sums(chart: &DriftChart, series: &Series<'_>) -> Plot {
    let limit = chart.answer.scheme.decision;
    let furthest = |of: fn(&Sums) -> f64| {
        let sums = series.edges.iter().map(|(_, sums)| of(sums));
        1.15 * sums.fold(limit, f64::max)
    };
    let (top, bottom) = (furthest(|it| it.longer), furthest(|it| it.shorter));
    let count = series.edges.len() as f64;
    let line = |side: Side, tone: Tone, stroke: Stroke| {
        let at =
            |(step, (_, sums)): (usize, &(usize, Sums))| (step as f64 + 1.0, drawn(sums, side));
        Mark::Line {
            points: std::iter::once((0.0, 0.0))
                .chain(series.edges.iter().enumerate().map(at))
                .collect(),
            tone,
            stroke,
        }
    };
    let limits = [limit, -limit].map(|at| Mark::Line {
        points: vec![(0.0, at), (count + 0.5, at)],
        tone: Tone::Alarm,
        stroke: Stroke::Short,
    });
    let shifts = series.shifts.iter();
    let lines = [
        line(Side::Longer, Tone::First, Stroke::Whole),
        line(Side::Shorter, Tone::Second, Stroke::Long),
    ];
    Plot {
        description: description(series),
        across: dates(chart, series),
        up: heights(limit, -bottom, top),
        marks: shifts
            .clone()
            .map(|shift| stretch(series, shift))
            .chain(limits)
            .chain(lines)
            .chain(shifts.filter_map(|shift| noticed(series, shift)))
            .collect(),
        keys: vec![
            key("longer", Tone::First, Stroke::Whole),
            key("shorter", Tone::Second, Stroke::Long),
            key("a sign beyond", Tone::Alarm, Stroke::Short),
        ],
        // As high as the numbers at the limits need, within reason.
        shape: (0.19 + 0.045 * (top + bottom) / limit).clamp(0.38, 0.8),
    }
}

fn drawn(sums: &Sums, side: Side) -> f64 {
    match side {
        Side::Longer => sums.longer,
        Side::Shorter => -sums.shorter,
    }
}

fn key(word: &str, tone: Tone, stroke: Stroke) -> Key {
    Key {
        word: word.to_string(),
        tone,
        sample: Sample::Line(stroke),
    }
}

fn description(series: &Series<'_>) -> String {
    let signs = match series.shifts.len() {
        0 => "no sign".to_string(),
        1 => "one sign".to_string(),
        many => format!("{many} signs"),
    };
    format!(
        "{}: how far edges outlasted what was foretold or fell short of it, summed edge after edge; {signs}",
        series.name
    )
}

/// The step of the first of the series' edges from this place on.
fn step(series: &Series<'_>, place: usize) -> f64 {
    1.0 + series
        .edges
        .iter()
        .take_while(|(at, _)| *at < place)
        .count() as f64
}

/// The edges over which lives ran short or long.
fn stretch(series: &Series<'_>, shift: &Shift) -> Mark {
    let last = series.edges.len() as f64;
    Mark::Shade {
        from: step(series, shift.first.point) - 0.5,
        to: 0.5
            + shift
                .last
                .map_or(last, |place| step(series, place).min(last)),
        tone: Tone::Alarm,
    }
}

/// The edge with which it was noticed, on its line.
fn noticed(series: &Series<'_>, shift: &Shift) -> Option<Mark> {
    let (_, sums) = series.edges.iter().find(|(at, _)| *at == shift.noticed)?;
    Some(Mark::Point {
        at: (step(series, shift.noticed), drawn(sums, shift.side)),
        tone: Tone::Alarm,
        form: Form::Square,
    })
}

/// A step for each edge; here and there the month in which it came out.
fn dates(chart: &DriftChart, series: &Series<'_>) -> Axis {
    let count = series.edges.len();
    let shown = DATES.min(count);
    let name = |number: usize| {
        let step = (2 * number + 1) * count / (2 * shown);
        let (place, _) = series.edges.get(step)?;
        let day = chart.edges.get(*place)?.came_out.as_ref()?;
        let month: String = day.chars().take(YEAR_AND_MONTH).collect();
        Some((step as f64 + 1.0, month))
    };
    Axis {
        names: (0..shown).filter_map(name).collect(),
        ..Axis::numbers(
            "one step an edge, by the month it came out",
            0.0,
            count as f64 + 0.5,
        )
    }
}

/// The middle, and the limits either way.
fn heights(limit: f64, bottom: f64, top: f64) -> Axis {
    let at = |height: f64| (height, format!("{}", height.abs()));
    Axis {
        names: [-limit, 0.0, limit].map(at).to_vec(),
        ..Axis::numbers("longer or shorter than foretold, summed up", bottom, top)
    }
}
