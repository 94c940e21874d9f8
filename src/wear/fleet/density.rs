//! The log posterior given the spread of group effects.

use super::columns::{FleetColumns, Place};
use crate::numerics::Arrow;
use crate::numerics::Blocks;
use crate::numerics::newton::Quadratic;
use crate::wear::NormalPrior;
use nalgebra::DVector;
use std::sync::Arc;

/// The fleet and the priors. A point of it holds the shared parameters, then the effects of the groups.
pub(super) struct FleetDensity<'t> {
    pub columns: FleetColumns,
    /// Priors of the shared parameters.
    pub priors: Vec<NormalPrior>,
    pub blocks: Arc<Blocks>,
    /// Hears of each pass over the edges.
    pub told: &'t (dyn Fn() + Sync),
}

impl<'t> FleetDensity<'t> {
    pub(super) fn new(
        columns: FleetColumns,
        priors: Vec<NormalPrior>,
        told: &'t (dyn Fn() + Sync),
    ) -> Self {
        let groups = columns.groups();
        Self {
            blocks: Arc::new(Blocks::of(std::iter::repeat_n(1, groups))),
            columns,
            priors,
            told,
        }
    }

    /// Shared parameters.
    pub(super) fn corner(&self) -> usize {
        self.columns.shape.dimension()
    }

    pub(super) fn groups(&self) -> usize {
        self.columns.groups()
    }

    pub(super) fn place<'p>(&self, point: &'p [f64]) -> Place<'p> {
        let (shared, effects) = point.split_at(self.corner().min(point.len()));
        Place { shared, effects }
    }

    /// The log-likelihood.
    pub(super) fn likelihood(&self, point: &[f64]) -> Quadratic<Arrow> {
        let (shape, corner) = (self.columns.shape, self.corner());
        let sums = self.columns.pass(self.place(point), true);
        (self.told)();
        let total = sums.total();
        let mut gradient = DVector::zeros(corner + self.groups());
        let mut hessian = Arrow::zeros(corner, &self.blocks);
        for i in 0..corner {
            gradient[i] = total[shape.slope(i)];
            for j in i..corner {
                hessian.add(i, j, total[shape.bend(i, j)]);
                if i != j {
                    hessian.add(j, i, total[shape.bend(i, j)]);
                }
            }
        }
        for (group, sums) in sums.groups().take(self.groups()).enumerate() {
            let effect = corner + group;
            gradient[effect] = sums[shape.slope(0)];
            hessian.add(effect, effect, sums[shape.bend(0, 0)]);
            for i in 0..corner {
                hessian.add(i, effect, sums[shape.bend(0, i)]);
            }
        }
        Quadratic {
            value: total[0],
            gradient,
            hessian,
        }
    }

    /// The log posterior of parameters and effects together, given the spread, but for a constant.
    pub(super) fn given(&self, point: &DVector<f64>, spread: f64) -> Quadratic<Arrow> {
        let mut at = self.likelihood(point.as_slice());
        let precisions = self.precisions(spread);
        let away = point - self.centres();
        at.value -= 0.5 * precisions.component_mul(&away).dot(&away);
        at.gradient -= precisions.component_mul(&away);
        at.hessian.raise(&-precisions);
        at
    }

    /// Precisions of the priors of all coordinates.
    pub(super) fn precisions(&self, spread: f64) -> DVector<f64> {
        let shared = self.priors.iter().map(|prior| prior.spread().powi(-2));
        let effects = std::iter::repeat_n(spread.powi(-2), self.groups());
        DVector::from_iterator(self.corner() + self.groups(), shared.chain(effects))
    }

    /// Centres of the priors of all coordinates.
    pub(super) fn centres(&self) -> DVector<f64> {
        let shared = self.priors.iter().map(NormalPrior::mean);
        let effects = std::iter::repeat_n(0.0, self.groups());
        DVector::from_iterator(self.corner() + self.groups(), shared.chain(effects))
    }
}
