//! The normal law of each block of group effects, given everything else.
//!
//! The nested approximation is expanded once for all draws. That leaves a small error in every block, and those of a
//! fleet's hundreds of blocks add up until one draw outweighs the rest. Here every edge's log-likelihood is followed
//! along its log life at the shared parameters of the draw at hand: a parabola, through three places as far apart as
//! effects are unsure or by the derivatives where those come free, makes each block's law normal with a mean and a
//! spread of its own.

use crate::wear::density::{Parameters, WearDensity};
use crate::wear::likelihood::AtShared;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// How far the outer places lie from the middle one on the scale of log life. Basis: with some tens of edges the
/// effects of a machine and of a set are known to within some 5 to 15 %.
const REACH: f64 = 0.1;

/// The laws of all blocks.
pub(super) struct BlockLaws(Vec<BlockLaw>);

struct BlockLaw {
    mean: DVector<f64>,
    /// The factor of its precision.
    factor: Cholesky<f64, Dyn>,
}

/// What stands in the exponent of one block's law: `-(x - middle)' precision (x - middle) / 2 + slope' (x - middle)`.
struct Exponent {
    precision: DMatrix<f64>,
    slope: DVector<f64>,
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
        let mut exponents = of_priors(density, middle, spreads);
        let curves = likelihoods.curves(&middle.effects, REACH);
        for (curve, (block, own)) in curves.zip(density.edges_in_blocks()) {
            let Some(exponent) = block.and_then(|block| exponents.get_mut(block)) else {
                continue;
            };
            // A law may bend upwards far out in a tail; priors keep the block's law a law then.
            let (slope, bend) = (curve.first, (-curve.second).max(0.0));
            for row in own.clone() {
                exponent.slope[row] += slope;
                for column in own.clone() {
                    exponent.precision[(row, column)] += bend;
                }
            }
        }
        let members = density.effects().members();
        let laws = exponents
            .into_iter()
            .zip(members)
            .map(|(exponent, members)| {
                let factor = Cholesky::new(exponent.precision)?;
                let middle = members.iter().map(|&effect| middle.effects[effect]);
                let middle = DVector::from_iterator(members.len(), middle);
                let mean = middle + factor.solve(&exponent.slope);
                Some(BlockLaw { mean, factor })
            });
        laws.collect::<Option<Vec<_>>>().map(Self)
    }

    /// Puts the effects of all blocks where independent scores `scores`, block after block, have them.
    pub fn place(&self, scores: &[f64], density: &WearDensity, effects: &mut [f64]) {
        let blocks = density.effects().blocks().ranges();
        let members = density.effects().members();
        for ((law, own), members) in self.0.iter().zip(blocks).zip(members) {
            let mut image = DVector::from_column_slice(&scores[own]);
            law.factor
                .l_dirty()
                .tr_solve_lower_triangular_mut(&mut image);
            image += &law.mean;
            for (&effect, value) in members.iter().zip(&image) {
                effects[effect] = *value;
            }
        }
    }

    /// The log determinant of all blocks' precisions.
    pub fn log_determinant(&self) -> f64 {
        let laws = self.0.iter();
        laws.map(|law| law.factor.ln_determinant()).sum()
    }
}

/// The priors of effects, which are normal around none.
fn of_priors(density: &WearDensity, middle: &Parameters, spreads: &[f64]) -> Vec<Exponent> {
    let effects = density.effects();
    let mut precisions = vec![0.0; effects.count()];
    for (grouping, spread) in spreads.iter().enumerate() {
        precisions[effects.of_grouping(grouping)].fill(spread.powi(-2));
    }
    let members = effects.members().iter();
    let exponent = |members: &Vec<usize>| {
        let own = members.iter().map(|&effect| precisions[effect]);
        let precision = DVector::from_iterator(members.len(), own);
        let pulls = members.iter().zip(&precision);
        let pulls = pulls.map(|(&effect, precision)| -precision * middle.effects[effect]);
        Exponent {
            slope: DVector::from_iterator(members.len(), pulls),
            precision: DMatrix::from_diagonal(&precision),
        }
    };
    members.map(exponent).collect()
}
