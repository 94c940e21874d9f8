//! Edges of a fleet with the hours that each ran under each row of covariates, those of one group side by side.

use crate::logbook::{Dulling, EdgeHours};
use std::ops::Range;

/// Edges in columns, group by group.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FleetHours {
    /// The edges.
    pub edges: EdgeHours,
    /// The edges of each of the levels; blank where no group was asked for.
    pub groups: Vec<Range<usize>>,
}

/// Puts the edges of each group side by side. Where they stand so already, nothing is moved.
pub fn fleet_hours(edges: EdgeHours) -> FleetHours {
    if edges.level.is_empty() {
        return FleetHours {
            edges,
            groups: Vec::new(),
        };
    }
    if let Some(groups) = side_by_side(&edges) {
        return FleetHours { edges, groups };
    }
    let mut order: Vec<u32> = (0..edges.edges() as u32).collect();
    let level = |edge: &u32| edges.level.get(*edge as usize).copied();
    order.sort_by_key(level);
    let edges = in_order(&edges, &order);
    FleetHours {
        groups: side_by_side(&edges).unwrap_or_default(),
        edges,
    }
}

/// The range of each level, if each has one.
fn side_by_side(edges: &EdgeHours) -> Option<Vec<Range<usize>>> {
    let mut groups = vec![0..0; edges.levels.len()];
    let mut start = 0;
    for same in edges.level.chunk_by(|one, other| one == other) {
        let range = start..start + same.len();
        start = range.end;
        let group = groups.get_mut(*same.first()? as usize)?;
        if group.start < group.end {
            return None;
        }
        *group = range;
    }
    Some(groups)
}

/// The same edges in another order.
fn in_order(edges: &EdgeHours, order: &[u32]) -> EdgeHours {
    fn picked<T: Copy>(column: &[T], order: &[u32]) -> Vec<T> {
        let value = |edge: &u32| column.get(*edge as usize).copied();
        order.iter().filter_map(value).collect()
    }
    let mut ends = Vec::with_capacity(order.len());
    let mut segment_rows = Vec::with_capacity(edges.segment_rows.len());
    let mut segment_hours = Vec::with_capacity(edges.segment_hours.len());
    for edge in order {
        let segments = segments(&edges.ends, *edge as usize);
        segment_rows
            .extend_from_slice(edges.segment_rows.get(segments.clone()).unwrap_or_default());
        segment_hours.extend_from_slice(edges.segment_hours.get(segments).unwrap_or_default());
        ends.push(segment_rows.len());
    }
    EdgeHours {
        level: picked(&edges.level, order),
        dulling: picked::<Dulling>(&edges.dulling, order),
        sharp: picked(&edges.sharp, order),
        moment: picked(&edges.moment, order),
        ends,
        segment_rows,
        segment_hours,
        covariate_names: edges.covariate_names.clone(),
        rows: edges.rows.clone(),
        group_name: edges.group_name.clone(),
        levels: edges.levels.clone(),
        set_aside: edges.set_aside.clone(),
        unused_columns: edges.unused_columns.clone(),
        ..*edges
    }
}

fn segments(ends: &[usize], edge: usize) -> Range<usize> {
    let before = edge.checked_sub(1).and_then(|before| ends.get(before));
    before.copied().unwrap_or(0)..ends.get(edge).copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::{EdgeRun, EdgeRuns, EdgeSeen, EdgeWithRuns};
    use crate::quantities::MeterHours;

    /// Edges of one run each, of `hours` each, on these levels.
    fn edges(levels: &[usize]) -> EdgeHours {
        let edge = |(number, level): (usize, &usize)| EdgeWithRuns {
            id: number.to_string(),
            level: Some(*level),
            seen: EdgeSeen::Right { sharp_run: 1 },
            struck: false,
            runs: vec![EdgeRun {
                hours: MeterHours::new(1.0 + number as f64).expect("hours"),
                covariates: vec![*level as f64],
            }],
        };
        EdgeHours::of(&EdgeRuns {
            covariate_names: vec!["x".to_string()],
            levels: ["a", "b", "c"].map(String::from).to_vec(),
            edges: levels.iter().enumerate().map(edge).collect(),
            ..EdgeRuns::default()
        })
    }

    #[test]
    fn edges_that_stand_by_group_stay_where_they_are() {
        let there = edges(&[1, 1, 0, 2]);
        let fleet = fleet_hours(there.clone());
        assert_eq!(fleet.edges, there);
        assert_eq!(fleet.groups, [2..3, 0..2, 3..4]);
    }

    #[test]
    fn edges_that_do_not_are_moved_with_their_hours() {
        let fleet = fleet_hours(edges(&[1, 0, 2, 1, 0]));
        assert_eq!(fleet.groups, [0..2, 2..4, 4..5]);
        assert_eq!(fleet.edges.segment_hours, [2.0, 5.0, 1.0, 4.0, 3.0]);
        let row = |number: &u32| fleet.edges.rows.row(*number)[0];
        let rows: Vec<f64> = fleet.edges.segment_rows.iter().map(row).collect();
        assert_eq!(rows, [0.0, 0.0, 1.0, 1.0, 2.0]);
        assert_eq!(fleet.edges.ends, [1, 2, 3, 4, 5]);
    }
}
