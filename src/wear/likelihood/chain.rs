//! The chain rule from an edge's local coordinates to the parameters.
//!
//! A log wear age is `v_k = ln u_k(beta) - m - z . gamma - b`: everything that shifts log life (location,
//! covariates of life, group effects) enters in the same way. So the derivatives are first gathered by
//! `(shift, beta, lambda, epsilon)` and only then sent to their places.

use super::{EdgeTerms, Order, Workspace};
use crate::numerics::Arrow;
use crate::numerics::newton::Quadratic;
use crate::wear::effects::Effects;
use crate::wear::parameters::Layout;

/// Where one of an edge's derivatives goes: the place, the factor there, and the gathered coordinate that
/// it hangs on: 0 the shift, then the coefficients, then `lambda` and `epsilon`.
pub type Destination = (usize, f64, usize);

/// Where an edge's derivatives go.
pub fn destinations(edge: &EdgeTerms, layout: &Layout, effects: &Effects) -> Vec<Destination> {
    let features = layout.features().zip(edge.features.iter().copied());
    let groups = edge.effects.iter();
    // The share kept by touch-ups follows the coefficients, the log eye error the log spread.
    let columns = layout.rates().len() + 1;
    let coefficients = (0..columns).map(|j| (layout.rates().start + j, 1.0, 1 + j));
    let spreads = (0..2).map(|j| (layout.log_sigma() + j, 1.0, 1 + columns + j));
    std::iter::once((layout.location(), 1.0))
        .chain(features.filter(|(_, z)| *z != 0.0))
        .chain(groups.map(|&effect| (effects.place(effect, layout.dimension()), 1.0)))
        .map(|(place, factor)| (place, factor, 0))
        .chain(coefficients)
        .chain(spreads)
        .collect()
}

/// One edge's derivatives by the gathered coordinates; kept from edge to edge for its room.
#[derive(Default)]
pub struct Gathered {
    gradient: Vec<f64>,
    /// Row by row, both halves.
    hessian: Vec<f64>,
    /// One row of the local Hessian, seen from the gathered coordinates.
    seen: Vec<f64>,
}

/// Adds an edge's derivatives, which `work` holds in local coordinates, to the total; of second ones what stands on or
/// above the diagonal.
pub fn spread(
    total: &mut Quadratic<Arrow>,
    places: &[Destination],
    weight: f64,
    work: &Workspace,
    (gathered, order): (&mut Gathered, Order),
) {
    if order < Order::Gradient {
        return;
    }
    let columns = places.len() - places.iter().filter(|(_, _, from)| *from == 0).count() - 2;
    gathered.slope(work, columns);
    for &(place, factor, from) in places {
        total.gradient[place] += weight * factor * gathered.gradient[from];
    }
    if order < Order::Hessian {
        return;
    }
    gathered.bend(work, columns);
    let size = columns + 3;
    for (own, &(row, row_factor, from)) in places.iter().enumerate() {
        let bends = &gathered.hessian[from * size..][..size];
        for &(column, column_factor, from) in &places[own..] {
            let amount = weight * row_factor * column_factor * bends[from];
            total.hessian.add(row.min(column), row.max(column), amount);
        }
    }
}

impl Gathered {
    fn slope(&mut self, work: &Workspace, columns: usize) {
        let (local, gradient) = (&work.local, &mut self.gradient);
        zeros(gradient, columns + 3);
        for (k, sum) in work.sums.iter().take(local.ages()).enumerate() {
            let slope = local.gradient[k];
            gradient[0] -= slope;
            for (to, mean) in gradient[1..=columns].iter_mut().zip(&sum.mean) {
                *to += (slope + work.log_sums[k]) * mean;
            }
        }
        gradient[1 + columns] = local.gradient[local.lambda()];
        gradient[2 + columns] = local.gradient[local.epsilon()];
    }

    fn bend(&mut self, work: &Workspace, columns: usize) {
        let local = &work.local;
        zeros(&mut self.hessian, (columns + 3) * (columns + 3));
        for k in 0..local.ages() {
            self.add_age(work, k, columns);
        }
        let mut sides = self.hessian.chunks_exact_mut(columns + 3).skip(1 + columns);
        for from in [local.lambda(), local.epsilon()] {
            let Some(side) = sides.next() else { break };
            for (to, place) in side.iter_mut().skip(1 + columns).zip(local.lambda()..) {
                *to += local.bend(from, place);
            }
        }
    }

    /// What hangs on one age: by `v_k` the gathered coordinates change by -1 with the shift, by the mean row with the
    /// coefficients.
    fn add_age(&mut self, work: &Workspace, k: usize, columns: usize) {
        let (local, size) = (&work.local, columns + 3);
        let slopes = |l: usize| std::iter::once(-1.0).chain(work.sums[l].mean.iter().copied());
        let seen = &mut self.seen;
        zeros(seen, 1 + columns);
        for l in 0..local.ages() {
            let bend = local.bend(k, l);
            let entries = seen.iter_mut().zip(slopes(l));
            entries.for_each(|(seen, slope)| *seen += bend * slope);
        }
        let mixed = [local.lambda(), local.epsilon()].map(|place| local.bend(k, place));
        for (i, slope) in slopes(k).enumerate() {
            let row = &mut self.hessian[i * size..][..size];
            let entries = row.iter_mut().zip(seen.iter().chain(&mixed));
            entries.for_each(|(to, seen)| *to += slope * seen);
            for (j, mixed) in mixed.iter().enumerate() {
                self.hessian[(1 + columns + j) * size + i] += slope * mixed;
            }
        }
        let slope = local.gradient[k] + work.log_sums[k];
        let covariance = work.sums[k].covariance.chunks_exact(columns.max(1));
        let rows = self.hessian.chunks_exact_mut(size).skip(1);
        for (row, own) in rows.zip(covariance) {
            for (to, own) in row[1..=columns].iter_mut().zip(own) {
                *to += slope * own;
            }
        }
    }
}

fn zeros(room: &mut Vec<f64>, count: usize) {
    room.clear();
    room.resize(count, 0.0);
}
