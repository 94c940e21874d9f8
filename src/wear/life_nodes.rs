//! Where the unknown life of an edge is integrated out.
//!
//! An integral over the law of `W` is `integral of f(W) g(W) dW`. The trapezoid rule converges faster
//! than any power of its step for such integrands (Trefethen and Weideman, SIAM Review 56, 2014): with
//! step `h` the Weibull's density leaves an error near `exp(-pi^2 / h)`, a normal kernel of spread `k`
//! one near `exp(-2 pi^2 k^2 / h^2)`. The nodes stand still on the scale of `W`, so the sum is smooth
//! in every parameter.

use super::{Family, LifeDistribution};
use std::f64::consts::FRAC_1_SQRT_2;
use std::sync::OnceLock;

/// How closely an integral is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precision {
    /// To all digits: for modes and second derivatives.
    Full,
    /// To some 1e-8: for draws, whose own error is far greater. Three to four times as fast.
    Sampling,
    /// To some 1e-4: for laws from which draws are proposed.
    Rough,
}

impl Precision {
    /// The coarsest step: `exp(-pi^2 / 0.25)` is below 1e-17, `exp(-pi^2 / 0.5)` below 3e-9.
    fn coarsest(self) -> f64 {
        match self {
            Precision::Full => 0.25,
            Precision::Sampling | Precision::Rough => 0.5,
        }
    }

    /// Steps to a kernel's spread: `exp(-2 pi^2 1.4^2)` is below 1e-16, `exp(-2 pi^2)` below 3e-9, `exp(-2 pi^2 0.7^2)`
    /// below 1e-4.
    fn steps_per_spread(self) -> f64 {
        match self {
            Precision::Full => 1.4,
            Precision::Sampling => 1.0,
            Precision::Rough => 0.7,
        }
    }

    /// Nodes whose log mass lies this far below the largest are left out.
    pub fn negligible(self) -> f64 {
        match self {
            // ln 1e-16
            Precision::Full => -37.0,
            // ln 1e-9
            Precision::Sampling | Precision::Rough => -20.7,
        }
    }

    /// Nothing is seen further off than so many errors: that is one chance in 1e12, roughly one in 3e5.
    pub const fn farthest(self) -> f64 {
        match self {
            Precision::Full | Precision::Sampling => 7.0,
            Precision::Rough => 4.5,
        }
    }
}

/// The coarsest step of all.
const COARSEST: f64 = 0.5;
/// Rungs of the ladder of steps, each shorter than the one before by the square root of two. No step is shorter than
/// this rung's: an edge may have some hundred thousand nodes then.
const FINEST: f64 = 24.0;
/// Nodes are kept for so many rungs.
const KEPT: usize = 16;
/// Nodes further out have no weight that is a number.
const FAINTEST: f64 = -745.0;

/// A node: `W`, and the log of its weight `h f(W)`.
#[derive(Debug, Clone, Copy)]
pub struct Node {
    /// The log of the weight.
    pub log_weight: f64,
    /// The weight; zero far out.
    pub weight: f64,
    /// Standardised log life.
    pub w: f64,
}

/// The nodes of one step.
#[derive(Debug)]
pub struct Nodes {
    family: Family,
    /// Those that weigh something, as columns.
    pub columns: NodeColumns,
    /// All of them, once somebody asks: twenty times as many.
    sides: OnceLock<Sides>,
}

/// The nodes on either side of the mode (at `W = 0` in all families), weights falling.
#[derive(Debug)]
pub struct Sides {
    /// From the mode upwards.
    pub above: Vec<Node>,
    /// From just below the mode downwards.
    pub below: Vec<Node>,
}

/// Nodes at even steps of rising `W`. Those that weigh less than [`WEIGHTLESS`] are left out at either end.
#[derive(Debug)]
pub struct NodeColumns {
    /// `W` of the first.
    pub first: f64,
    /// From one to the next.
    pub step: f64,
    /// The heaviest, at `W = 0`.
    pub mode: usize,
    /// How many there are.
    pub count: usize,
    /// Their weights; then some that weigh nothing, so that [`LANES`] of them can be read from any node on.
    pub weights: Vec<f64>,
    /// What those before each node weigh together; one entry more than there are nodes.
    pub before: Vec<f64>,
}

/// Nodes that are looked at side by side.
pub const LANES: usize = 8;
/// What weighs less adds nothing to a mass that is counted on plain numbers.
const WEIGHTLESS: f64 = 1e-14;

/// The step that is fine enough for kernels of spread `kernel` on the scale of `W`: one of few, so that nodes stand
/// still where the kernel changes a little.
pub fn step(kernel: f64, precision: Precision) -> f64 {
    at_rung(rung(kernel, precision))
}

fn at_rung(rung: i32) -> f64 {
    COARSEST * FRAC_1_SQRT_2.powi(rung)
}

fn rung(kernel: f64, precision: Precision) -> i32 {
    let step = precision
        .coarsest()
        .min(kernel / precision.steps_per_spread());
    (2.0 * (COARSEST / step).log2()).ceil().clamp(0.0, FINEST) as i32
}

/// Nodes fine enough for kernels of spread `kernel` on the scale of `W`, where such are kept.
pub fn nodes(family: Family, kernel: f64, precision: Precision) -> Option<&'static Nodes> {
    static TABLES: [[OnceLock<Nodes>; KEPT]; 3] = [const { [const { OnceLock::new() }; KEPT] }; 3];
    let rung = rung(kernel, precision);
    let table = TABLES[family as usize].get(rung as usize)?;
    Some(table.get_or_init(|| build(family, at_rung(rung))))
}

/// Lays out the nodes that the looks of a crew's log ask for first; modes are found on all of them.
pub fn lay_out(family: Family) {
    for kernel in [1.0, 0.36] {
        nodes(family, kernel, Precision::Sampling);
    }
    if let Some(nodes) = nodes(family, 0.36, Precision::Full) {
        nodes.sides();
    }
}

fn build(family: Family, step: f64) -> Nodes {
    let Sides { above, below } = Sides::of(family, step, WEIGHTLESS.ln());
    Nodes {
        family,
        columns: NodeColumns::of(below.iter().rev().chain(&above), step),
        sides: OnceLock::new(),
    }
}

impl Nodes {
    /// All of them.
    pub fn sides(&self) -> &Sides {
        let all = || Sides::of(self.family, self.columns.step, FAINTEST);
        self.sides.get_or_init(all)
    }
}

impl Sides {
    /// As far out as the log of a node's weight is more than `faintest`.
    fn of(family: Family, step: f64, faintest: f64) -> Self {
        let outwards = |direction: f64, first: u32| {
            (first..)
                .map(|i| direction * step * f64::from(i))
                .map(|w| {
                    let log_weight = step.ln() + family.log_density(w);
                    Node {
                        w,
                        log_weight,
                        weight: log_weight.exp(),
                    }
                })
                .take_while(|node| node.log_weight > faintest)
                .collect()
        };
        Self {
            above: outwards(1.0, 0),
            below: outwards(-1.0, 1),
        }
    }
}

impl NodeColumns {
    /// Of some, as `W` rises.
    fn of<'a>(rising: impl Iterator<Item = &'a Node>, step: f64) -> Self {
        let heavy: Vec<&Node> = rising.collect();
        let sums = heavy.iter().scan(0.0, |sum, node| {
            *sum += node.weight;
            Some(*sum)
        });
        let before = [0.0].into_iter().chain(sums).collect();
        let weights = heavy.iter().map(|node| node.weight);
        Self {
            first: heavy.first().map_or(0.0, |node| node.w),
            step,
            mode: heavy.iter().take_while(|node| node.w < 0.0).count(),
            count: heavy.len(),
            weights: weights.chain([0.0; LANES]).collect(),
            before,
        }
    }

    /// The weights of the node `first` and of those after it; `None` beyond the last.
    #[inline(always)]
    pub fn weights_from(&self, first: usize) -> Option<&[f64; LANES]> {
        self.weights.get(first..)?.first_chunk()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn integral(family: Family, kernel: f64, g: impl Fn(f64) -> f64) -> f64 {
        let nodes = nodes(family, kernel, Precision::Full).expect("kept");
        let Sides { above, below } = nodes.sides();
        below
            .iter()
            .rev()
            .chain(above)
            .map(|node| node.log_weight.exp() * g(node.w))
            .sum()
    }

    #[test]
    fn weights_add_up_to_one() {
        for family in Family::ALL {
            for kernel in [0.05, 0.6, 9.0] {
                assert_relative_eq!(integral(family, kernel, |_| 1.0), 1.0, max_relative = 1e-14);
            }
        }
    }

    #[test]
    fn moments_are_the_textbook_ones() {
        // Smallest extreme value: mean minus Euler's constant, variance pi^2/6; logistic variance pi^2/3.
        let pi_squared = std::f64::consts::PI.powi(2);
        assert_relative_eq!(
            integral(Family::Weibull, 0.6, |w| w),
            -0.577_215_664_901_532_9,
            max_relative = 1e-13
        );
        let second = integral(Family::Weibull, 0.6, |w| w * w);
        assert_relative_eq!(
            second,
            pi_squared / 6.0 + 0.577_215_664_901_532_9_f64.powi(2),
            max_relative = 1e-13
        );
        assert_relative_eq!(
            integral(Family::Lognormal, 0.6, |w| w * w),
            1.0,
            max_relative = 1e-13
        );
        assert_relative_eq!(
            integral(Family::Loglogistic, 0.6, |w| w * w),
            pi_squared / 3.0,
            max_relative = 1e-13
        );
    }
}
