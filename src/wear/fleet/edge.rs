//! What one edge adds to the log-likelihood, its slopes and second slopes.
//!
//! With `u` the wear by the last look that found it sharp and `v` the wear from there to the look that found it dull,
//! `z = k (ln u - location)` and `H = exp(z)` for a Weibull life of shape `k`:
//!
//! ```text
//! dull at u           ln k - ln u + z - H + ln(rate at that moment)
//! not dull by u      -H
//! dull before u       ln(1 - exp(-H))
//! dull within v      -H + ln(1 - exp(-D)),   D = H (exp(G) - 1),   G = k ln(1 + v/u)
//! ```
//!
//! `G` keeps its digits however narrow the interval, where the difference of two wears would not.

use super::rates::Rates;
use super::shape::Shape;
use crate::lives::Dulling;
use crate::numerics::elementary::{log_exp_m1, log_one_minus_exp_minus};

/// Where `H` would overflow the likelihood is nothing anyhow.
const LARGEST: f64 = 700.0;

/// The place at which edges are looked at, and room for one edge's numbers.
pub(super) struct Kernel<'r> {
    shape: Shape,
    rates: &'r Rates<'r>,
    location: f64,
    log_shape: f64,
    /// The shape.
    k: f64,
    bends: bool,
    sharp: Vec<f64>,
    dull: Vec<f64>,
    /// Slopes of the log of wear by the coefficients, and of its gain from sharp to dull.
    log_wear: Vec<f64>,
    log_gain: Vec<f64>,
    /// Slopes by all parameters of `z` and `G`.
    z: Vec<f64>,
    g: Vec<f64>,
}

/// The segments of an edge.
#[derive(Clone, Copy)]
pub(super) struct Segments<'s> {
    pub rows: &'s [u32],
    pub hours: &'s [f64],
    /// So many by whose end it was sharp.
    pub sharp: usize,
}

impl<'r> Kernel<'r> {
    /// `location` is that of the edges' group.
    pub(super) fn new(
        rates: &'r Rates<'r>,
        shape: Shape,
        location: f64,
        log_shape: f64,
        bends: bool,
    ) -> Self {
        let zeros = |length: usize| vec![0.0; length];
        Self {
            shape,
            rates,
            location,
            log_shape,
            k: log_shape.exp(),
            bends,
            sharp: zeros(rates.width()),
            dull: zeros(rates.width()),
            log_wear: zeros(shape.covariates),
            log_gain: zeros(shape.covariates),
            z: zeros(shape.dimension()),
            g: zeros(shape.dimension()),
        }
    }

    /// Adds an edge to `sums`.
    #[inline]
    pub(super) fn add(
        &mut self,
        dulling: Dulling,
        segments: Segments,
        moment: u32,
        sums: &mut [f64],
    ) {
        let (sharp, dull) = segments
            .rows
            .split_at(segments.sharp.min(segments.rows.len()));
        let (sharp_hours, dull_hours) = segments.hours.split_at(sharp.len());
        self.sharp.fill(0.0);
        match dulling {
            Dulling::Not => self.rates.add(sharp, sharp_hours, &mut self.sharp),
            Dulling::Exact | Dulling::Before => self.rates.add(dull, dull_hours, &mut self.sharp),
            Dulling::Between => {
                self.rates.add(sharp, sharp_hours, &mut self.sharp);
                self.dull.fill(0.0);
                self.rates.add(dull, dull_hours, &mut self.dull);
            }
        }
        let wear = self.sharp[0];
        // Nothing seen after any hours says nothing.
        if wear <= 0.0 {
            return;
        }
        let log_wear = wear.ln();
        self.bound(wear, log_wear);
        let z = self.z[self.shape.log_shape()];
        let h = z.min(LARGEST).exp();
        match dulling {
            Dulling::Not => self.one_bound([-h, -h, -h], 0.0, sums),
            Dulling::Exact => {
                let value = self.log_shape - log_wear + z - h + self.rates.log_rate(moment);
                self.one_bound([value, 1.0 - h, -h], 1.0, sums);
                self.at_the_moment(moment, sums);
            }
            Dulling::Before => {
                let (value, first, second) = log_one_minus_exp_minus(z);
                self.one_bound([value, first, second], 0.0, sums);
            }
            Dulling::Between => self.between(wear, z, h, sums),
        }
    }

    /// Slopes of the log of wear and of `z`.
    fn bound(&mut self, wear: f64, log_wear: f64) {
        let covariates = self.shape.covariates;
        self.z[0] = -self.k;
        for j in 0..covariates {
            self.log_wear[j] = self.sharp[1 + j] / wear;
            self.z[1 + j] = self.k * self.log_wear[j];
        }
        self.z[1 + covariates] = self.k * (log_wear - self.location);
    }

    /// An edge of one bound: value, slope and second slope by `z`. `exact` counts the slopes of the log of wear that
    /// an exact moment has besides.
    fn one_bound(&self, [value, first, second]: [f64; 3], exact: f64, sums: &mut [f64]) {
        let (shape, d) = (self.shape, self.shape.dimension());
        sums[0] += value;
        for i in 0..d {
            sums[shape.slope(i)] += first * self.z[i];
        }
        if !self.bends {
            return;
        }
        let mut next = 1 + d;
        for i in 0..d {
            let by = second * self.z[i];
            for j in i..d {
                sums[next] += by * self.z[j];
                next += 1;
            }
        }
        let last = shape.log_shape();
        sums[shape.bend(0, last)] -= first * self.k;
        sums[shape.bend(last, last)] += first * self.z[last];
        let by = first * self.k - exact;
        let mut product = 1 + shape.covariates;
        for i in 0..shape.covariates {
            sums[shape.bend(1 + i, last)] += first * self.z[1 + i];
            for j in i..shape.covariates {
                let bend =
                    self.sharp[product] / self.sharp[0] - self.log_wear[i] * self.log_wear[j];
                sums[shape.bend(1 + i, 1 + j)] += by * bend;
                product += 1;
            }
        }
    }

    /// The slopes of what an exact moment has besides `z`: density by meter hour.
    fn at_the_moment(&self, moment: u32, sums: &mut [f64]) {
        let rates = self.log_wear.iter().zip(self.rates.row(moment));
        for (j, (by_wear, x)) in rates.enumerate() {
            sums[self.shape.slope(1 + j)] += x - by_wear;
        }
        sums[self.shape.slope(self.shape.log_shape())] += 1.0;
    }

    /// An edge that went dull between two looks.
    fn between(&mut self, wear: f64, z: f64, h: f64, sums: &mut [f64]) {
        let (shape, d, last) = (self.shape, self.shape.dimension(), self.shape.log_shape());
        let ratio = self.dull[0] / wear;
        let all = wear + self.dull[0];
        for j in 0..shape.covariates {
            self.log_gain[j] = (self.dull[1 + j] - ratio * self.sharp[1 + j]) / all;
            self.g[1 + j] = self.k * self.log_gain[j];
        }
        let g = self.k * ratio.ln_1p();
        (self.g[0], self.g[last]) = (0.0, g);
        // E is the slope by G of ln(exp(G) - 1).
        let e = 1.0 / -(-g).exp_m1();
        let (value, q, q_bend) = log_one_minus_exp_minus(z + log_exp_m1(g));
        let (by_z, by_g) = (q - h, q * e);
        sums[0] += value - h;
        for i in 0..d {
            sums[shape.slope(i)] += by_z * self.z[i] + by_g * self.g[i];
        }
        if !self.bends {
            return;
        }
        let (zz, zg, gg) = (q_bend - h, q_bend * e, q_bend * e * e - q * e * (e - 1.0));
        let mut next = 1 + d;
        for i in 0..d {
            let (to_z, to_g) = (
                zz * self.z[i] + zg * self.g[i],
                zg * self.z[i] + gg * self.g[i],
            );
            for j in i..d {
                sums[next] += to_z * self.z[j] + to_g * self.g[j];
                next += 1;
            }
        }
        sums[shape.bend(0, last)] -= by_z * self.k;
        sums[shape.bend(last, last)] += by_z * z + by_g * g;
        self.bends_between(wear, ratio, all, [by_z * self.k, by_g * self.k], sums);
        for i in 0..shape.covariates {
            sums[shape.bend(1 + i, last)] += by_z * self.z[1 + i] + by_g * self.g[1 + i];
        }
    }

    /// Second slopes by coefficients of the log of wear and of its gain.
    fn bends_between(
        &self,
        wear: f64,
        ratio: f64,
        all: f64,
        [by_wear, by_gain]: [f64; 2],
        sums: &mut [f64],
    ) {
        let mut product = 1 + self.shape.covariates;
        for i in 0..self.shape.covariates {
            let (wear_i, gain_i) = (self.log_wear[i], self.log_gain[i]);
            for j in i..self.shape.covariates {
                let (wear_j, gain_j) = (self.log_wear[j], self.log_gain[j]);
                let of_wear = self.sharp[product] / wear - wear_i * wear_j;
                let of_gain = (self.dull[product] - ratio * self.sharp[product]) / all
                    - (wear_i * gain_j + gain_i * wear_j + gain_i * gain_j);
                sums[self.shape.bend(1 + i, 1 + j)] += by_wear * of_wear + by_gain * of_gain;
                product += 1;
            }
        }
    }
}
