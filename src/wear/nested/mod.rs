//! Nested Laplace approximation: the posterior of everything but the spreads of group effects is normal
//! given those spreads; the spreads themselves lie on a small design.
//!
//! The log-likelihood is expanded once, at the top of the posterior given typical spreads. Priors and
//! effects are normal given the spreads, so that for any spreads the approximate posterior is normal
//! with a precision and a mean that linear algebra gives, and its integral tells how likely the spreads
//! are (Rue, Martino and Chopin, JRSS B 71, 2009: equation 3; the expansion is shared between the points of
//! the design, where theirs is done anew at each). The errors that this leaves are weighed out by
//! [`super::importance`].

mod design;

use super::WearError;
use super::density::WearDensity;
use super::importance::is_crowded;
use super::life_nodes::Precision;
use super::prior::HalfNormal;
use crate::numerics::Arrow;
use crate::numerics::ArrowFactor;
use crate::numerics::newton::{self, Curvature, Factor, Maximum, NewtonSettings, Quadratic};
pub use design::Cell;
use nalgebra::{Cholesky, DMatrix, DVector};
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
/// A spread that small, as a share of the typical one, is where a sampler is first lost.
const SMALL_SPREAD: f64 = 0.15;
/// Bounds of a rougher design, to find typical spreads with.
const ROUGH: &[f64] = &[-0.8, 0.3, 1.2];
/// Times that the spreads' posterior mean is taken as the next point of expansion.
const ROUNDS: usize = 1;
/// How closely the top is found: to 1e-5 standard errors, which the weights make good.
const DECREMENT: f64 = 1e-10;
/// The same for fewer edges of a whole: to a tenth. The law's mean lies one step further, at about the square of that.
const ROUGH_DECREMENT: f64 = 1e-2;

/// The approximation.
#[derive(Debug, Clone)]
pub struct Nested {
    priors: Vec<HalfNormal>,
    /// Minus the Hessian of the log-likelihood at the point of expansion.
    information: Arrow,
    /// `information x point + gradient` there, with the priors' pull: the linear part of the exponent.
    pull: DVector<f64>,
    cells: Vec<Cell>,
    mode: DVector<f64>,
    spreads: Vec<f64>,
    iterations: usize,
    /// The factor of the precision given those spreads, once somebody asks; none where it has no top.
    factor: OnceLock<Option<ArrowFactor>>,
}

/// The expansion without the design that was laid over it.
pub struct Expansion {
    /// Minus the Hessian of the log-likelihood at the point of expansion.
    pub information: Arrow,
    /// The linear part of the exponent.
    pub pull: DVector<f64>,
    /// The point of expansion.
    pub mode: DVector<f64>,
    /// The spreads taken for given there.
    pub spreads: Vec<f64>,
    /// Newton steps that the search took.
    pub iterations: usize,
}

/// A normal law of all coordinates.
pub struct Conditional {
    /// Its mean.
    pub mean: DVector<f64>,
    /// The factor of its precision.
    pub factor: ArrowFactor,
    /// The log of the integral that it stands for, up to a constant that all spreads share.
    log_integral: f64,
}

impl Nested {
    /// Finds the top of `density` and lays the design.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`] where the search finds no top with negative curvature.
    pub fn fit(density: &WearDensity) -> Result<Self, WearError> {
        let priors = density.priors().spreads.clone();
        let spreads: Vec<f64> = priors.iter().map(|prior| prior.quantile(0.5)).collect();
        let start = DVector::from_vec(density.centre());
        // A fleet's first top serves only to find typical spreads from.
        let first = if is_crowded(density) {
            ROUGH_DECREMENT
        } else {
            DECREMENT
        };
        let mut nested = Self::expand(density, &priors, spreads, start, first)?;
        if !priors.is_empty() {
            for _ in 0..ROUNDS {
                nested.lay_design(density, ROUGH)?;
                let spreads = nested.mean_spreads();
                let iterations = nested.iterations;
                nested = Self::expand(density, &priors, spreads, nested.mode, DECREMENT)?;
                nested.iterations += iterations;
            }
        }
        nested.lay_design(density, fine(&priors))?;
        Ok(nested)
    }

    /// The same for fewer edges of `whole`, which has the same parameters: expanded once, from the top of `whole`
    /// and with its spreads.
    ///
    /// # Errors
    ///
    /// [`WearError::NotSettled`] where the search finds no top with negative curvature.
    pub fn of_fewer(density: &WearDensity, whole: &Self) -> Result<Self, WearError> {
        let (spreads, start) = (whole.spreads.clone(), whole.mode.clone());
        let mut nested = Self::expand(density, &whole.priors, spreads, start, ROUGH_DECREMENT)?;
        nested.lay_design(density, ROUGH)?;
        Ok(nested)
    }

    /// The priors alone: where the search finds no top, the sampler must start from something.
    pub fn of_priors(density: &WearDensity) -> Self {
        let priors = density.priors().spreads.clone();
        let spreads: Vec<f64> = priors.iter().map(|prior| prior.quantile(0.5)).collect();
        let mode = density.prior_centres();
        let effects = density.effects();
        let corner = density.free().len() + effects.in_corner();
        Self {
            information: Arrow::zeros(corner, effects.blocks()),
            pull: density.prior_precisions(&spreads).component_mul(&mode),
            cells: Vec::new(),
            iterations: 0,
            priors,
            mode,
            spreads,
            factor: OnceLock::new(),
        }
    }

    /// From its saved parts. The design is not among them: it serves only to make draws, which are saved
    /// themselves.
    pub fn restored(density: &WearDensity, saved: Expansion) -> Self {
        Self {
            priors: density.priors().spreads.clone(),
            information: saved.information,
            pull: saved.pull,
            cells: Vec::new(),
            mode: saved.mode,
            spreads: saved.spreads,
            iterations: saved.iterations,
            factor: OnceLock::new(),
        }
    }

    /// What answers need of it once the draws are made.
    pub fn expansion(&self) -> Expansion {
        Expansion {
            information: self.information.clone(),
            pull: self.pull.clone(),
            mode: self.mode.clone(),
            spreads: self.spreads.clone(),
            iterations: self.iterations,
        }
    }

    /// Searched to the precision of draws first. That may stall where an integral changes its way between two
    /// steps, which moves the value by a millionth: the careful search does not.
    fn expand(
        density: &WearDensity,
        priors: &[HalfNormal],
        spreads: Vec<f64>,
        start: DVector<f64>,
        decrement: f64,
    ) -> Result<Self, WearError> {
        let search = |precision: Precision, start: DVector<f64>| {
            newton::maximise(
                |point| density.given(point.as_slice(), &spreads, precision),
                start,
                NewtonSettings {
                    decrement,
                    ..NewtonSettings::default()
                },
            )
        };
        let mut precision = Precision::Sampling;
        let mut found = search(precision, start.clone());
        if !found.converged {
            precision = Precision::Full;
            found = search(precision, start);
        }
        if !found.converged {
            return Err(WearError::NotSettled {
                iterations: found.iterations,
            });
        }
        let at = density.likelihood_at(found.point.as_slice(), precision);
        Ok(Self::at(density, priors, spreads, found, at))
    }

    fn at(
        density: &WearDensity,
        priors: &[HalfNormal],
        spreads: Vec<f64>,
        found: Maximum<Arrow>,
        at: Quadratic<Arrow>,
    ) -> Self {
        let mut information = at.hessian;
        information.negate();
        let prior_pull = density
            .prior_precisions(&spreads)
            .component_mul(&density.prior_centres());
        Self {
            priors: priors.to_vec(),
            pull: information.times(&found.point) + at.gradient + prior_pull,
            information,
            cells: Vec::new(),
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

    /// The spreads at a place within a cell, told as shares of its sides.
    pub fn spreads_at(&self, cell: &Cell, within: &[f64]) -> Vec<f64> {
        let sides = cell.shares.iter().zip(within).zip(&self.priors);
        sides
            .map(|(((low, high), part), prior)| prior.quantile(low + part * (high - low)))
            .collect()
    }

    /// The normal approximation given the spreads; `None` where the expansion has no top there.
    pub fn conditional(&self, density: &WearDensity, spreads: &[f64]) -> Option<Conditional> {
        let factor = self.precision_given(density, spreads).factor()?;
        let mean = factor.solve(&self.pull);
        let effects = density.effects();
        let log_priors: f64 = spreads
            .iter()
            .enumerate()
            .map(|(grouping, spread)| -(effects.of_grouping(grouping).len() as f64) * spread.ln())
            .sum();
        let log_integral = log_priors + 0.5 * self.pull.dot(&mean) - 0.5 * factor.log_determinant();
        Some(Conditional {
            mean,
            factor,
            log_integral,
        })
    }

    /// The precision of some coordinates given [`Nested::spreads`], all others integrated out; `None` where the
    /// approximation has no top.
    pub fn precision_of(
        &self,
        density: &WearDensity,
        coordinates: &[usize],
    ) -> Option<DMatrix<f64>> {
        let at_spreads = || self.precision_given(density, &self.spreads).factor();
        let factor = self.factor.get_or_init(at_spreads).as_ref()?;
        let mut covariance = DMatrix::zeros(coordinates.len(), coordinates.len());
        for (column, &own) in coordinates.iter().enumerate() {
            let mut unit = DVector::zeros(self.pull.len());
            unit[own] = 1.0;
            let solved = factor.solve(&unit);
            for (row, &other) in coordinates.iter().enumerate() {
                covariance[(row, column)] = solved[other];
            }
        }
        Some(Cholesky::new(covariance)?.inverse())
    }

    fn precision_given(&self, density: &WearDensity, spreads: &[f64]) -> Arrow {
        let mut precision = self.information.clone();
        precision.raise(&density.prior_precisions(spreads));
        precision
    }

    /// For each group effect the share of its precision, all else given, that comes from the data where the
    /// spread is far smaller than typical.
    pub fn shares_from_data(&self, density: &WearDensity) -> Vec<f64> {
        let information = self.information.diagonal();
        let priors = density.prior_precisions(&self.spreads);
        let effects = density.effects();
        let places = (0..effects.count()).map(|e| effects.place(e, density.free().len()));
        places
            .map(|place| {
                let data = information[place].max(0.0);
                data / (data + SMALL_SPREAD.powi(-2) * priors[place])
            })
            .collect()
    }

    /// The mean of each spread's log over the design.
    fn mean_spreads(&self) -> Vec<f64> {
        let mut logs = vec![0.0; self.priors.len()];
        for cell in &self.cells {
            let spreads = self.spreads_at(cell, &vec![0.5; self.priors.len()]);
            for (log, spread) in logs.iter_mut().zip(spreads) {
                *log += cell.probability * spread.ln();
            }
        }
        logs.into_iter().map(f64::exp).collect()
    }

    /// The cells of the design.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// The top of the posterior given [`Nested::spreads`].
    pub fn mode(&self) -> &[f64] {
        self.mode.as_slice()
    }

    /// The spreads that the expansion took for given.
    pub fn spreads(&self) -> &[f64] {
        &self.spreads
    }

    /// Newton steps that the search took.
    pub fn iterations(&self) -> usize {
        self.iterations
    }
}

/// The design's bounds for these spreads.
fn fine(priors: &[HalfNormal]) -> &'static [f64] {
    BOUNDS[priors.len().clamp(1, BOUNDS.len()) - 1]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use approx::assert_relative_eq;

    /// With all coordinates it is the whole precision; with some it is the Schur complement of the others.
    #[test]
    fn the_precision_of_some_coordinates_is_a_schur_complement() {
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a top");
        let whole = nested
            .precision_given(&density, nested.spreads())
            .to_dense();
        let all: Vec<usize> = (0..whole.nrows()).collect();
        let of_all = nested.precision_of(&density, &all).expect("a top");
        assert_relative_eq!(of_all, whole, max_relative = 1e-9, epsilon = 1e-9);

        let (kept, others) = ([0, whole.nrows() - 1], 1..whole.nrows() - 1);
        let others: Vec<usize> = others.collect();
        let part =
            |rows: &[usize], columns: &[usize]| whole.select_rows(rows).select_columns(columns);
        let inner = part(&others, &others).try_inverse().expect("regular");
        let complement = part(&kept, &kept) - part(&kept, &others) * inner * part(&others, &kept);
        let of_some = nested.precision_of(&density, &kept).expect("a top");
        assert_relative_eq!(of_some, complement, max_relative = 1e-9, epsilon = 1e-9);
    }
}
