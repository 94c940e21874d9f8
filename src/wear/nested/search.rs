//! The search for the point of expansion, and where it begins.
//!
//! The point is found in two steps: the top given each spread's prior median, and from the design laid over it the
//! spreads that the second, last top is given. Both tops are functions of the data alone, found so closely that it does
//! not show where the search for them began: from the priors' centre, or from where an earlier fit of nearly the same
//! edges says that the first top lies.

use super::{Cell, Nested};
use crate::numerics::Arrow;
use crate::numerics::newton::{self, Maximum, NewtonSettings};
use crate::wear::WearError;
use crate::wear::density::{LogPosterior, WearDensity};
use crate::wear::life_nodes::Precision;
use crate::wear::prior::HalfNormal;
use nalgebra::DVector;
use std::sync::OnceLock;

/// Bounds of the design's cells, in normal scores of the share of a spread's prior that lies below.
/// Fewer where there are more spreads, so that the cells do not multiply beyond a few hundred.
const BOUNDS: [&[f64]; 3] = [
    &[
        -2.5, -1.8, -1.3, -0.9, -0.6, -0.3, 0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.7, 2.0, 2.5,
        3.2,
    ],
    &[-1.8, -1.1, -0.6, -0.2, 0.2, 0.6, 1.0, 1.4, 1.9, 2.6],
    &[-1.2, -0.5, 0.1, 0.7, 1.3, 2.1],
];
/// Bounds of a rougher design, to find typical spreads with.
const ROUGH: &[f64] = &[-0.8, 0.3, 1.2];
/// How closely a top is found: to 3e-4 standard errors before the last step, which about squares them.
const DECREMENT: f64 = 1e-7;
/// The same for fewer edges of a whole: to a tenth. The law's mean lies one step further, at about the square of that.
const ROUGH_DECREMENT: f64 = 1e-2;
const MOST_STEPS: usize = 100;
/// A search from an earlier fit that takes more steps than one from nothing does is lost.
const MOST_STEPS_FROM_EARLIER: usize = 12;

/// How far off a top may lie that is not looked for, on the scale of logs. Basis: where data say little of the eye that
/// saw them a parabola may have the top e^68 away; between the spreads of the demo it lies within 0.1.
const IN_REACH: f64 = 1.0;

/// Where a search begins, and how far it goes.
struct Search {
    start: DVector<f64>,
    decrement: f64,
    most_steps: usize,
}

impl Nested {
    /// Finds the top of `density` and lays the design.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`] where the search finds no top with negative curvature.
    pub fn fit(density: &WearDensity) -> Result<Self, WearError> {
        let start = DVector::from_vec(density.centre());
        Self::begun(density, start, MOST_STEPS)
    }

    /// The same, the search begun where the first top is thought to lie. From the priors' centre all the same where the
    /// posterior is less likely there, or the search comes to nothing.
    ///
    /// # Errors
    ///
    /// Those of [`Nested::fit`].
    pub fn fit_from(density: &WearDensity, start: DVector<f64>) -> Result<Self, WearError> {
        if !is_better_than_the_centre(density, &start) {
            return Self::fit(density);
        }
        Self::begun(density, start, MOST_STEPS_FROM_EARLIER).or_else(|_| Self::fit(density))
    }

    fn begun(
        density: &WearDensity,
        start: DVector<f64>,
        most_steps: usize,
    ) -> Result<Self, WearError> {
        let priors = &density.priors().spreads;
        let search = |start| Search {
            start,
            decrement: DECREMENT,
            most_steps,
        };
        let mut nested = Self::expand(density, typical(priors), search(start))?;
        if !priors.is_empty() {
            nested.lay_design(density, ROUGH)?;
            let spreads = nested.mean_spreads();
            // One step from the first top to the second is known without another look at the edges.
            let start = nested.top_given(density, &spreads);
            let start = start.unwrap_or_else(|| nested.mode.clone());
            let iterations = nested.iterations;
            nested = Self::expand(density, spreads, search(start))?;
            nested.iterations += iterations;
        }
        nested.lay_design(density, fine(priors))?;
        Ok(nested)
    }

    /// The same for fewer edges of `whole`, which has the same parameters: expanded once, from the top of `whole`
    /// and with its spreads.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`] where the search finds no top with negative curvature.
    pub fn of_fewer(density: &WearDensity, whole: &Self) -> Result<Self, WearError> {
        let search = Search {
            start: whole.mode.clone(),
            decrement: ROUGH_DECREMENT,
            most_steps: MOST_STEPS,
        };
        let mut nested = Self::expand(density, whole.spreads.clone(), search)?;
        nested.lay_design(density, ROUGH)?;
        Ok(nested)
    }

    /// Where the expansion has the top given other spreads; `None` where it has none, or one too far off for a parabola
    /// to tell.
    pub fn top_given(&self, density: &WearDensity, spreads: &[f64]) -> Option<DVector<f64>> {
        let top = self.conditional(density, spreads)?.mean;
        let near = (&top - &self.mode).amax() <= IN_REACH;
        near.then_some(top)
    }

    /// Searched to the precision of draws first. That may stall where an integral changes its way between two
    /// steps, which moves the value by a millionth: the careful search does not.
    fn expand(density: &WearDensity, spreads: Vec<f64>, search: Search) -> Result<Self, WearError> {
        let settings = NewtonSettings {
            decrement: search.decrement,
            most_iterations: search.most_steps,
            ..NewtonSettings::default()
        };
        let found = |precision: Precision, start: DVector<f64>| {
            let given = |point: &DVector<f64>| density.given(point.as_slice(), &spreads, precision);
            newton::maximise(given, start, settings)
        };
        let mut top = found(Precision::Sampling, search.start.clone());
        if !top.converged {
            top = found(Precision::Full, search.start);
        }
        if !top.converged {
            return Err(WearError::NotSettled {
                iterations: top.iterations,
            });
        }
        Ok(Self::at(density, spreads, top))
    }

    /// The expansion where the search ended: the posterior's own, less the priors'.
    fn at(density: &WearDensity, spreads: Vec<f64>, found: Maximum<Arrow>) -> Self {
        let mut information = found.at.hessian;
        information.negate();
        let pull = information.times(&found.point) + found.at.gradient;
        information.raise(&-density.prior_precisions(&spreads));
        Self {
            priors: density.priors().spreads.clone(),
            pull,
            information,
            cells: Vec::<Cell>::new(),
            mode: found.point,
            spreads,
            iterations: found.iterations,
            factor: OnceLock::new(),
        }
    }

    /// Lays the design between these bounds.
    fn lay_design(&mut self, density: &WearDensity, bounds: &[f64]) -> Result<(), WearError> {
        self.cells = self.design(density, bounds);
        if self.cells.is_empty() {
            return Err(WearError::NotSettled {
                iterations: self.iterations,
            });
        }
        Ok(())
    }
}

/// The spreads that the first top is given.
pub fn typical(priors: &[HalfNormal]) -> Vec<f64> {
    priors.iter().map(|prior| prior.quantile(0.5)).collect()
}

/// Whether the posterior given typical spreads is a number there, and larger than where the search begins otherwise:
/// what lies lower may lead to another hill, or to none.
fn is_better_than_the_centre(density: &WearDensity, start: &DVector<f64>) -> bool {
    if start.len() != density.dimension() || start.iter().any(|x| !x.is_finite()) {
        return false;
    }
    let spreads = typical(&density.priors().spreads);
    let log = |point: &[f64]| {
        let at = density.parameters(point);
        density.log_given(&at, &spreads, &density.at_shared(&at.shared))
    };
    let there = log(start.as_slice());
    there.is_finite() && there > log(&density.centre())
}

/// The design's bounds for these spreads.
fn fine(priors: &[HalfNormal]) -> &'static [f64] {
    BOUNDS[priors.len().clamp(1, BOUNDS.len()) - 1]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use proptest::prelude::*;

    #[test]
    fn a_hopeless_start_is_passed_over() {
        let density = three_machines();
        let fresh = Nested::fit(&density).expect("a top");
        let dimension = density.dimension();
        let mut starts = vec![DVector::zeros(dimension + 1)];
        for away in [f64::NAN, f64::INFINITY, 1e6, -1e6, 30.0] {
            starts.push(DVector::from_element(dimension, away));
        }
        for start in starts {
            let begun = Nested::fit_from(&density, start).expect("a top");
            assert_eq!(begun.iterations(), fresh.iterations());
            assert_eq!(begun.mode(), fresh.mode());
        }
    }

    #[test]
    fn a_search_that_takes_too_long_is_given_up() {
        let density = three_machines();
        let start = DVector::from_vec(density.centre());
        assert!(Nested::begun(&density, start, 1).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Wherever the search begins, better or worse than the priors' centre, it ends in one place.
        #[test]
        fn the_answer_does_not_tell_where_the_search_began(
            away in proptest::collection::vec(-1.5f64..1.5, 5),
        ) {
            let density = three_machines();
            let fresh = Nested::fit(&density).expect("a top");
            let start = DVector::from_column_slice(fresh.mode()) + DVector::from_vec(away);
            let begun = Nested::fit_from(&density, start).expect("a top");
            let same = |one: &[f64], other: &[f64]| {
                one.iter().zip(other).all(|(one, other)| (one - other).abs() < 1e-7)
            };
            prop_assert!(same(begun.mode(), fresh.mode()), "{:?} {:?}", begun.mode(), fresh.mode());
            prop_assert!(same(begun.spreads(), fresh.spreads()));
        }
    }
}
