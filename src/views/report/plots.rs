//! The pictures of the report.

use super::{LineEnd, LineStay, MachineDull, MachineLine};
use crate::decisions::IntervalAnswer;
use crate::quantities::{Estimate, Grade};
use crate::views::format::{hours, hours_between};
use crate::views::svg::{Axis, Form, Mark, Plot, Tone};
use crate::wear::{Learned, QuantityUnit};

/// Cost against interval, with the flat part, the answer and today's rule.
pub fn cost(machine: &str, answer: &IntervalAnswer, currency: &str) -> Plot {
    let points = || answer.curve.iter();
    let first = points().next().map_or(0.0, |point| point.interval.get());
    let last = points()
        .next_back()
        .map_or(1.0, |point| point.interval.get());
    let best = answer.cost_per_hour.point.get();
    // Short intervals cost without end: the picture stops where nobody would go.
    let top = 2.2 * best.max(answer.cost_per_hour.upper.get() * 0.6);
    let inside = || points().filter(|point| point.cost_per_hour.point.get() <= top);
    let to = answer.flat.to.map_or(last, |to| to.get());
    let mut marks = vec![
        Mark::Shade {
            from: answer.flat.from.get(),
            to,
            tone: Tone::Third,
        },
        Mark::Ribbon {
            points: inside()
                .map(|point| {
                    let cost = &point.cost_per_hour;
                    (
                        point.interval.get(),
                        cost.lower.get(),
                        cost.upper.get().min(top),
                    )
                })
                .collect(),
            tone: Tone::First,
        },
        Mark::Line {
            points: inside()
                .map(|point| (point.interval.get(), point.cost_per_hour.point.get()))
                .collect(),
            tone: Tone::First,
            dashes: None,
            word: "cost".to_string(),
        },
        Mark::Upright {
            at: answer.interval.point.get(),
            tone: Tone::Third,
            word: format!("best {}", hours(answer.interval.point)),
        },
    ];
    if let Some(rule) = &answer.rule {
        marks.push(Mark::Upright {
            at: rule.rule.get(),
            tone: Tone::Second,
            word: format!("rule {}", hours(rule.rule)),
        });
    }
    let from = inside().next().map_or(first, |point| point.interval.get());
    let unit = if currency.is_empty() {
        "own currency"
    } else {
        currency
    };
    Plot {
        description: format!(
            "{machine}: cost per meter hour against the change interval; least at {} hours, likely between {} hours",
            hours(answer.interval.point),
            hours_between(&answer.interval)
        ),
        across: Axis::numbers(
            "change every so many meter hours",
            0.8 * from,
            last.min(4.0 * answer.interval.point.get()),
        ),
        up: Axis::numbers(&format!("{unit} per meter hour"), 0.0, top)
            .with_decimals(usize::from(top < 20.0)),
        marks: cut_off(marks, 4.0 * answer.interval.point.get()),
        shape: 0.5,
    }
}

/// Lines and ribbons end where the picture does.
fn cut_off(marks: Vec<Mark>, until: f64) -> Vec<Mark> {
    let cut = |mark| match mark {
        Mark::Line {
            points,
            tone,
            dashes,
            word,
        } => Mark::Line {
            points: points.into_iter().filter(|(x, _)| *x <= until).collect(),
            tone,
            dashes,
            word,
        },
        Mark::Ribbon { points, tone } => Mark::Ribbon {
            points: points.into_iter().filter(|(x, _, _)| *x <= until).collect(),
            tone,
        },
        Mark::Shade { from, to, tone } => Mark::Shade {
            from,
            to: to.min(until),
            tone,
        },
        other => other,
    };
    marks.into_iter().map(cut).collect()
}

/// Chance of dull against hours, a line with its ribbon for each class of dirt.
pub fn dull(dull: &MachineDull) -> Plot {
    let tones = [Tone::First, Tone::Third, Tone::Second, Tone::Fourth];
    let dashes = [None, Some(1.2), Some(0.6), Some(0.25)];
    let ribbon = |((_, points), tone): (&(&str, Vec<_>), Tone)| Mark::Ribbon {
        points: points
            .iter()
            .map(|point: &crate::decisions::DullChance| {
                let chance = &point.chance;
                (
                    point.hours.get(),
                    100.0 * chance.lower.get(),
                    100.0 * chance.upper.get(),
                )
            })
            .collect(),
        tone,
    };
    let line = |(((class, points), tone), dashes): (
        (&(&'static str, Vec<crate::decisions::DullChance>), Tone),
        Option<f64>,
    )| {
        let points: Vec<(f64, f64)> = points
            .iter()
            .map(|point| (point.hours.get(), 100.0 * point.chance.point.get()))
            .collect();
        // The word stands where the curve is still apart from the others.
        let at = points.iter().find(|(_, chance)| *chance >= 62.0).copied();
        let last = points.last().copied();
        (
            Mark::Line {
                points,
                tone,
                dashes,
                word: String::new(),
            },
            Mark::Word {
                at: at.or(last).unwrap_or((0.0, 0.0)),
                word: format!(" {class}"),
                tone,
            },
        )
    };
    let ribbons = dull.classes.iter().zip(tones).map(ribbon);
    let lines: Vec<(Mark, Mark)> = dull
        .classes
        .iter()
        .zip(tones)
        .zip(dashes)
        .map(line)
        .collect();
    let last = dull.classes.iter().filter_map(|(_, points)| points.last());
    let until = last.map(|point| point.hours.get()).fold(1.0, f64::max);
    Plot {
        description: format!(
            "{}: chance that an edge is dull against meter hours, by dirt",
            dull.machine
        ),
        across: Axis::numbers("meter hours since fresh, green hardwood", 0.0, until),
        up: Axis::numbers("chance of dull, %", 0.0, 100.0),
        marks: ribbons
            .chain(lines.into_iter().flat_map(|(line, word)| [line, word]))
            .collect(),
        shape: 0.5,
    }
}

/// What was held before the log and what it has taught, one under the other, as ratios.
pub fn learned(learned: &[&Learned], names: &[String]) -> Option<Plot> {
    let rows: Vec<(f64, &Learned)> = learned
        .iter()
        .filter(|it| it.quantity.unit() == QuantityUnit::Times)
        .zip(1..)
        .map(|(it, place)| (f64::from(place), *it))
        .collect();
    let bound = |of: fn(&Estimate<f64>) -> f64| {
        rows.iter()
            .flat_map(move |(_, it)| [of(&it.before), of(&it.after)])
    };
    let from = bound(|it| it.lower).fold(f64::INFINITY, f64::min);
    let to = bound(|it| it.upper).fold(0.0, f64::max);
    if rows.is_empty() {
        return None;
    }
    let marks = rows.iter().flat_map(|(at, it)| {
        let bar = |estimate: &Estimate<f64>, at: f64, tone: Tone, thickness: f64| Mark::Bar {
            across: (estimate.lower, estimate.upper),
            at,
            tone,
            thickness,
        };
        let point = |estimate: &Estimate<f64>, at: f64, tone: Tone, form: Form| Mark::Point {
            at: (estimate.point, at),
            tone,
            form,
        };
        [
            bar(&it.before, at + 0.16, Tone::Faint, 0.9),
            point(&it.before, at + 0.16, Tone::Ink, Form::Open),
            bar(&it.after, at - 0.16, Tone::First, 0.9),
            point(&it.after, at - 0.16, Tone::Ink, Form::Full),
        ]
    });
    Some(Plot {
        description:
            "What was held before the log and what it has taught, as ratios with 90 % bounds"
                .to_string(),
        across: Axis::numbers("times", from * 0.9, to * 1.1)
            .with_decimals(1)
            .logarithmic(),
        up: Axis::named(names.to_vec()),
        marks: marks.collect(),
        shape: (0.09 * rows.len() as f64 + 0.12).min(1.2),
    })
}

/// Each edge as a bar along the hour meter, one row a set, with what was seen where it ends and a mark where
/// it would have been due.
pub fn time_line(line: &MachineLine) -> Option<Plot> {
    let mut sets: Vec<String> = Vec::new();
    for stay in &line.stays {
        if !sets.contains(&stay.set) {
            sets.push(stay.set.clone());
        }
    }
    let from = line.stays.first()?.from.get();
    let to = line
        .stays
        .iter()
        .map(|stay| stay.to.get())
        .fold(from, f64::max);
    let row = |stay: &LineStay| {
        sets.iter()
            .position(|set| *set == stay.set)
            .map_or(1.0, |place| 1.0 + place as f64)
    };
    let marks = line.stays.iter().flat_map(|stay| {
        let at = row(stay) + if stay.edge % 2 == 0 { -0.13 } else { 0.13 };
        let tone = if stay.edge % 2 == 0 {
            Tone::Third
        } else {
            Tone::First
        };
        let bar = Mark::Bar {
            across: (stay.from.get(), stay.to.get()),
            at,
            tone,
            thickness: 0.75,
        };
        let end = form(stay.end).map(|(form, tone)| Mark::Point {
            at: (stay.to.get(), at),
            tone,
            form,
        });
        let due = stay
            .was_due
            .filter(|due| due.get() <= to)
            .map(|due| Mark::Bar {
                across: (due.get(), due.get() + 0.003 * (to - from)),
                at,
                tone: Tone::Ink,
                thickness: 2.0,
            });
        [Some(bar), due, end].into_iter().flatten()
    });
    Some(Plot {
        description: format!(
            "{}: edges along the hour meter, one row a knife set",
            line.machine
        ),
        across: Axis::numbers("hour meter", from, to + 0.01 * (to - from)),
        marks: marks.collect(),
        shape: 0.09 * sets.len() as f64 + 0.16,
        up: Axis::named(sets),
    })
}

/// The form of each end; a keen or working edge is a circle, a dull one a triangle, an overrun one a square.
fn form(end: LineEnd) -> Option<(Form, Tone)> {
    match end {
        LineEnd::AtWork => None,
        LineEnd::Graded(Grade::Keen | Grade::Working) => Some((Form::Open, Tone::Ink)),
        LineEnd::Graded(Grade::Dull) | LineEnd::Noticed => Some((Form::Triangle, Tone::Second)),
        LineEnd::Graded(Grade::Overrun) => Some((Form::Square, Tone::Second)),
        LineEnd::Struck => Some((Form::Cross, Tone::Alarm)),
        LineEnd::NotLooked => Some((Form::Full, Tone::Faint)),
    }
}
