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

/// Adds an edge's derivatives, which `work` holds in local coordinates, to the total.
pub fn spread(
    total: &mut Quadratic<Arrow>,
    places: &[Destination],
    weight: f64,
    work: &Workspace,
    order: Order,
) {
    if order < Order::Gradient {
        return;
    }
    let columns = places.len() - places.iter().filter(|(_, _, from)| *from == 0).count() - 2;
    let gradient = gathered_gradient(work, columns);
    for &(place, factor, from) in places {
        total.gradient[place] += weight * factor * gradient[from];
    }
    if order < Order::Hessian {
        return;
    }
    let size = columns + 3;
    let hessian = gathered_hessian(work, columns);
    for &(row, row_factor, row_from) in places {
        for &(column, column_factor, column_from) in places {
            let entry = hessian[row_from * size + column_from];
            total
                .hessian
                .add(row, column, weight * row_factor * column_factor * entry);
        }
    }
}

fn gathered_gradient(work: &Workspace, columns: usize) -> Vec<f64> {
    let local = &work.local;
    let mut gradient = vec![0.0; columns + 3];
    for (k, sum) in work.sums.iter().take(local.ages()).enumerate() {
        let slope = local.gradient[k];
        gradient[0] -= slope;
        for (to, mean) in gradient[1..=columns].iter_mut().zip(&sum.mean) {
            *to += (slope + work.log_sums[k]) * mean;
        }
    }
    gradient[1 + columns] = local.gradient[local.lambda()];
    gradient[2 + columns] = local.gradient[local.epsilon()];
    gradient
}

fn gathered_hessian(work: &Workspace, columns: usize) -> Vec<f64> {
    let local = &work.local;
    let size = columns + 3;
    let mut hessian = vec![0.0; size * size];
    // Derivatives of v_k by the gathered coordinates: -1 by the shift, the mean row by beta.
    let slopes = |k: usize| std::iter::once(-1.0).chain(work.sums[k].mean.iter().copied());
    for k in 0..local.ages() {
        // Row k of the local Hessian, seen from the gathered coordinates.
        let mut seen = vec![0.0; size];
        for l in 0..local.ages() {
            let bend = local.bend(k, l);
            seen.iter_mut()
                .zip(slopes(l))
                .for_each(|(seen, slope)| *seen += bend * slope);
        }
        let (by_lambda, by_epsilon) = (
            local.bend(k, local.lambda()),
            local.bend(k, local.epsilon()),
        );
        for (i, slope) in slopes(k).enumerate() {
            for j in 0..=columns {
                hessian[i * size + j] += slope * seen[j];
            }
            for (j, mixed) in [(1 + columns, by_lambda), (2 + columns, by_epsilon)] {
                hessian[i * size + j] += slope * mixed;
                hessian[j * size + i] += slope * mixed;
            }
        }
        let slope = local.gradient[k] + work.log_sums[k];
        for i in 0..columns {
            for j in 0..columns {
                hessian[(1 + i) * size + 1 + j] += slope * work.sums[k].covariance[i * columns + j];
            }
        }
    }
    let (lambda, epsilon) = (local.lambda(), local.epsilon());
    for (i, from) in [(1 + columns, lambda), (2 + columns, epsilon)] {
        for (j, to) in [(1 + columns, lambda), (2 + columns, epsilon)] {
            hessian[i * size + j] += local.bend(from, to);
        }
    }
    hessian
}
