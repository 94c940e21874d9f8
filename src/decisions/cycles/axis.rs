//! The axis of `W` for Weibull lives, in panels coarser than those of the exact sums.

use crate::numerics::GaussLegendre;
use std::sync::LazyLock;

/// Looks in a panel. Seven on this width leave as little of the sums as five on two thirds of it, for fewer edges to keep
/// sums at; six miss a mean cost per hour by 2e-12, seven on a third more a best age by 6e-7.
pub(super) const LOOKS: usize = 7;
/// Panel width.
pub(super) const WIDTH: f64 = 0.75;
/// Left end: below it the density is `e^w - e^(2w)` to 2e-11.
pub(super) const START: f64 = -12.0;
const PANELS: usize = 21;
/// Edges between panels, with both ends.
pub(super) const EDGES: usize = PANELS + 1;
/// Right end: `exp(-exp(w))` is below 1e-14.
pub(super) const END: f64 = START + WIDTH * PANELS as f64;

/// What does not depend on the draw.
#[derive(Debug)]
pub(super) struct Axis {
    /// For each panel, Gauss-Legendre weight times density at each look.
    pub weighted: [[f64; LOOKS]; PANELS],
    /// How far each look lies from the left edge of its panel.
    pub offsets: [f64; LOOKS],
    /// At each edge, the cumulative hazard `e^w`.
    pub hazards: [f64; EDGES],
}

/// The table, made at the first call.
pub(super) static AXIS: LazyLock<Axis> = LazyLock::new(|| {
    let rule = GaussLegendre::<LOOKS>::new();
    let offsets = rule.nodes.map(|x| 0.5 * WIDTH * (1.0 + x));
    let edge = |place: usize| START + WIDTH * place as f64;
    let density = |w: f64| (w - w.exp()).exp();
    Axis {
        weighted: std::array::from_fn(|panel| {
            let look = |k: usize| density(edge(panel) + offsets[k]);
            std::array::from_fn(|k| 0.5 * WIDTH * rule.weights[k] * look(k))
        }),
        offsets,
        hazards: std::array::from_fn(|place| edge(place).exp()),
    }
});
