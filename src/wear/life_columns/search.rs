//! The way to the top of a life table's likelihood.

use super::super::life_table::Distribution;
use super::super::section::Section as Slice;
use super::{ColumnDensity, Kind, LARGE, LifeColumns};
use crate::numerics::newton::{self, Maximum, NewtonSettings};
use nalgebra::DVector;
use std::sync::Arc;

/// Rows of the samples whose tops are climbed first where a table is large: sixteen times as many rows start sixteen
/// times nearer, for a sixteenth of the work of a pass.
const SAMPLES: [usize; 2] = [4096, 65_536];
/// A sample is worth climbing when it is at most this part of the table.
const PART: usize = 8;

/// The top of the likelihood under `distribution`.
pub fn best(density: &ColumnDensity, distribution: Distribution) -> Maximum {
    let slice = Slice {
        fixed_log_sigma: distribution.fixed_sigma.map(f64::ln),
        quantile: None,
    };
    let plain = |columns: &LifeColumns| slice.restrict(&starting_point(columns, distribution));
    let large = density.columns.counted() > LARGE;
    if large && let Some(near) = near_top(density, &slice, &plain) {
        let found = climb(density, &slice, near, few_passes(1e-9));
        if found.converged {
            return found;
        }
    }
    let start = plain(&density.columns);
    climb(density, &slice, start, NewtonSettings::default())
}

/// The top of the likelihood within `slice`.
pub fn search(density: &ColumnDensity, slice: &Slice, start: DVector<f64>) -> Maximum {
    climb(density, slice, start, NewtonSettings::default())
}

/// The same with steps of up to `longest_step`.
pub fn search_within(
    density: &ColumnDensity,
    slice: &Slice,
    start: DVector<f64>,
    longest_step: f64,
) -> Maximum {
    let settings = NewtonSettings {
        longest_step,
        ..NewtonSettings::default()
    };
    climb(density, slice, start, settings)
}

/// Ends with a step whose end is not looked at. The error of a Newton step is of the order of its square over the root of
/// the number of rows, in standard errors: a step of 3e-5 (decrement 1e-9) in a large table leaves less than 1e-10, and a
/// Hessian right to 1e-6.
fn few_passes(decrement: f64) -> NewtonSettings {
    NewtonSettings {
        decrement,
        looks_again: false,
        ..NewtonSettings::default()
    }
}

fn climb(
    density: &ColumnDensity,
    slice: &Slice,
    start: DVector<f64>,
    settings: NewtonSettings,
) -> Maximum {
    let function = |free: &DVector<f64>| {
        slice.restricted(density.evaluate(slice.extend(free).as_slice()), free)
    };
    if start.is_empty() {
        // Everything is pinned: an exponential's quantile, say.
        return Maximum {
            at: function(&start),
            point: start,
            iterations: 0,
            converged: true,
        };
    }
    newton::maximise(function, start, settings)
}

/// The top for a sample of the rows, and from there for a larger one; nothing where a sample has no top. Rows that came
/// into view late go with a row of their own, which a sample could part them from.
fn near_top(
    density: &ColumnDensity,
    slice: &Slice,
    plain: &impl Fn(&LifeColumns) -> DVector<f64>,
) -> Option<DVector<f64>> {
    let columns = &density.columns;
    if columns
        .sections()
        .any(|section| section.kind == Kind::Entered)
    {
        return None;
    }
    let counted = columns.counted();
    let mut point = None;
    for size in SAMPLES.into_iter().filter(|size| size * PART <= counted) {
        let sample = ColumnDensity {
            columns: Arc::new(columns.thinned(counted / size)),
            ..density.clone()
        };
        let start = point.unwrap_or_else(|| plain(&sample.columns));
        let found = climb(&sample, slice, start, few_passes(1e-2));
        if !found.converged {
            return None;
        }
        point = Some(found.point);
    }
    point
}

/// A start that any table can be climbed from: mean and spread of the logs of what was seen.
fn starting_point(columns: &LifeColumns, distribution: Distribution) -> DVector<f64> {
    let seen = || {
        let rows = columns.sections().filter(|section| section.kind.is_row());
        rows.flat_map(|section| {
            (0..section.len()).map(|i| (section.typical_log(i), section.weight(i)))
        })
    };
    let total: f64 = seen().map(|(_, weight)| weight).sum();
    let mean = seen().map(|(log, weight)| log * weight).sum::<f64>() / total;
    let variance = seen()
        .map(|(log, weight)| (log - mean).powi(2) * weight)
        .sum::<f64>()
        / total;
    let mut start = DVector::zeros(columns.names().len() + 2);
    start[0] = mean;
    let last = start.len() - 1;
    start[last] = distribution
        .fixed_sigma
        .unwrap_or(variance.sqrt().clamp(0.05, 5.0))
        .ln();
    start
}
