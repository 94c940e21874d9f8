//! The coordinates in which each observation is simple.
//!
//! An observation sees the parameters only through a few log wear ages measured from the typical
//! life, `v_k = ln u_k - location`, through `lambda = ln sigma`, and through `epsilon`, the log of the
//! grader's error. Everything local is written in `(v_1, ..., v_K, lambda, epsilon)`; the chain rule to
//! the real parameters stands once, in `chain`.

use super::{Common, Order, Phase};
use crate::wear::life_distribution::{Curve, Family, Gathered, LifeDistribution};

/// A contribution with its derivatives in local coordinates; the last two are `lambda` and `epsilon`.
#[derive(Debug, Clone)]
pub struct Local {
    /// Log-likelihood.
    pub value: f64,
    /// First derivatives.
    pub gradient: Vec<f64>,
    /// Second derivatives, row by row.
    hessian: Vec<f64>,
    order: Order,
}

/// A point in local coordinates, with what every kind of observation needs of it.
#[derive(Debug, Clone, Default)]
pub struct LocalPoint {
    /// `ln u_k - location`.
    pub ages: Vec<f64>,
    /// The spread of log life.
    pub sigma: f64,
    /// The grader's error on the log of wear fraction.
    pub eye: f64,
    /// What the location stands for: the standardised log life at which `ln u = location`.
    pub anchor: f64,
}

impl LocalPoint {
    /// One edge, from the logs of its wear sums and of its typical life.
    pub(super) fn set(&mut self, common: &Common, logs: &[f64], location: f64) {
        self.sigma = common.sigma;
        self.eye = common.eye;
        self.anchor = common.anchor;
        self.ages.clear();
        self.ages.extend(logs.iter().map(|log| log - location));
    }

    /// Standardised log age `w`.
    pub fn standardised(&self, age: usize) -> f64 {
        self.ages[age] / self.sigma + self.anchor
    }
}

impl Default for Local {
    fn default() -> Self {
        Self::zero(0, Order::Value)
    }
}

impl Local {
    /// Nothing yet, for `ages` ages.
    pub fn zero(ages: usize, order: Order) -> Self {
        let mut local = Self {
            value: 0.0,
            gradient: Vec::new(),
            hessian: Vec::new(),
            order,
        };
        local.reset(ages, order);
        local
    }

    /// Back to nothing.
    pub fn reset(&mut self, ages: usize, order: Order) {
        let size = ages + 2;
        self.value = 0.0;
        self.order = order;
        // Its length tells how many ages there are; its numbers count only where they are asked for.
        if self.gradient.len() != size || order >= Order::Gradient {
            self.gradient.clear();
            self.gradient.resize(size, 0.0);
        }
        self.hessian.clear();
        if order == Order::Hessian {
            self.hessian.resize(size * size, 0.0);
        }
    }

    /// How many ages there are.
    pub fn ages(&self) -> usize {
        self.gradient.len() - 2
    }

    /// The place of `lambda`.
    pub fn lambda(&self) -> usize {
        self.gradient.len() - 2
    }

    /// The place of `epsilon`.
    pub fn epsilon(&self) -> usize {
        self.gradient.len() - 1
    }

    /// How many derivatives are wanted.
    pub fn order(&self) -> Order {
        self.order
    }

    /// A second derivative.
    pub fn bend(&self, i: usize, j: usize) -> f64 {
        self.hessian[i * self.gradient.len() + j]
    }

    /// Adds to a second derivative.
    pub fn add_bend(&mut self, i: usize, j: usize, amount: f64) {
        let size = self.gradient.len();
        self.hessian[i * size + j] += amount;
    }

    /// Adds `curve` of another contribution's value.
    pub fn add_composed(&mut self, inner: &Local, curve: Curve) {
        self.value += curve.value;
        let size = self.gradient.len();
        for i in 0..size {
            self.gradient[i] += curve.first * inner.gradient[i];
            if self.order == Order::Hessian {
                for j in 0..size {
                    let product = inner.gradient[i] * inner.gradient[j];
                    self.hessian[i * size + j] +=
                        curve.first * inner.bend(i, j) + curve.second * product;
                }
            }
        }
    }

    /// Adds `curve(w)` at age `k`, where `w = v_k / sigma + anchor`.
    pub fn add_at(&mut self, point: &LocalPoint, k: usize, curve: Curve) {
        let lambda = self.lambda();
        let inverse = 1.0 / point.sigma;
        let scaled = point.ages[k] * inverse;
        self.value += curve.value;
        self.gradient[k] += curve.first * inverse;
        self.gradient[lambda] -= curve.first * scaled;
        if self.order < Order::Hessian {
            return;
        }
        let mixed = -(curve.second * scaled + curve.first) * inverse;
        self.add_bend(k, k, curve.second * inverse * inverse);
        self.add_bend(k, lambda, mixed);
        self.add_bend(lambda, k, mixed);
        self.add_bend(
            lambda,
            lambda,
            curve.second * scaled * scaled + curve.first * scaled,
        );
    }

    /// Adds `outer(L(w, gap))` over the stretch that begins at age `start` and gains `gained`:
    /// `gap = ln(1 + exp(v_gained - v_start)) / sigma`.
    fn add_stretch(
        &mut self,
        point: &LocalPoint,
        (start, gained): (usize, usize),
        gap: Gap,
        inner: Gathered,
        outer: Curve,
    ) {
        let lambda = self.lambda();
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
            let columns = if self.order == Order::Hessian { 3 } else { 0 };
            for j in 0..columns {
                let bend = by_ww * w[i] * w[j]
                    + by_wg * (w[i] * g[j] + g[i] * w[j])
                    + by_gg * g[i] * g[j]
                    + by_w * w_bend[i][j]
                    + by_g * g_bend[i][j];
                self.add_bend(place[i], place[j], bend);
            }
        }
    }

    /// Adds `outer(ln of the hazard gathered over the phase)`, where `outer` gets that log.
    pub fn add_phase(
        &mut self,
        point: &LocalPoint,
        family: Family,
        phase: Phase,
        outer: impl Fn(f64) -> Curve,
    ) {
        match phase {
            Phase::FromFresh(age) => {
                let inner = family.log_cumulative_hazard(point.standardised(age));
                let outer = outer(inner.value);
                let curve = Curve {
                    value: outer.value,
                    first: outer.first * inner.first,
                    second: outer.second * inner.first * inner.first + outer.first * inner.second,
                };
                self.add_at(point, age, curve);
            }
            Phase::From(start, gained) => {
                let gap = Gap::at(point, (start, gained));
                let inner = family.log_hazard_gathered(point.standardised(start), gap.value);
                let outer = outer(inner.value);
                self.add_stretch(point, (start, gained), gap, inner, outer);
            }
        }
    }
}

/// The width of a stretch on the standardised log scale.
#[derive(Debug, Clone, Copy)]
struct Gap {
    /// `ln(1 + exp(d)) / sigma`, with `d = v_gained - v_start`.
    pub value: f64,
    /// Slope by `d`.
    pub slope: f64,
    /// Second derivative by `d`.
    pub bend: f64,
}

impl Gap {
    /// The gap of a stretch at `point`.
    fn at(point: &LocalPoint, (start, gained): (usize, usize)) -> Self {
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
