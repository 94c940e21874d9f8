//! The Cholesky factor of an arrow, block by block.

use super::{Arrow, Block, Blocks};
use crate::numerics::newton::Factor;
use nalgebra::{Cholesky, DMatrix, DVector, DVectorView, Dyn};
use std::ops::Range;
use std::sync::Arc;

/// The Cholesky factor of a positive definite [`Arrow`].
#[derive(Debug, Clone)]
pub struct ArrowFactor {
    corner: Cholesky<f64, Dyn>,
    factors: Vec<BlockFactor>,
    blocks: Arc<Blocks>,
}

/// What is left of a block once it has been eliminated.
#[derive(Debug, Clone)]
struct BlockFactor {
    /// The lower factor of the block; nothing above its diagonal counts.
    lower: DMatrix<f64>,
    /// Its inverse times the mirrored border.
    pull: DMatrix<f64>,
}

impl BlockFactor {
    fn of(block: Block) -> Option<Self> {
        let lower = Cholesky::new(block.own)?.unpack_dirty();
        let mut pull = block.border.transpose();
        lower.solve_lower_triangular_mut(&mut pull);
        Some(Self { lower, pull })
    }

    /// `L^-1 x`.
    fn forward(&self, x: DVectorView<f64>) -> DVector<f64> {
        let mut x = x.into_owned();
        // The factor has no zero on its diagonal, so that neither this nor the next can fail.
        self.lower.solve_lower_triangular_mut(&mut x);
        x
    }

    /// `L^-T (y - pull top)`.
    fn backward(&self, mut y: DVector<f64>, top: &DVector<f64>) -> DVector<f64> {
        y.gemv(-1.0, &self.pull, top, 1.0);
        self.lower.tr_solve_lower_triangular_mut(&mut y);
        y
    }
}

impl Arrow {
    /// Its factor; `None` where it is not positive definite.
    pub fn factor(self) -> Option<ArrowFactor> {
        let mut corner = self.corner;
        let mut factors = Vec::with_capacity(self.parts.len());
        for block in self.parts {
            let factor = BlockFactor::of(block)?;
            // The factor of the corner reads its lower half only.
            for row in factor.pull.row_iter() {
                let row = row.transpose();
                corner.syger(-1.0, &row, &row, 1.0);
            }
            factors.push(factor);
        }
        Some(ArrowFactor {
            corner: Cholesky::new(corner)?,
            factors,
            blocks: self.blocks,
        })
    }
}

impl ArrowFactor {
    /// The log of the determinant.
    pub fn log_determinant(&self) -> f64 {
        let diagonals = self.factors.iter().map(|factor| factor.lower.diagonal());
        let logs = diagonals.map(|lower| lower.iter().map(|x| x.ln()).sum::<f64>());
        2.0 * logs.sum::<f64>() + self.corner.ln_determinant()
    }

    /// From independent standard normal scores a vector whose covariance is the inverse.
    pub fn spread_out(&self, scores: &DVector<f64>) -> DVector<f64> {
        let mut image = scores.clone();
        let mut top = self.top(scores);
        self.corner
            .l_dirty()
            .tr_solve_lower_triangular_mut(&mut top);
        for (factor, own) in self.factors() {
            let scores = image.rows_range(own.clone()).into_owned();
            let bottom = factor.backward(scores, &top);
            image.rows_range_mut(own).copy_from(&bottom);
        }
        image.rows_mut(0, top.len()).copy_from(&top);
        image
    }

    /// The transpose of [`ArrowFactor::spread_out`]: from slopes by its image to slopes by the scores.
    pub fn gather_back(&self, slopes: &DVector<f64>) -> DVector<f64> {
        let (mut image, mut top) = self.eliminated(slopes);
        self.corner.l_dirty().solve_lower_triangular_mut(&mut top);
        image.rows_mut(0, top.len()).copy_from(&top);
        image
    }

    /// The blocks' part of the forward solution, and what it leaves of the corner's right side.
    fn eliminated(&self, right: &DVector<f64>) -> (DVector<f64>, DVector<f64>) {
        let mut image = right.clone();
        let mut top = self.top(right);
        for (factor, own) in self.factors() {
            let y = factor.forward(right.rows_range(own.clone()));
            top.gemv_tr(-1.0, &factor.pull, &y, 1.0);
            image.rows_range_mut(own).copy_from(&y);
        }
        (image, top)
    }

    fn top(&self, x: &DVector<f64>) -> DVector<f64> {
        x.rows(0, self.corner.l_dirty().nrows()).into_owned()
    }

    /// Each block's factor with its coordinates.
    fn factors(&self) -> impl Iterator<Item = (&BlockFactor, Range<usize>)> {
        let corner = self.corner.l_dirty().nrows();
        let ranges = self.blocks.ranges();
        let ranges = ranges.map(move |own| corner + own.start..corner + own.end);
        self.factors.iter().zip(ranges)
    }
}

impl Factor for ArrowFactor {
    fn solve(&self, right: &DVector<f64>) -> DVector<f64> {
        let (mut image, mut top) = self.eliminated(right);
        self.corner.solve_mut(&mut top);
        for (factor, own) in self.factors() {
            let y = image.rows_range(own.clone()).into_owned();
            let x = factor.backward(y, &top);
            image.rows_range_mut(own).copy_from(&x);
        }
        image.rows_mut(0, top.len()).copy_from(&top);
        image
    }
}
