//! The coordinates in which each observation is simple.
//!
//! An observation sees the parameters only through a few log wear ages measured from the typical
//! life, `v_k = ln u_k - location`, and through `lambda = ln sigma`. Everything local is written in
//! `(v_1, ..., v_K, lambda)`; the chain rule to the real parameters stands once, in the parent.

use crate::wear::life_distribution::{Curve, Gathered};
use nalgebra::{DMatrix, DVector};

/// A contribution with its derivatives in local coordinates; the last one is `lambda`.
#[derive(Debug, Clone)]
pub struct Local {
    /// Log-likelihood.
    pub value: f64,
    /// First derivatives.
    pub gradient: DVector<f64>,
    /// Second derivatives.
    pub hessian: DMatrix<f64>,
}

/// A point in local coordinates, with what every kind of observation needs of it.
#[derive(Debug, Clone)]
pub struct LocalPoint {
    /// `ln u_k - location`.
    pub ages: Vec<f64>,
    /// The spread of log life.
    pub sigma: f64,
    /// What the location stands for: the standardised log life at which `ln u = location`.
    pub anchor: f64,
}

impl LocalPoint {
    /// Standardised log age `w`.
    pub fn standardised(&self, age: usize) -> f64 {
        self.ages[age] / self.sigma + self.anchor
    }

    fn lambda(&self) -> usize {
        self.ages.len()
    }
}

impl Local {
    /// Nothing yet, for `ages` ages.
    pub fn zero(ages: usize) -> Self {
        Self {
            value: 0.0,
            gradient: DVector::zeros(ages + 1),
            hessian: DMatrix::zeros(ages + 1, ages + 1),
        }
    }

    /// Adds `curve(w)` at age `k`, where `w = v_k / sigma + anchor`.
    pub fn add_at(&mut self, point: &LocalPoint, k: usize, curve: Curve) {
        let lambda = point.lambda();
        let inverse = 1.0 / point.sigma;
        let scaled = point.ages[k] * inverse;
        self.value += curve.value;
        self.gradient[k] += curve.first * inverse;
        self.gradient[lambda] -= curve.first * scaled;
        self.hessian[(k, k)] += curve.second * inverse * inverse;
        self.add_mixed(k, lambda, -(curve.second * scaled + curve.first) * inverse);
        self.hessian[(lambda, lambda)] += curve.second * scaled * scaled + curve.first * scaled;
    }

    /// Adds `outer(L(w, gap))` over the stretch that begins at age `start` and gains `gained`:
    /// `gap = ln(1 + exp(v_gained - v_start)) / sigma`.
    pub fn add_stretch(
        &mut self,
        point: &LocalPoint,
        (start, gained): (usize, usize),
        gap: Gap,
        inner: Gathered,
        outer: Curve,
    ) {
        let lambda = point.lambda();
        let inverse = 1.0 / point.sigma;
        let w_lambda = -point.ages[start] * inverse;
        // First derivatives of (w, gap) by (v_start, v_gained, lambda).
        let w = [inverse, 0.0, w_lambda];
        let g = [-gap.slope, gap.slope, -gap.value];
        let by_w = outer.first * inner.by_start;
        let by_g = outer.first * inner.by_gap;
        let by_ww =
            outer.first * inner.by_start_start + outer.second * inner.by_start * inner.by_start;
        let by_wg = outer.first * inner.by_start_gap + outer.second * inner.by_start * inner.by_gap;
        let by_gg = outer.first * inner.by_gap_gap + outer.second * inner.by_gap * inner.by_gap;
        // Second derivatives of w and gap themselves.
        let w_bend = [
            [0.0, 0.0, -inverse],
            [0.0, 0.0, 0.0],
            [-inverse, 0.0, -w_lambda],
        ];
        let g_bend = [
            [gap.bend, -gap.bend, gap.slope],
            [-gap.bend, gap.bend, -gap.slope],
            [gap.slope, -gap.slope, gap.value],
        ];
        let place = [start, gained, lambda];
        self.value += outer.value;
        for i in 0..3 {
            self.gradient[place[i]] += by_w * w[i] + by_g * g[i];
            for j in 0..3 {
                self.hessian[(place[i], place[j])] += by_ww * w[i] * w[j]
                    + by_wg * (w[i] * g[j] + g[i] * w[j])
                    + by_gg * g[i] * g[j]
                    + by_w * w_bend[i][j]
                    + by_g * g_bend[i][j];
            }
        }
    }

    fn add_mixed(&mut self, i: usize, j: usize, amount: f64) {
        self.hessian[(i, j)] += amount;
        self.hessian[(j, i)] += amount;
    }
}

/// The width of a stretch on the standardised log scale.
#[derive(Debug, Clone, Copy)]
pub struct Gap {
    /// `ln(1 + exp(d)) / sigma`, with `d = v_gained - v_start`.
    pub value: f64,
    /// Slope by `d`.
    pub slope: f64,
    /// Second derivative by `d`.
    pub bend: f64,
}

impl Gap {
    /// The gap of a stretch at `point`.
    pub fn at(point: &LocalPoint, (start, gained): (usize, usize)) -> Self {
        use crate::numerics::elementary::{logistic, softplus};
        let d = point.ages[gained] - point.ages[start];
        let (share, rest) = (logistic(d), logistic(-d));
        Self {
            value: softplus(d) / point.sigma,
            slope: share / point.sigma,
            bend: share * rest / point.sigma,
        }
    }
}
