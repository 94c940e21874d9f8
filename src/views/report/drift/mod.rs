//! Whether edges last as they should: the answer, every sum that is watched, and the edges in a table.

pub mod plot;
mod table;

use super::page::{ended, figure, sentence};
use crate::decisions::{Factor, Group, Shift, Sums};
use crate::views::DriftChart;
use crate::views::format::capital;
use maud::{Markup, html};

/// Sums without a sign that are drawn at the most: of a fleet nobody looks at hundreds in which nothing is.
const QUIET: usize = 4;

/// One sum that is watched.
#[derive(Debug)]
pub struct Series<'a> {
    /// Whose edges, as a heading.
    pub name: String,
    /// Its edges by their place among all, each with the sums after it.
    pub edges: Vec<(usize, Sums)>,
    /// What it gave a sign of.
    pub shifts: Vec<&'a Shift>,
}

/// The sum over all edges, then those of machines and of those who grind.
fn series(chart: &DriftChart) -> Vec<Series<'_>> {
    let answer = &chart.answer;
    let shifts = |group: Option<&Group>| -> Vec<&Shift> {
        let of_group = |shift: &&Shift| shift.group.as_ref() == group;
        answer.shifts.iter().filter(of_group).collect()
    };
    let sums = answer.chart.iter().map(|edge| Sums {
        longer: edge.longer,
        shorter: edge.shorter,
    });
    let all = Series {
        name: chart.name().to_string(),
        edges: sums.enumerate().collect(),
        shifts: shifts(None),
    };
    let groups = answer.groups.iter().map(|own| Series {
        name: match own.group.factor {
            Factor::Grinder => format!("Ground by {}", own.group.level),
            _ => own.group.level.clone(),
        },
        edges: own
            .edges
            .iter()
            .map(|edge| (edge.place, edge.sums))
            .collect(),
        shifts: shifts(Some(&own.group)),
    });
    std::iter::once(all).chain(groups).collect()
}

/// Whether there are enough edges for a picture to say something.
pub fn tells(chart: &DriftChart) -> bool {
    !chart.is_short()
}

pub fn part(charts: &[DriftChart]) -> Markup {
    html! {
        section #drift {
            h2 { "Do edges last as long as they should?" }
            @for chart in charts { (one(chart)) }
        }
    }
}

fn one(chart: &DriftChart) -> Markup {
    html! {
        p.answer { (sentence(&chart.headline())) }
        @for caveat in &chart.answer.caveats { p.alarm { (sentence(&caveat.to_string())) } }
        @if let Some(shift) = chart.shown() {
            @for (label, said) in chart.lines(shift) { p { b { (capital(label)) ": " } (ended(&said)) } }
            p { b { "Look at, in this order:" } }
            ol { @for item in &shift.look_at { li { (item.to_string()) } } }
        }
        @if tells(chart) {
            p {
                "How to read it: each step is one edge. The upper line rises where edges outlast what the edges \
                 before them foretold, the lower one sinks where they fall short, and both come back to the middle \
                 while edges last as foretold. A line beyond the dots is a sign."
            }
            @let (drawn, quiet) = drawn(chart);
            @for series in drawn {
                h3 { (series.name) }
                (figure(&plot::sums(chart, &series), &said_of(chart, &series)))
            }
            @if quiet > 0 {
                p { "Nor is there a sign in the sums of " (quiet) " more machines and grinders, which are not drawn." }
            }
            (table::edges(chart))
        }
        @for (label, said) in chart.grounds() { p { b { (capital(label)) ": " } (ended(&said)) } }
    }
}

/// What is drawn: all sums with a sign and the first without one; and how many are not.
pub fn drawn(chart: &DriftChart) -> (Vec<Series<'_>>, usize) {
    let all = series(chart);
    let count = all.len();
    let mut quiet = 0;
    let drawn: Vec<Series<'_>> = all
        .into_iter()
        .filter(|series| {
            quiet += usize::from(series.shifts.is_empty());
            !series.shifts.is_empty() || quiet <= QUIET
        })
        .collect();
    let left_out = count - drawn.len();
    (drawn, left_out)
}

/// What one sum has shown.
fn said_of(chart: &DriftChart, series: &Series<'_>) -> String {
    if series.shifts.is_empty() {
        return format!("{} edges, no sign.", series.edges.len());
    }
    let shifts = series.shifts.iter();
    let words: Vec<String> = shifts
        .map(|shift| sentence(&chart.shift_words(shift)))
        .collect();
    format!(
        "{} Shaded: those edges. Square: the edge with which it was noticed.",
        words.join(" ")
    )
}
