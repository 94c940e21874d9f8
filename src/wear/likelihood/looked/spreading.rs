//! The chance that an eye sees an edge below a cut, with its slopes.
//!
//! It hangs on one number, `x = (ln u - location - cut) / sigma + anchor`: with `k` the eye's error over `sigma` it is
//!
//! ```text
//! G(x, k) = integral of f(W) Phi((W - x) / k) dW
//! ```
//!
//! A law under a normal kernel spreads as heat does, `dG/dk = k d2G/dx2`, so that slopes by `x` tell those by `k` too.
//! The former are sums of Hermite's polynomials `He`:
//!
//! ```text
//! dnG/dxn = -S(n) / k^n,   S(n) = integral of f(W) phi(z) He(n-1, z) dW,   z = (W - x) / k
//! ```

use crate::numerics::lanes::{multiply_add, normal_tail_and_height};
use crate::wear::life_nodes::{LANES, NodeColumns};
use std::f64::consts::TAU;

/// From here on a normal density counts as none.
const FAR: f64 = 7.0;

/// A law's nodes under a kernel.
#[derive(Clone, Copy)]
pub struct Spreading<'a> {
    pub nodes: &'a NodeColumns,
    /// The kernel's spread on the scale of `W`.
    pub kernel: f64,
    /// Nothing is seen further off than so many of its spreads.
    pub farthest: f64,
}

impl Spreading<'_> {
    /// `G`, then `S(1)` up to `S(N - 1)`. Nodes of far longer lives are seen below the cut for certain, those of far
    /// shorter ones never.
    #[inline(always)]
    pub fn sums<const FUSED: bool, const N: usize>(&self, x: f64) -> [f64; N] {
        let nodes = self.nodes;
        let most = nodes.count as f64;
        let node = |w: f64| ((w - nodes.first) / nodes.step).clamp(0.0, most);
        let reach = self.farthest * self.kernel;
        let start = node(x - reach) as usize;
        let end = (node(x + reach) as usize + 1).min(nodes.count);
        let by_kernel = self.kernel.recip();
        let mut sums = [[0.0; LANES]; N];
        let mut reached = start;
        for first in (start..end).step_by(LANES) {
            let Some(weights) = nodes.weights_from(first) else {
                break;
            };
            reached = first + LANES;
            for (lane, weight) in weights.iter().enumerate() {
                let w = multiply_add::<FUSED>(nodes.step, (first + lane) as f64, nodes.first);
                let z = (w - x) * by_kernel;
                let (below, height) = normal_tail_and_height::<FUSED>(z);
                // Further off the height stands still, and polynomials do not.
                let height = if z.abs() < FAR { height } else { 0.0 };
                sums[0][lane] += weight * below;
                // He(n + 1) = z He(n) - n He(n - 1)
                let (mut before, mut hermite) = (0.0, weight * height);
                for (n, sum) in sums.iter_mut().skip(1).enumerate() {
                    sum[lane] += hermite;
                    (before, hermite) = (hermite, z * hermite - n as f64 * before);
                }
            }
        }
        let before = |node: usize| nodes.before.get(node.min(nodes.count)).copied();
        let certain = before(nodes.count).unwrap_or_default() - before(reached).unwrap_or_default();
        let mut sums = sums.map(|lanes| lanes.iter().sum::<f64>());
        sums[0] += certain;
        sums.iter_mut().skip(1).for_each(|sum| *sum /= TAU.sqrt());
        sums
    }
}
