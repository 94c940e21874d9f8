//! Curves at even steps of the log of the eye's error, laid out when somebody first needs them and kept: hundreds of
//! draws and thousands of steps of a chain lie between the same few.
//!
//! Between them coefficients follow the polynomial of the fifth degree through the six nearest (Lagrange).

use super::{Cell, Closeness, laid_out};
use crate::wear::life_distribution::Family;
use std::sync::OnceLock;

/// Steps to a unit of the log of the error.
const TO_A_UNIT: f64 = 10.0;
/// The log of the least error over the spread of log life, and how many there are: beside a spread of 0.3 they tell of
/// an eye's error of 0.021 to 2.2. What lies beyond, or within two steps of an end, is laid out by itself.
const LEAST: f64 = -2.9;
const PLACES: usize = 52;
/// Curves that one between them is told from.
const NEAREST: usize = 6;

/// The coefficients for an eye whose error is so many times the spread of log life; `None` where that lies beyond those
/// that are kept, or one of them would need finer nodes than are.
pub(super) fn between(family: Family, error: f64) -> Option<Vec<Cell>> {
    let place = (error.ln() - LEAST) * TO_A_UNIT;
    let first = place.floor() - (NEAREST / 2 - 1) as f64;
    if !(0.0..=(PLACES - NEAREST) as f64).contains(&first) {
        return None;
    }
    let mut nearest = [&[][..]; NEAREST];
    for (own, curve) in nearest.iter_mut().enumerate() {
        *curve = kept(family, first as usize + own)?;
    }
    let weights = weights(place - first);
    let cells =
        (0..nearest[0].len()).map(|cell| Cell::weighed(weights, nearest.map(|it| &it[cell])));
    Some(cells.collect())
}

fn kept(family: Family, place: usize) -> Option<&'static [Cell]> {
    static CURVES: [[OnceLock<Option<Vec<Cell>>>; PLACES]; 3] =
        [const { [const { OnceLock::new() }; PLACES] }; 3];
    let curve = CURVES[family as usize].get(place)?;
    let error = || (LEAST + place as f64 / TO_A_UNIT).exp();
    let laid = curve.get_or_init(|| laid_out(Closeness::OF_CREW, family, error()));
    laid.as_deref()
}

/// What each of the nearest counts at so many steps from the first of them.
fn weights(at: f64) -> [f64; NEAREST] {
    std::array::from_fn(|own| {
        let others = (0..NEAREST).filter(|other| *other != own);
        let factor = |other: usize| (at - other as f64) / (own as f64 - other as f64);
        others.map(factor).product()
    })
}

impl Cell {
    fn weighed(weights: [f64; NEAREST], cells: [&Self; NEAREST]) -> Self {
        let mut sum = Self::default();
        for (weight, cell) in weights.into_iter().zip(cells) {
            for degree in 0..sum.below.len() {
                sum.below[degree] += weight * cell.below[degree];
                sum.density[degree] += weight * cell.density[degree];
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As close to the integral, for which a curve on finer nodes stands, as a curve of its own: 1e-6; and its slope.
    #[test]
    fn curves_between_those_kept_are_as_they_should_be() {
        let finer = Closeness {
            finest: 0.2,
            farthest: Closeness::OF_FLEET.farthest,
            ..Closeness::OF_CREW
        };
        for family in Family::ALL {
            for step in 0..60 {
                // From one end of those that are told to the other.
                let error = (-2.699 + 0.0796 * f64::from(step)).exp();
                let told = between(family, error).expect("kept");
                let exact = laid_out(finer, family, error).expect("nodes");
                assert_eq!(told.len(), exact.len());
                for (place, (told, exact)) in told.iter().zip(&exact).enumerate() {
                    for share in [0.0, 0.25, 0.5, 0.8] {
                        let at = |of: [f64; 6]| of.iter().rev().fold(0.0, |sum, c| sum * share + c);
                        let slope = |of: [f64; 6]| {
                            let terms = of.iter().zip(0_i32..).skip(1);
                            terms.fold(0.0, |sum, (c, n)| {
                                sum + f64::from(n) * c * share.powi(n - 1)
                            })
                        };
                        for (told, exact) in
                            [(told.below, exact.below), (told.density, exact.density)]
                        {
                            let off = (at(told) - at(exact)).abs();
                            let turned = (slope(told) - slope(exact)).abs();
                            assert!(off < 1e-6, "{family:?} {error} {place}: {off}");
                            assert!(turned < 1e-6, "{family:?} {error} {place}: {turned}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn errors_beyond_are_laid_out_by_themselves() {
        for error in [1e-3, 0.06, 8.0, f64::INFINITY] {
            assert!(between(Family::Weibull, error).is_none(), "{error}");
        }
        assert!(between(Family::Weibull, 1.0).is_some());
    }
}
