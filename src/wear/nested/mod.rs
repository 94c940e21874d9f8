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
mod integrals;
mod search;
mod shared_apart;

use super::density::WearDensity;
use super::prior::HalfNormal;
use crate::numerics::Arrow;
use crate::numerics::ArrowFactor;
use crate::numerics::newton::Factor;
pub use design::Cell;
use nalgebra::{Cholesky, DMatrix, DVector};
pub use search::typical;
pub use shared_apart::SharedApart;
use std::sync::OnceLock;

/// What effects are held by, where they must be: shares of what their priors hold them by at typical spreads.
const HOLDS: [f64; 5] = [1e-3, 1e-2, 0.1, 1.0, 10.0];

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
}

impl Nested {
    /// The priors alone: where the search finds no top, the sampler must start from something.
    pub fn of_priors(density: &WearDensity) -> Self {
        let priors = density.priors().spreads.clone();
        let spreads = typical(&priors);
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
        Some(Conditional {
            mean: factor.solve(&self.pull),
            factor,
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

    /// The same with a top whatever the spreads: where data say nothing of some effects, or bend the wrong way along them,
    /// all effects are held where they are, as loosely as will do. `None` where nothing will.
    pub fn with_tops(&self, density: &WearDensity) -> Option<Self> {
        // The precision falls as spreads grow: a top at endless ones is one everywhere.
        let widest = vec![f64::INFINITY; self.priors.len()];
        let free = density.free().len();
        let mut of_effects = density.prior_precisions(&self.spreads);
        of_effects.rows_mut(0, free).fill(0.0);
        let held = |factor: f64| {
            let hold = factor * &of_effects;
            let mut held = self.clone();
            held.pull += hold.component_mul(&held.mode);
            held.information.raise(&hold);
            held
        };
        let mut all = std::iter::once(0.0).chain(HOLDS).map(held);
        all.find(|held| held.precision_given(density, &widest).factor().is_some())
    }

    /// The mean of each spread's log over the design.
    fn mean_spreads(&self) -> Vec<f64> {
        let mut logs = vec![0.0; self.priors.len()];
        for cell in &self.cells {
            for (log, spread) in logs.iter_mut().zip(&cell.middle) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::newton::Curvature;
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

    /// Data that bend the wrong way along an effect leave no top at wide spreads: it is held, where it is.
    #[test]
    fn held_effects_have_a_top_at_any_spread_and_stay_where_they_are() {
        let density = three_machines();
        let sound = Nested::fit(&density).expect("a top");
        let as_is = sound.with_tops(&density).expect("a top");
        assert_eq!(as_is.pull, sound.pull);

        let mut bent = sound.clone();
        let own = density.effects().place(1, density.free().len());
        let own_bend = bent.information.diagonal()[own];
        bent.information.add(own, own, -1.5 * own_bend);
        bent.pull = bent
            .precision_given(&density, bent.spreads())
            .times(&bent.mode);
        let widest = [1e6];
        assert!(bent.conditional(&density, &widest).is_none());
        let held = bent.with_tops(&density).expect("held");
        assert!(held.conditional(&density, &widest).is_some());
        let law = held.conditional(&density, held.spreads()).expect("a top");
        assert_relative_eq!(law.mean, bent.mode, max_relative = 1e-9, epsilon = 1e-9);
    }
}
