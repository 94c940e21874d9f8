//! The Cholesky factor of an arrow, block by block.

use super::{Arrow, Blocks};
use crate::numerics::newton::Factor;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use std::sync::Arc;

/// The Cholesky factor of a positive definite [`Arrow`].
#[derive(Debug, Clone)]
pub struct ArrowFactor {
    corner: Cholesky<f64, Dyn>,
    /// The border times the inverse of the blocks' factors, mirrored.
    pull: DMatrix<f64>,
    /// The lower factors of the blocks, one after the other, column by column; nothing above a diagonal counts.
    lower: Vec<f64>,
    blocks: Arc<Blocks>,
}

/// Slopes by one entry of a matrix's diagonal: see [`ArrowFactor::by_diagonal`].
#[derive(Debug, Clone, Copy, Default)]
pub struct ByDiagonal {
    /// Of the image along some slopes.
    pub image: f64,
    /// Of the log of the volume.
    pub log_volume: f64,
}

impl Arrow {
    /// Its factor; `None` where it is not positive definite.
    pub fn factor(self) -> Option<ArrowFactor> {
        let (mut pull, mut lower, mut corner) = (self.border, self.own, self.corner);
        let rows = corner.nrows();
        for (own, entries) in self.blocks.ranges().zip(self.blocks.entries()) {
            let lower = &mut lower[entries];
            factor_in_place(lower, own.len())?;
            let columns = &mut pull.as_mut_slice()[own.start * rows..own.end * rows];
            pulled(columns, rows, lower, own.len());
        }
        corner.gemm(-1.0, &pull, &pull.transpose(), 1.0);
        Some(ArrowFactor {
            corner: Cholesky::new(corner)?,
            pull,
            lower,
            blocks: self.blocks,
        })
    }
}

/// Columns of `rows` numbers each, one for each column of a block's lower factor, times the inverse of that factor,
/// mirrored.
fn pulled(columns: &mut [f64], rows: usize, lower: &[f64], size: usize) {
    for column in 0..size {
        let (earlier, later) = columns.split_at_mut(column * rows);
        let later = &mut later[..rows];
        for (before, earlier) in earlier.chunks_exact(rows.max(1)).enumerate() {
            let entry = lower[column + before * size];
            for (later, earlier) in later.iter_mut().zip(earlier) {
                *later -= entry * earlier;
            }
        }
        let diagonal = lower[column + column * size];
        later.iter_mut().for_each(|later| *later /= diagonal);
    }
}

/// The lower Cholesky factor of a small matrix, column by column; `None` where it is not positive definite.
fn factor_in_place(matrix: &mut [f64], size: usize) -> Option<()> {
    for column in 0..size {
        for row in column..size {
            let product = |k: usize| matrix[row + k * size] * matrix[column + k * size];
            let rest = matrix[row + column * size] - (0..column).map(product).sum::<f64>();
            matrix[row + column * size] = if row > column {
                rest / matrix[column + column * size]
            } else if rest > 0.0 {
                rest.sqrt()
            } else {
                return None;
            };
        }
    }
    Some(())
}

impl ArrowFactor {
    /// The log of the determinant.
    pub fn log_determinant(&self) -> f64 {
        let sizes = self.blocks.ranges().map(|own| own.len());
        let of_block = |(size, entries): (usize, std::ops::Range<usize>)| -> f64 {
            let diagonal = self.lower[entries].iter().step_by(size + 1);
            diagonal.map(|x| x.ln()).sum()
        };
        let blocks: f64 = sizes.zip(self.blocks.entries()).map(of_block).sum();
        2.0 * blocks + self.log_determinant_of_corner()
    }

    /// The log of the determinant of the corner, the blocks integrated out.
    pub fn log_determinant_of_corner(&self) -> f64 {
        self.corner.ln_determinant()
    }

    /// From independent standard normal scores a vector whose covariance is the inverse.
    pub fn spread_out(&self, scores: &DVector<f64>) -> DVector<f64> {
        let mut image = scores.clone();
        let mut top = image.rows_mut(0, self.corner_size());
        self.corner
            .l_dirty()
            .tr_solve_lower_triangular_mut(&mut top);
        self.backward(&mut image);
        image
    }

    /// The corner of the inverse.
    pub fn corner_of_inverse(&self) -> DMatrix<f64> {
        self.corner.inverse()
    }

    /// The variance, under the inverse as covariance, of `corner` times the corner's coordinates plus one coordinate
    /// behind it, which is counted from the first block's first.
    pub fn variance_of(&self, corner: &DVector<f64>, coordinate: usize) -> f64 {
        let mut left = corner.clone();
        let mut own_variance = 0.0;
        // Only its own block pulls.
        for (row, unit) in self.unit_in_block(coordinate) {
            own_variance += unit * unit;
            left.axpy(-unit, &self.pull.column(row), 1.0);
        }
        own_variance + left.dot(&self.corner.solve(&left))
    }

    /// The unit vector of a coordinate behind the corner, over its block's factor: the entries from that coordinate on.
    fn unit_in_block(&self, coordinate: usize) -> Vec<(usize, f64)> {
        let (own, entries) = self.blocks.range(self.blocks.find(coordinate));
        let (size, lower) = (own.len(), &self.lower[entries]);
        let mut unit: Vec<(usize, f64)> = Vec::with_capacity(own.end - coordinate);
        for row in coordinate - own.start..size {
            let one = f64::from(own.start + row == coordinate);
            let known = unit
                .iter()
                .map(|(k, unit)| lower[row + (k - own.start) * size] * unit);
            let left = one - known.sum::<f64>();
            unit.push((own.start + row, left / lower[row + row * size]));
        }
        unit
    }

    /// How two things change with one entry of the diagonal: `slopes` times the image of [`ArrowFactor::spread_out`] of
    /// `scores`, where `gathered` is [`ArrowFactor::gather_back`] of these slopes; and the log of the volume of that
    /// image, which is minus half the log determinant.
    ///
    /// With `R` the factor, the derivative of `R` is `R phi(v v')`, where `v` is the coordinate's column of the inverse
    /// of `R` and `phi` takes the lower half, and half of the diagonal (Murray, Differentiation of the Cholesky
    /// decomposition, 2016).
    pub fn by_diagonal(
        &self,
        coordinate: usize,
        scores: &DVector<f64>,
        gathered: &DVector<f64>,
    ) -> ByDiagonal {
        let corner = self.corner_size();
        let mut top = DVector::zeros(corner);
        let mut by = ByDiagonal::default();
        // What the entries so far have of the slopes: blocks come before the corner.
        let mut before = 0.0;
        let mut add = |place: usize, v: f64| {
            let own = v * gathered[place];
            by.image -= v * scores[place] * (before + 0.5 * own);
            by.log_volume -= 0.5 * v * v;
            before += own;
        };
        match coordinate.checked_sub(corner) {
            None => top[coordinate] = 1.0,
            Some(behind) => {
                for (row, unit) in self.unit_in_block(behind) {
                    add(corner + row, unit);
                    top.axpy(-unit, &self.pull.column(row), 1.0);
                }
            }
        }
        self.corner.l_dirty().solve_lower_triangular_mut(&mut top);
        for (place, v) in top.iter().enumerate() {
            add(place, *v);
        }
        by
    }

    /// The transpose of [`ArrowFactor::spread_out`]: from slopes by its image to slopes by the scores.
    pub fn gather_back(&self, slopes: &DVector<f64>) -> DVector<f64> {
        let mut image = slopes.clone();
        self.forward(&mut image);
        let mut top = image.rows_mut(0, self.corner_size());
        self.corner.l_dirty().solve_lower_triangular_mut(&mut top);
        image
    }

    fn corner_size(&self) -> usize {
        self.pull.nrows()
    }

    /// Solves with the blocks' factors and takes what they pull off the corner's right side.
    fn forward(&self, right: &mut DVector<f64>) {
        let corner = self.corner_size();
        for (own, entries) in self.blocks.ranges().zip(self.blocks.entries()) {
            let (size, lower) = (own.len(), &self.lower[entries]);
            let right = &mut right.as_mut_slice()[corner + own.start..corner + own.end];
            for row in 0..size {
                let known = (0..row).map(|k| lower[row + k * size] * right[k]);
                right[row] = (right[row] - known.sum::<f64>()) / lower[row + row * size];
            }
        }
        let below = right.rows(corner, self.pull.ncols()).into_owned();
        right
            .rows_mut(0, corner)
            .gemv(-1.0, &self.pull, &below, 1.0);
    }

    /// Takes what the corner pulls off the blocks' right sides and solves with their mirrored factors.
    fn backward(&self, right: &mut DVector<f64>) {
        let corner = self.corner_size();
        let top = right.rows(0, corner).into_owned();
        right
            .rows_mut(corner, self.pull.ncols())
            .gemv_tr(-1.0, &self.pull, &top, 1.0);
        for (own, entries) in self.blocks.ranges().zip(self.blocks.entries()) {
            let (size, lower) = (own.len(), &self.lower[entries]);
            let right = &mut right.as_mut_slice()[corner + own.start..corner + own.end];
            for row in (0..size).rev() {
                let known = (row + 1..size).map(|k| lower[k + row * size] * right[k]);
                right[row] = (right[row] - known.sum::<f64>()) / lower[row + row * size];
            }
        }
    }
}

impl Factor for ArrowFactor {
    fn solve(&self, right: &DVector<f64>) -> DVector<f64> {
        let mut image = right.clone();
        self.forward(&mut image);
        self.corner
            .solve_mut(&mut image.rows_mut(0, self.corner_size()));
        self.backward(&mut image);
        image
    }
}
