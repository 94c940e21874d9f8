//! The lognormal law of life: `W` is standard normal.

use super::life_distribution::{Curve, Gathered, LifeDistribution};
use crate::numerics::{GaussLegendre, normal};
use std::sync::LazyLock;

/// `P(W > w)` is the normal upper tail, so that `h(w) = phi(w) / P(W > w)` and `h' = h (h - w)`.
#[derive(Debug, Clone, Copy)]
pub struct Lognormal;

/// Twelve points over a narrow stretch leave nothing that a double could hold.
static RULE: LazyLock<GaussLegendre<12>> = LazyLock::new(GaussLegendre::new);

/// Above this the hazard gathered is a plain difference; below it a quadrature keeps the digits.
const NARROW: f64 = 0.5;

/// Below this `1 - P(W <= w)` is one in floating point, and `H` is the lower tail itself.
const FAR_BELOW: f64 = -9.0;

/// `phi / Phi` at `w`, the slope of `ln Phi`, and how far it exceeds `-w`.
fn mirrored(w: f64) -> (f64, f64) {
    (normal::log_hazard(-w).exp(), normal::hazard_excess(-w).0)
}

/// `zeta = h(w) - w`, the slope of `ln h`.
fn slope(w: f64) -> f64 {
    normal::hazard_excess(w).0
}

/// `ln H(w)`: below zero `H = -ln(1 - P(W <= w))` through the lower tail, which may underflow.
fn log_cumulative(w: f64) -> f64 {
    let log_failed = normal::log_lower_tail(w);
    if log_failed < -36.0 {
        log_failed
    } else {
        (-normal::log_upper_tail(w)).ln()
    }
}

impl LifeDistribution for Lognormal {
    fn log_hazard(&self, w: f64) -> Curve {
        let (first, second) = normal::hazard_excess(w);
        Curve {
            value: normal::log_hazard(w),
            first,
            second,
        }
    }

    fn log_cumulative_hazard(&self, w: f64) -> Curve {
        if w < FAR_BELOW {
            // H is the lower tail itself, and its logarithmic slope the mirrored hazard.
            let (slope, excess) = mirrored(w);
            return Curve {
                value: normal::log_lower_tail(w),
                first: slope,
                second: -slope * excess,
            };
        }
        let value = log_cumulative(w);
        let first = (normal::log_hazard(w) - value).exp();
        Curve {
            value,
            first,
            second: first * (slope(w) - first),
        }
    }

    fn log_hazard_gathered(&self, w: f64, gap: f64) -> Gathered {
        if gap < NARROW {
            gathered_narrow(w, gap)
        } else if w + gap < FAR_BELOW {
            gathered_far_below(w, gap)
        } else {
            gathered_wide(w, gap)
        }
    }

    fn at_log_cumulative_hazard(&self, log_hazard: f64) -> f64 {
        if log_hazard < -36.0 {
            return far_lower_quantile(log_hazard);
        }
        let survival = (-log_hazard.exp()).exp();
        let failure = -(-log_hazard.exp()).exp_m1();
        if failure < 0.5 {
            normal::quantile(failure)
        } else {
            -normal::quantile(survival)
        }
    }
}

/// Newton on `ln P(W <= w) = log_probability` from the leading term of its expansion.
fn far_lower_quantile(log_probability: f64) -> f64 {
    let mut w = -(-2.0 * log_probability).sqrt();
    for _ in 0..20 {
        let excess = normal::log_lower_tail(w) - log_probability;
        let step = excess / normal::log_hazard(-w).exp();
        w -= step;
        if step.abs() < 1e-14 * w.abs() {
            break;
        }
    }
    w
}

/// `integral of h over the stretch`, scaled by `h(w)` so that nothing underflows. The slopes are
/// averages over the stretch with the hazard as weight, so that nothing cancels.
fn gathered_narrow(w: f64, gap: f64) -> Gathered {
    let at_start = normal::log_hazard(w);
    let (mut area, mut slopes, mut bends) = (0.0, 0.0, 0.0);
    for (node, weight) in RULE.nodes.iter().zip(&RULE.weights) {
        let there = w + gap * (0.5 + 0.5 * node);
        let mass = 0.5 * weight * (normal::log_hazard(there) - at_start).exp();
        let (zeta, bend) = normal::hazard_excess(there);
        area += mass;
        slopes += mass * zeta;
        bends += mass * (zeta * zeta + bend);
    }
    let by_start = slopes / area;
    let value = at_start + (gap * area).ln();
    let end = w + gap;
    let by_gap = (normal::log_hazard(end) - value).exp();
    Gathered {
        value,
        by_start,
        by_gap,
        by_start_start: bends / area - by_start * by_start,
        by_start_gap: by_gap * (slope(end) - by_start),
        by_gap_gap: by_gap * (slope(end) - by_gap),
    }
}

fn gathered_wide(w: f64, gap: f64) -> Gathered {
    let end = w + gap;
    let (log_start, log_end) = (log_cumulative(w), log_cumulative(end));
    let value = log_end + (-(log_start - log_end).exp()).ln_1p();
    let from_end = (normal::log_hazard(end) - value).exp();
    let from_start = (normal::log_hazard(w) - value).exp();
    let by_start = from_end - from_start;
    Gathered {
        value,
        by_start,
        by_gap: from_end,
        by_start_start: from_end * slope(end) - from_start * slope(w) - by_start * by_start,
        by_start_gap: from_end * (slope(end) - by_start),
        by_gap_gap: from_end * (slope(end) - from_end),
    }
}

/// `Phi(w + gap) - Phi(w)` where both are far below one. With `r = phi/Phi`, `e = r + w` and
/// `E = Phi(w) / (Phi(end) - Phi(w))`, all terms of size `w^2` are taken out by hand.
fn gathered_far_below(w: f64, gap: f64) -> Gathered {
    let end = w + gap;
    let ((at_start, start_excess), (at_end, end_excess)) = (mirrored(w), mirrored(end));
    // ln(Phi(w) / Phi(end)), with the squares taken out of the difference.
    let fall = 0.5 * gap * (w + end) + (at_end / at_start).ln();
    let before = 1.0 / (-fall).exp_m1();
    let by_gap = at_end * (1.0 + before);
    let drop = at_end - at_start;
    Gathered {
        value: normal::log_lower_tail(end) + (-fall.exp()).ln_1p(),
        by_start: at_end + before * drop,
        by_gap,
        by_start_start: -before * (1.0 + before) * drop * drop - end_excess * by_gap
            + start_excess * at_start * before,
        by_start_gap: -by_gap * (end_excess + before * drop),
        by_gap_gap: -by_gap * (end_excess + at_end * before),
    }
}
