//! Quadrature tables on the standardised axis of log life, fixed for each family.
//!
//! Every sum over lives is an integral over `W` with the density of `W` as weight. The axis is cut
//! into panels of equal width with a Gauss-Legendre rule on each, so that weights and densities are
//! computed once per family and only factors `exp(sigma w)` depend on the draw.

use crate::numerics::GaussLegendre;
use crate::wear::{Family, LifeDistribution};
use std::sync::OnceLock;

/// Looks in a panel.
pub(super) const LOOKS: usize = 8;
/// Panel width where `sigma` is at most one. Eight looks on this width leave about 1e-13 of the
/// steepest integrand, `exp(w - exp(w))`, against the brute sums in the tests.
const WIDTH: f64 = 0.75;
/// How often the width may be halved; `sigma` up to `2^(LEVELS - 1)` is resolved alike.
const LEVELS: usize = 4;
/// The largest spread of log life that the finest table resolves: shape 1/8.
pub(super) const LARGEST_SIGMA: f64 = (1 << (LEVELS - 1)) as f64;
/// The smallest spread worth a sum: shape 1000.
pub(super) const SMALLEST_SIGMA: f64 = 1e-3;
/// Where an exponential tail is exactly exponential to 1e-13.
const EXPONENTIAL_TAIL: f64 = 30.0;
/// Where `exp(-exp(w))` is below 1e-39.
const WEIBULL_END: f64 = 4.5;
/// Where the normal density is below 1e-20 of its peak.
const NORMAL_TAIL: f64 = 9.5;

/// The law at an edge between panels.
#[derive(Debug, Clone, Copy)]
pub(super) struct LawAt {
    /// `P(W <= w)`.
    pub failure: f64,
    /// `P(W > w)`.
    pub survival: f64,
    /// Density of `W`.
    pub density: f64,
}

impl LawAt {
    pub fn new(family: Family, w: f64) -> Self {
        let log_survival = family.log_survival(w);
        Self {
            failure: -log_survival.exp_m1(),
            survival: log_survival.exp(),
            density: family.log_density(w).exp(),
        }
    }
}

/// One family's table.
#[derive(Debug)]
pub(super) struct StandardAxis {
    /// Left end; below it the left tail is taken in closed form.
    pub start: f64,
    /// Panel width.
    pub width: f64,
    /// For each panel, Gauss-Legendre weight times density at each look.
    pub weighted: Vec<[f64; LOOKS]>,
    /// How far each look lies from the left edge of its panel.
    pub offsets: [f64; LOOKS],
    /// The law at each edge: one more than panels.
    pub edges: Vec<LawAt>,
}

static TABLES: [[OnceLock<StandardAxis>; LEVELS]; 3] =
    [const { [const { OnceLock::new() }; LEVELS] }; 3];

impl StandardAxis {
    /// The table of `family` that resolves factors `exp(sigma w)` on every panel; `None` for a
    /// spread out of reach.
    pub fn for_spread(family: Family, sigma: f64) -> Option<&'static Self> {
        let level = (0..LEVELS).find(|level| sigma <= (1u32 << level) as f64)?;
        let row = match family {
            Family::Weibull => 0,
            Family::Lognormal => 1,
            Family::Loglogistic => 2,
        };
        (sigma >= SMALLEST_SIGMA)
            .then(|| TABLES[row][level].get_or_init(|| Self::build(family, level)))
    }

    /// Right end.
    pub fn end(&self) -> f64 {
        self.start + self.width * self.weighted.len() as f64
    }

    fn build(family: Family, level: usize) -> Self {
        let halvings = (1u32 << level) as f64;
        let width = WIDTH / halvings;
        let (start, end) = match family {
            Family::Weibull => (-EXPONENTIAL_TAIL, WEIBULL_END),
            // exp(sigma w) moves the peak of the weighted density by sigma to either side.
            Family::Lognormal => (-NORMAL_TAIL - halvings, NORMAL_TAIL + halvings),
            Family::Loglogistic => (-EXPONENTIAL_TAIL, EXPONENTIAL_TAIL),
        };
        let panels = ((end - start) / width).ceil() as usize;
        let rule = GaussLegendre::<LOOKS>::new();
        let offsets = rule.nodes.map(|x| 0.5 * width * (1.0 + x));
        let edge = |panel: usize| start + width * panel as f64;
        let weighted = (0..panels).map(|panel| {
            let look = |k: usize| family.log_density(edge(panel) + offsets[k]).exp();
            std::array::from_fn(|k| 0.5 * width * rule.weights[k] * look(k))
        });
        Self {
            start,
            width,
            weighted: weighted.collect(),
            offsets,
            edges: (0..=panels)
                .map(|panel| LawAt::new(family, edge(panel)))
                .collect(),
        }
    }
}

/// How the density of `W` dies away beyond the table.
pub(super) struct Tails {
    /// Like `exp(w)` to the left.
    pub left_exponential: bool,
    /// Like `exp(-w)` to the right.
    pub right_exponential: bool,
}

/// The tails of each family; faster than exponential is nothing beyond the table.
pub(super) fn tails(family: Family) -> Tails {
    Tails {
        left_exponential: family != Family::Lognormal,
        right_exponential: family == Family::Loglogistic,
    }
}
