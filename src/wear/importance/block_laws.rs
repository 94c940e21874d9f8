//! The normal law of each block of group effects, given everything else.
//!
//! The nested approximation is expanded once for all draws. That leaves a small error in every block, and those of a
//! fleet's hundreds of blocks add up until one draw outweighs the rest. Here every edge's log-likelihood is followed
//! along its log life at the shared parameters of the draw at hand: a parabola, through three places as far apart as
//! effects are unsure or by the derivatives where those come free, makes each block's law normal with a mean and a
//! spread of its own.

use crate::numerics::newton::Factor;
use crate::numerics::{Arrow, ArrowFactor};
use crate::wear::density::{Parameters, WearDensity};
use crate::wear::likelihood::AtShared;
use nalgebra::DVector;

/// How far the outer places lie from the middle one on the scale of log life. Basis: with some tens of edges the
/// effects of a machine and of a set are known to within some 5 to 15 %.
const REACH: f64 = 0.1;

/// The laws of all blocks, one after the other: an arrow without a corner.
pub(super) struct BlockLaws {
    mean: DVector<f64>,
    /// The factor of their precision.
    factor: ArrowFactor,
}

impl BlockLaws {
    /// Around effects that should lie near the middle, at the shared parameters of `likelihoods`. `None` where the
    /// likelihood is no number there.
    pub fn around(
        density: &WearDensity,
        middle: &Parameters,
        spreads: &[f64],
        likelihoods: &AtShared,
    ) -> Option<Self> {
        let blocks = density.effects().blocks();
        let at = DVector::from_iterator(
            blocks.dimension(),
            members(density).map(|effect| middle.effects[effect]),
        );
        let priors = of_priors(density, spreads);
        // In the exponent: `-(x - at)' precision (x - at) / 2 + slope' (x - at)`.
        let mut slope = -priors.component_mul(&at);
        let mut precision = Arrow::zeros(0, blocks);
        precision.raise(&priors);
        let curves = likelihoods.curves(&middle.effects, REACH);
        for (curve, (block, own)) in curves.iter().zip(density.edges_in_blocks()) {
            let Some(block) = block else {
                continue;
            };
            let (place, entries) = precision.block_mut(block);
            let (slope, size) = (&mut slope.as_mut_slice()[place.clone()], place.len());
            // A law may bend upwards far out in a tail; priors keep the block's law a law then.
            let bend = (-curve.second).max(0.0);
            for &column in own {
                slope[column] += curve.first;
                for &row in own {
                    entries[row + column * size] += bend;
                }
            }
        }
        let factor = precision.factor()?;
        let mean = at + factor.solve(&slope);
        Some(Self { mean, factor })
    }

    /// Puts the effects of all blocks where independent scores `scores`, block after block, have them.
    pub fn place(&self, scores: &[f64], density: &WearDensity, effects: &mut [f64]) {
        let image = &self.mean + self.factor.spread_out(&DVector::from_column_slice(scores));
        for (effect, value) in members(density).zip(&image) {
            effects[effect] = *value;
        }
    }

    /// The log determinant of all blocks' precisions.
    pub fn log_determinant(&self) -> f64 {
        self.factor.log_determinant()
    }
}

/// The effects of all blocks, one after the other.
fn members(density: &WearDensity) -> impl Iterator<Item = usize> + '_ {
    density.effects().members().iter().flatten().copied()
}

/// The precisions of their priors, which are normal around none.
fn of_priors(density: &WearDensity, spreads: &[f64]) -> DVector<f64> {
    let effects = density.effects();
    let mut precisions = vec![0.0; effects.count()];
    for (grouping, spread) in spreads.iter().enumerate() {
        precisions[effects.of_grouping(grouping)].fill(spread.powi(-2));
    }
    let in_blocks = members(density).map(|effect| precisions[effect]);
    DVector::from_iterator(effects.blocks().dimension(), in_blocks)
}
