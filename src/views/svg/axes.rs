//! Axes: ticks at round numbers or at names, the grid, and what each axis counts.

use super::Axis;
use super::drawing::{Chart, GAP, HAIR, text};
use super::tone::{Stroke, Tone};
use plotters::coord::ranged1d::Ranged;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Letters of a name that are drawn at most; the table under the picture has the whole of it.
pub(super) const LONGEST_NAME: usize = 20;
/// Beyond so many decades a logarithmic axis has ticks at powers of ten only.
const DECADES: f64 = 2.5;

/// Where the ticks are, and what stands there.
pub(super) fn ticks(axis: &Axis) -> Vec<(f64, String)> {
    let named = |(at, name): &(f64, String)| (*at, shortened(name));
    if !axis.names.is_empty() {
        return axis.names.iter().map(named).collect();
    }
    if axis.logarithmic {
        return logarithmic(axis.from, axis.to);
    }
    let span = axis.to - axis.from;
    if !(span.is_finite() && span > 0.0) {
        return Vec::new();
    }
    let step = round_step(span / axis.ticks.max(1) as f64);
    let decimals = (-step.log10().floor()).max(0.0) as usize;
    let first = (axis.from / step - 1e-9).ceil();
    let last = (axis.to / step + 1e-9).floor();
    (0..=(last - first).max(0.0) as usize)
        .map(|place| (first + place as f64) * step)
        .map(|at| (at, format!("{at:.decimals$}")))
        .collect()
}

/// 1, 2 or 5 times a power of ten, not under `least`.
fn round_step(least: f64) -> f64 {
    let power = 10_f64.powf(least.log10().floor());
    let round = [1.0, 2.0, 5.0].map(|times| times * power);
    let enough = round.into_iter().find(|step| *step >= least * (1.0 - 1e-9));
    enough.unwrap_or(10.0 * power)
}

fn logarithmic(from: f64, to: f64) -> Vec<(f64, String)> {
    let (low, high) = (from.log10().floor() as i32, to.log10().ceil() as i32);
    let times: &[f64] = if (to / from).log10() > DECADES {
        &[1.0]
    } else {
        &[1.0, 2.0, 5.0]
    };
    let written = |power: i32, times: f64| {
        let at = times * 10_f64.powi(power);
        (at, format!("{at:.*}", (-power).max(0) as usize))
    };
    (low..=high)
        .flat_map(|power| times.iter().map(move |times| written(power, *times)))
        .filter(|(at, _)| (from..=to).contains(at))
        .collect()
}

fn shortened(name: &str) -> String {
    if name.chars().count() <= LONGEST_NAME {
        return name.to_string();
    }
    let kept: String = name.chars().take(LONGEST_NAME - 1).collect();
    kept.trim_end().to_string() + "…"
}

/// Grid, frame and numbers of both axes.
pub(super) fn draw_axes<X>(chart: &mut Chart<'_, '_, X>, across: &Axis, up: &Axis) -> Option<()>
where
    X: Ranged<ValueType = f64>,
{
    let mut line = |from, to, tone: Tone| {
        let path = PathElement::new(vec![from, to], tone.rgb(Stroke::Whole).stroke_width(HAIR));
        chart.draw_series([path]).ok().map(drop)
    };
    for (at, _) in ticks(across) {
        line((at, up.from), (at, up.to), Tone::Faint)?;
    }
    for (at, _) in ticks(up).iter().filter(|_| up.names.is_empty()) {
        line((across.from, *at), (across.to, *at), Tone::Faint)?;
    }
    line((across.from, up.from), (across.to, up.from), Tone::Ink)?;
    line((across.from, up.from), (across.from, up.to), Tone::Ink)?;
    let mut number = |at, (right, down), name: String, (across, up)| {
        let style = text(Tone::Ink, Pos::new(across, up));
        let number = EmptyElement::at(at) + Text::new(name, (right, down), style);
        chart.draw_series([number]).ok().map(drop)
    };
    for (at, name) in ticks(across) {
        number((at, up.from), (0, GAP), name, (HPos::Center, VPos::Top))?;
    }
    for (at, name) in ticks(up) {
        number(
            (across.from, at),
            (-2 * GAP, 0),
            name,
            (HPos::Right, VPos::Center),
        )?;
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(axis: &Axis) -> Vec<String> {
        ticks(axis).into_iter().map(|(_, name)| name).collect()
    }

    #[test]
    fn ticks_stand_at_round_numbers_inside_the_axis() {
        let across = Axis::numbers("", 10.8, 106.0);
        assert_eq!(told(&across), ["20", "40", "60", "80", "100"]);
        let money = Axis::numbers("", 0.0, 1.8);
        assert_eq!(told(&money), ["0.0", "0.5", "1.0", "1.5"]);
        let meter = Axis::numbers("", 1175.0, 2240.0);
        assert_eq!(told(&meter).first().map(String::as_str), Some("1200"));
        assert_eq!(told(&Axis::numbers("", 5.0, 5.0)), [""; 0]);
    }

    #[test]
    fn a_logarithmic_axis_has_more_than_powers_of_ten_where_there_is_room() {
        let times = Axis::numbers("", 0.7, 30.0).logarithmic();
        assert_eq!(told(&times), ["1", "2", "5", "10", "20"]);
        let wide = Axis::numbers("", 0.05, 500.0).logarithmic();
        assert_eq!(told(&wide), ["0.1", "1", "10", "100"]);
    }

    #[test]
    fn a_name_too_long_for_the_axis_is_cut_and_says_so() {
        let axis = Axis::named(vec!["set A".into(), "set of the long green machine".into()]);
        assert_eq!(told(&axis), ["set A", "set of the long gre…"]);
    }
}
