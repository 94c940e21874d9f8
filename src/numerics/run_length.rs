//! How many values a cumulative sum takes to signal, on average.

use super::{GaussLegendre, normal};
use nalgebra::{DMatrix, DVector};
use std::sync::LazyLock;

/// Points of the quadrature. Basis: at decision intervals up to [`LARGEST`] sixty and eighty points agree to
/// nine digits.
const POINTS: usize = 60;

static RULE: LazyLock<GaussLegendre<POINTS>> = LazyLock::new(GaussLegendre::new);

/// The largest decision interval that the quadrature is good for, in standard deviations.
pub const LARGEST: f64 = 12.0;

/// The average run length of the two-sided tabular cumulative sum of independent normal values, from zero:
/// `up = max(0, up + z - reference)`, `down = max(0, down - z - reference)`, a signal once either exceeds
/// `decision`. `shift` is the mean of the values, whose standard deviation is 1.
///
/// The two sides never stand against each other for a reference above zero, so that one over the run lengths
/// add up (Van Dobben de Bruyn, Cumulative Sum Tests, 1968).
pub fn two_sided(reference: f64, decision: f64, shift: f64) -> f64 {
    let rate = |shift| one_sided(reference, decision, shift).recip();
    let up = rate(shift);
    // Without a shift the sides are alike.
    let down = if shift == 0.0 { up } else { rate(-shift) };
    (up + down).recip()
}

/// The same of the upper side alone.
///
/// The run length `L(u)` from a sum that stands at `u` solves Page's equation,
///
/// ```text
/// L(u) = 1 + L(0) Phi(k - m - u) + integral from 0 to h of L(x) phi(x + k - m - u) dx
/// ```
///
/// (Page, Biometrika 41, 1954), here at the points of a quadrature (Goel and Wu, Technometrics 13, 1971).
pub fn one_sided(reference: f64, decision: f64, shift: f64) -> f64 {
    let rule = &*RULE;
    let drop = reference - shift;
    let half = 0.5 * decision;
    // The first place is zero itself, where all sums that would fall below it stand.
    let nodes = rule.nodes.iter().map(|node| half * (1.0 + node));
    let places: Vec<f64> = std::iter::once(0.0).chain(nodes).collect();
    let weights = rule.weights.iter().map(|weight| half * weight);
    let weights: Vec<f64> = std::iter::once(0.0).chain(weights).collect();
    let step = |from: usize, to: usize| -> f64 {
        let at = drop - places[from];
        let falls_to_zero = if to == 0 {
            normal::log_lower_tail(at).exp()
        } else {
            0.0
        };
        falls_to_zero + weights[to] * normal::log_density(places[to] + at).exp()
    };
    let size = places.len();
    let stays = DMatrix::from_fn(size, size, step);
    let lengths = (DMatrix::identity(size, size) - stays)
        .lu()
        .solve(&DVector::from_element(size, 1.0));
    // Some of the sum always leaves, so that there is a solution; none would mean that it never signals.
    lengths.map_or(f64::INFINITY, |lengths| lengths[0])
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Montgomery, Introduction to Statistical Quality Control: average run lengths of the tabular cumulative
    /// sum with `k = 1/2` and `h = 4` or `5`, by the shift of the mean in standard deviations.
    #[test]
    fn run_lengths_are_those_of_the_printed_table() {
        let printed = [
            (0.0, 168.0, 465.0),
            (0.25, 74.2, 139.0),
            (0.5, 26.6, 38.0),
            (0.75, 13.3, 17.0),
            (1.0, 8.38, 10.4),
            (1.5, 4.75, 5.75),
            (2.0, 3.34, 4.01),
            (2.5, 2.62, 3.11),
            (3.0, 2.19, 2.57),
            (4.0, 1.71, 2.01),
        ];
        for (shift, four, five) in printed {
            // Printed to three digits.
            assert_relative_eq!(two_sided(0.5, 4.0, shift), four, max_relative = 0.005);
            assert_relative_eq!(two_sided(0.5, 5.0, shift), five, max_relative = 0.005);
        }
    }

    /// Siegmund's approximation (Sequential Analysis, 1985): `(exp(2 k b) - 2 k b - 1) / (2 k^2)` with
    /// `b = h + 1.166`, good to a few per cent.
    #[test]
    fn long_run_lengths_are_near_siegmunds() {
        for (reference, decision) in [(0.25, 8.0), (0.5, 8.0), (0.5, LARGEST), (1.0, 5.0)] {
            let reach = 2.0 * reference * (decision + 1.166);
            let siegmund = (reach.exp() - reach - 1.0) / (2.0 * reference * reference);
            let ours = one_sided(reference, decision, 0.0);
            assert_relative_eq!(ours, siegmund, max_relative = 0.06);
        }
    }

    /// A sum that any value above the reference brings to its end waits geometrically long.
    #[test]
    fn without_an_interval_each_value_stands_alone() {
        let alone = normal::log_upper_tail(0.7).exp().recip();
        assert_relative_eq!(one_sided(0.7, 1e-9, 0.0), alone, max_relative = 1e-6);
    }
}
