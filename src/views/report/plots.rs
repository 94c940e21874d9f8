//! The pictures of the report.

use super::{LineEnd, LineStay, MachineDull, MachineLine};
use crate::decisions::{DullChance, IntervalAnswer};
use crate::quantities::{Estimate, Grade, MeterHours};
use crate::views::format::{hours, hours_between};
use crate::views::svg::{Axis, Form, Key, Mark, Plot, Sample, Stroke, Tone};
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
            stroke: Stroke::Whole,
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
        up: Axis::numbers(&format!("{unit} per meter hour"), 0.0, top),
        marks: cut_off(marks, 4.0 * answer.interval.point.get()),
        keys: Vec::new(),
        shape: 0.55,
    }
}

/// Lines and ribbons end where the picture does.
fn cut_off(marks: Vec<Mark>, until: f64) -> Vec<Mark> {
    let cut = |mark| match mark {
        Mark::Line {
            points,
            tone,
            stroke,
        } => Mark::Line {
            points: points.into_iter().filter(|(x, _)| *x <= until).collect(),
            tone,
            stroke,
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
    let strokes = [Stroke::Whole, Stroke::Long, Stroke::Middle, Stroke::Short];
    let classes = || dull.classes.iter().zip(tones.into_iter().zip(strokes));
    let ribbons = classes().map(|((_, points), (tone, _))| chance_ribbon(points, tone));
    let lines = classes().map(|((_, points), (tone, stroke))| chance_line(points, tone, stroke));
    // The dirtiest goes dull first, so it stands leftmost in the picture and over it.
    let keys = classes().rev().map(|((class, _), (tone, stroke))| Key {
        word: (*class).to_string(),
        tone,
        sample: Sample::Line(stroke),
    });
    let last = dull.classes.iter().filter_map(|(_, points)| points.last());
    let until = last.map(|point| point.hours.get()).fold(1.0, f64::max);
    Plot {
        description: format!(
            "{}: chance that an edge is dull against meter hours, by dirt",
            dull.machine
        ),
        across: Axis::numbers("meter hours since fresh, green hardwood", 0.0, until),
        up: Axis::numbers("chance of dull, %", 0.0, 100.0),
        marks: ribbons.chain(lines).collect(),
        keys: keys.collect(),
        shape: 0.55,
    }
}

fn chance_ribbon(points: &[DullChance], tone: Tone) -> Mark {
    let bounds = points.iter().map(|point| {
        let (lower, upper) = (point.chance.lower.get(), point.chance.upper.get());
        (point.hours.get(), 100.0 * lower, 100.0 * upper)
    });
    Mark::Ribbon {
        points: bounds.collect(),
        tone,
    }
}

fn chance_line(points: &[DullChance], tone: Tone, stroke: Stroke) -> Mark {
    let points = points.iter();
    let points = points.map(|point| (point.hours.get(), 100.0 * point.chance.point.get()));
    Mark::Line {
        points: points.collect(),
        tone,
        stroke,
    }
}

/// Rows of the picture of what was learned, at most; a fleet has more machines and sets than a picture has room.
const ROWS: usize = 24;

/// What was held before the log and what it has taught, one under the other, as ratios; the first of a fleet's.
pub fn learned(learned: &[&Learned], names: &[String]) -> Option<Plot> {
    let rows: Vec<(f64, &Learned)> = learned
        .iter()
        .filter(|it| it.quantity.unit() == QuantityUnit::Times)
        .take(ROWS)
        .enumerate()
        .map(|(place, it)| (learned.len().min(ROWS) as f64 - place as f64, *it))
        .collect();
    let top_down = names.iter().take(ROWS).rev().cloned();
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
        across: Axis::numbers("times", from * 0.9, to * 1.1).logarithmic(),
        up: Axis::named(top_down.collect()),
        marks: marks.collect(),
        keys: Vec::new(),
        shape: 0.048 * rows.len() as f64 + 0.12,
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
        .fold(from + 1.0, f64::max);
    let row = |stay: &LineStay| {
        sets.iter()
            .position(|set| *set == stay.set)
            .map_or(1.0, |place| (sets.len() - place) as f64)
    };
    let at = |stay: &LineStay| {
        row(stay)
            + if stay.edge.is_multiple_of(2) {
                -0.13
            } else {
                0.13
            }
    };
    // Like marks follow each other, which makes the picture's text short.
    let bars = |even: bool, tone: Tone| {
        let own = move |stay: &&LineStay| (stay.edge.is_multiple_of(2)) == even;
        line.stays.iter().filter(own).map(move |stay| Mark::Bar {
            across: (stay.from.get(), stay.to.get()),
            at: at(stay),
            tone,
            thickness: 0.75,
        })
    };
    let tick = 0.003 * (to - from);
    let dues = line.stays.iter().filter_map(|stay| {
        let due = stay.was_due.map(MeterHours::get).filter(|due| *due <= to)?;
        Some(Mark::Bar {
            across: (due, due + tick),
            at: at(stay),
            tone: Tone::Ink,
            thickness: 2.0,
        })
    });
    let mut ends: Vec<(Form, Tone, (f64, f64))> = line
        .stays
        .iter()
        .filter_map(|stay| {
            form(stay.end).map(|(form, tone)| (form, tone, (stay.to.get(), at(stay))))
        })
        .collect();
    ends.sort_by_key(|(form, _, _)| *form as u8);
    let ends = ends
        .into_iter()
        .map(|(form, tone, at)| Mark::Point { at, tone, form });
    let marks = bars(false, Tone::First)
        .chain(bars(true, Tone::Third))
        .chain(dues)
        .chain(ends);
    Some(Plot {
        description: format!(
            "{}: edges along the hour meter, one row a knife set",
            line.machine
        ),
        across: Axis::numbers("hour meter", from, to + 0.01 * (to - from)),
        marks: marks.collect(),
        keys: Vec::new(),
        shape: 0.085 * sets.len() as f64 + 0.12,
        up: Axis::named(sets.iter().rev().cloned().collect()),
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
