//! Every finished edge with all sums that it stands in.

use super::super::tables::folded;
use crate::decisions::{Factor, GroupEdge, Sums};
use crate::views::format::hours;
use crate::views::{DriftChart, EdgeLabel};
use maud::Markup;

/// Rows at the most, of the latest edges.
const ROWS: usize = 100;

/// Sums of every edge, or of the latest: over all edges, and of its machine and its grinder where those have their own.
pub fn edges(chart: &DriftChart) -> Markup {
    let factors = [
        (Factor::Machine, "its machine"),
        (Factor::Grinder, "its grinder"),
    ];
    let watched = |factor: &Factor| {
        let groups = &chart.answer.groups;
        groups.iter().any(|own| own.group.factor == *factor)
    };
    let factors: Vec<(Factor, &str)> = factors.into_iter().filter(|it| watched(&it.0)).collect();
    let mut heads = vec!["edge", "came out", "meter hours", "all edges"];
    heads.extend(factors.iter().map(|(_, head)| *head));
    let row = |(place, label): (usize, &EdgeLabel)| {
        let mut cells = vec![
            format!("{}: {}, edge {}", label.machine, label.set, label.edge),
            label.came_out.clone().unwrap_or_default(),
            hours(label.hours),
        ];
        let all = chart.answer.chart.get(place).map(|edge| Sums {
            longer: edge.longer,
            shorter: edge.shorter,
        });
        cells.push(both(all));
        let own = factors
            .iter()
            .map(|(factor, _)| sums(chart, *factor, place));
        cells.extend(own.map(both));
        cells
    };
    let earlier = chart.edges.len().saturating_sub(ROWS);
    let which = match earlier {
        0 => String::new(),
        _ => format!(" of the latest {ROWS}; keenspan drift --json has all"),
    };
    folded(
        "The same in numbers",
        &format!(
            "Sums after each edge{which}: how much longer and how much shorter edges lasted than foretold (1 is the usual scatter of one edge)"
        ),
        &heads,
        chart
            .edges
            .iter()
            .enumerate()
            .skip(earlier)
            .map(row)
            .collect(),
    )
}

/// The sums after this edge of the group that it stands in.
fn sums(chart: &DriftChart, factor: Factor, place: usize) -> Option<Sums> {
    let own = chart
        .answer
        .groups
        .iter()
        .filter(|own| own.group.factor == factor);
    let mut edges = own.flat_map(|own| &own.edges);
    edges
        .find(|edge: &&GroupEdge| edge.place == place)
        .map(|edge| edge.sums)
}

fn both(sums: Option<Sums>) -> String {
    sums.map_or(String::new(), |it| {
        format!("{:.1} and {:.1}", it.longer, it.shorter)
    })
}
