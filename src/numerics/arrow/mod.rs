//! Symmetric matrices in the form of an arrow: a dense corner, a border, and blocks that touch nothing but the
//! corner.
//!
//! ```text
//! [ corner   border 1   border 2 ]
//! [   .      block 1             ]
//! [   .                 block 2  ]
//! ```
//!
//! Eliminating the blocks first (Schur complement) makes factor, solution and draws linear in their
//! number (Golub and Van Loan, Matrix Computations, 4th edition, section 4.2).

mod blocks;
mod factor;

use super::newton::Curvature;
pub use blocks::Blocks;
pub use factor::ArrowFactor;
use nalgebra::{DMatrix, DVector};
use std::ops::Range;
use std::sync::Arc;

/// A symmetric matrix in the form of an arrow. Vectors hold the corner's coordinates first, then those of the
/// blocks.
#[derive(Debug, Clone)]
pub struct Arrow {
    corner: DMatrix<f64>,
    /// A row for each coordinate of the corner, a column for each of the blocks.
    border: DMatrix<f64>,
    /// The blocks, one after the other, each column by column.
    own: Vec<f64>,
    blocks: Arc<Blocks>,
}

/// One block with its border.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// A row for each coordinate of the corner, a column for each of the block.
    pub border: DMatrix<f64>,
    /// The block itself.
    pub own: DMatrix<f64>,
}

impl Arrow {
    /// All zero.
    pub fn zeros(corner: usize, blocks: &Arc<Blocks>) -> Self {
        Self {
            corner: DMatrix::zeros(corner, corner),
            border: DMatrix::zeros(corner, blocks.dimension()),
            own: vec![0.0; blocks.all_entries()],
            blocks: Arc::clone(blocks),
        }
    }

    /// Of its parts, one for each of the blocks; `None` where their sizes do not fit.
    pub fn of(corner: DMatrix<f64>, parts: &[Block], blocks: &Arc<Blocks>) -> Option<Self> {
        let fits = |part: &Block, size: usize| {
            part.own.shape() == (size, size) && part.border.shape() == (corner.nrows(), size)
        };
        let mut sizes = parts.iter().zip(blocks.ranges());
        let fit = corner.is_square()
            && parts.len() == blocks.len()
            && sizes.all(|(part, own)| fits(part, own.len()));
        let all = |of: fn(&Block) -> &DMatrix<f64>| parts.iter().flat_map(move |it| of(it).iter());
        fit.then(|| Self {
            border: DMatrix::from_iterator(
                corner.nrows(),
                blocks.dimension(),
                all(|part| &part.border).copied(),
            ),
            own: all(|part| &part.own).copied().collect(),
            corner,
            blocks: Arc::clone(blocks),
        })
    }

    /// The corner.
    pub fn corner(&self) -> &DMatrix<f64> {
        &self.corner
    }

    /// The blocks.
    pub fn parts(&self) -> impl Iterator<Item = Block> + '_ {
        let ranges = self.blocks.ranges().zip(self.blocks.entries());
        ranges.map(|(own, entries)| Block {
            own: DMatrix::from_column_slice(own.len(), own.len(), &self.own[entries]),
            border: self.border.columns_range(own).into_owned(),
        })
    }

    fn dimension(&self) -> usize {
        self.corner.nrows() + self.blocks.dimension()
    }

    /// Adds `amount` at (`i`, `j`). Between two blocks there is no room and it is dropped: no edge of a fit lies
    /// there, but one that is asked about may, whose second derivatives nobody uses.
    pub fn add(&mut self, i: usize, j: usize, amount: f64) {
        let corner = self.corner.nrows();
        match (i.checked_sub(corner), j.checked_sub(corner)) {
            (None, None) => self.corner[(i, j)] += amount,
            (None, Some(j)) => self.border[(i, j)] += amount,
            // The mirror image of the border is not kept.
            (Some(_), None) => {}
            (Some(i), Some(j)) => {
                if let Some(entry) = self.blocks.entry(i, j) {
                    self.own[entry] += amount;
                }
            }
        }
    }

    /// Copies what stands above the diagonal to where it stands below.
    pub fn mirror(&mut self) {
        self.corner.fill_lower_triangle_with_upper_triangle();
        for (own, entries) in self.blocks.ranges().zip(self.blocks.entries()) {
            let (size, block) = (own.len(), &mut self.own[entries]);
            for column in 0..size {
                for row in column + 1..size {
                    block[row + column * size] = block[column + row * size];
                }
            }
        }
    }

    /// The coordinates of one block, counted from the first block's first, and its entries, column by column.
    pub fn block_mut(&mut self, block: usize) -> (Range<usize>, &mut [f64]) {
        let (own, entries) = self.blocks.range(block);
        (own, &mut self.own[entries])
    }

    /// Adds to the diagonal.
    pub fn raise(&mut self, diagonal: &DVector<f64>) {
        let corner = self.corner.nrows();
        for (i, raise) in diagonal.iter().take(corner).enumerate() {
            self.corner[(i, i)] += raise;
        }
        for (entry, raise) in self.blocks.diagonal().zip(diagonal.iter().skip(corner)) {
            self.own[entry] += raise;
        }
    }

    /// Adds another matrix of the same shape.
    pub fn add_all(&mut self, other: &Self) {
        self.corner += &other.corner;
        self.border += &other.border;
        for (own, other) in self.own.iter_mut().zip(&other.own) {
            *own += other;
        }
    }

    /// Turns every sign.
    pub fn negate(&mut self) {
        self.corner.neg_mut();
        self.border.neg_mut();
        self.own.iter_mut().for_each(|own| *own = -*own);
    }

    /// Multiplies a row and the column of the same coordinate of the corner.
    pub fn scale(&mut self, coordinate: usize, factor: f64) {
        self.corner.row_mut(coordinate).scale_mut(factor);
        self.corner.column_mut(coordinate).scale_mut(factor);
        self.border.row_mut(coordinate).scale_mut(factor);
    }

    /// With these coordinates of the corner alone.
    pub fn keeping(self, kept: &[usize]) -> Self {
        Self {
            corner: self.corner.select_rows(kept).select_columns(kept),
            border: self.border.select_rows(kept),
            ..self
        }
    }

    /// The product with a vector.
    pub fn times(&self, x: &DVector<f64>) -> DVector<f64> {
        let corner = self.corner.nrows();
        let (upper, lower) = (x.rows(0, corner), x.rows(corner, self.border.ncols()));
        let top = &self.corner * upper + &self.border * lower;
        let mut bottom = self.border.tr_mul(&upper);
        for (part, own) in self.parts().zip(self.blocks.ranges()) {
            let product = &part.own * lower.rows_range(own.clone());
            let mut bottom = bottom.rows_range_mut(own);
            bottom += product;
        }
        let both = top.iter().chain(bottom.iter()).copied();
        DVector::from_iterator(x.len(), both)
    }

    /// The same as a dense matrix.
    pub fn to_dense(&self) -> DMatrix<f64> {
        let corner = self.corner.nrows();
        let mut full = DMatrix::zeros(self.dimension(), self.dimension());
        full.view_mut((0, 0), (corner, corner))
            .copy_from(&self.corner);
        for (part, own) in self.parts().zip(self.blocks.ranges()) {
            let (start, size) = (corner + own.start, own.len());
            full.view_mut((0, start), (corner, size))
                .copy_from(&part.border);
            full.view_mut((start, 0), (size, corner))
                .copy_from(&part.border.transpose());
            full.view_mut((start, start), (size, size))
                .copy_from(&part.own);
        }
        full
    }
}

impl Curvature for Arrow {
    type Factor = ArrowFactor;

    fn is_finite(&self) -> bool {
        let parts = [self.corner.as_slice(), self.border.as_slice(), &self.own];
        parts.iter().all(|part| part.iter().all(|x| x.is_finite()))
    }

    fn diagonal(&self) -> DVector<f64> {
        let corner = self.corner.nrows();
        let top = (0..corner).map(|i| self.corner[(i, i)]);
        let bottom = self.blocks.diagonal().map(|entry| self.own[entry]);
        DVector::from_iterator(self.dimension(), top.chain(bottom))
    }

    fn factor_of_negative(&self, raise: &DVector<f64>) -> Option<ArrowFactor> {
        let mut negative = self.clone();
        negative.negate();
        negative.raise(raise);
        negative.factor()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::newton::Factor;
    use approx::assert_relative_eq;
    use nalgebra::Cholesky;

    /// A corner of two, a block of one and a block of two.
    fn example() -> Arrow {
        let parts = [
            Block {
                border: DMatrix::from_row_slice(2, 1, &[0.3, 0.1]),
                own: DMatrix::from_element(1, 1, 1.5),
            },
            Block {
                border: DMatrix::from_row_slice(2, 2, &[-0.2, 0.5, 0.4, -0.6]),
                own: DMatrix::from_row_slice(2, 2, &[0.8, 0.3, 0.3, 2.5]),
            },
        ];
        let corner = DMatrix::from_row_slice(2, 2, &[3.0, 0.7, 0.7, 2.0]);
        Arrow::of(corner, &parts, &Arc::new(Blocks::of([1, 2]))).expect("parts that fit")
    }

    #[test]
    fn the_arrow_solves_as_the_dense_matrix_does() {
        let right = DVector::from_vec(vec![1.0, -2.0, 0.5, 3.0, -1.0]);
        let dense = example().to_dense();
        let factor = example().factor().expect("positive definite");
        let full = Cholesky::new(dense.clone()).expect("positive definite");
        assert_relative_eq!(
            factor.solve(&right),
            full.solve(&right),
            max_relative = 1e-14
        );
        assert_relative_eq!(
            factor.log_determinant(),
            full.ln_determinant(),
            max_relative = 1e-14
        );
        assert_relative_eq!(
            example().times(&right),
            &dense * &right,
            max_relative = 1e-14
        );
    }

    #[test]
    fn spread_out_scores_have_the_inverse_as_covariance() {
        let factor = example().factor().expect("positive definite");
        let images = DMatrix::from_columns(
            &(0..5)
                .map(|i| {
                    factor.spread_out(&DVector::from_fn(5, |j, _| f64::from(u8::from(i == j))))
                })
                .collect::<Vec<_>>(),
        );
        let inverse = example().to_dense().try_inverse().expect("regular");
        assert_relative_eq!(&images * images.transpose(), inverse, max_relative = 1e-13);
    }

    #[test]
    fn slopes_by_the_diagonal_agree_with_differences() {
        let scores = DVector::from_vec(vec![0.4, -1.1, 0.7, 1.6, -0.3]);
        let slopes = DVector::from_vec(vec![1.2, 0.5, -0.8, 0.3, 2.0]);
        let raised = |coordinate: usize, amount: f64| {
            let mut raise = DVector::zeros(5);
            raise[coordinate] = amount;
            let mut matrix = example();
            matrix.raise(&raise);
            let factor = matrix.factor().expect("positive definite");
            let image = slopes.dot(&factor.spread_out(&scores));
            (image, -0.5 * factor.log_determinant())
        };
        let factor = example().factor().expect("positive definite");
        let gathered = factor.gather_back(&slopes);
        for coordinate in 0..5 {
            let by = factor.by_diagonal(coordinate, &scores, &gathered);
            let [above, below] = [1e-5, -1e-5].map(|step| raised(coordinate, step));
            assert_relative_eq!(by.image, (above.0 - below.0) / 2e-5, epsilon = 1e-8);
            assert_relative_eq!(by.log_volume, (above.1 - below.1) / 2e-5, epsilon = 1e-8);
        }
    }

    #[test]
    fn variances_are_those_of_the_dense_inverse() {
        let inverse = example().to_dense().try_inverse().expect("regular");
        let factor = example().factor().expect("positive definite");
        let corner = DVector::from_vec(vec![0.7, -1.3]);
        for coordinate in 0..3 {
            let mut of = DVector::zeros(5);
            of.rows_mut(0, 2).copy_from(&corner);
            of[2 + coordinate] = 1.0;
            let dense = of.dot(&(&inverse * &of));
            let ours = factor.variance_of(&corner, coordinate);
            assert_relative_eq!(ours, dense, max_relative = 1e-13);
        }
        let corner = inverse.view((0, 0), (2, 2)).into_owned();
        assert_relative_eq!(factor.corner_of_inverse(), corner, max_relative = 1e-13);
    }

    #[test]
    fn gathering_back_is_the_transpose_of_spreading_out() {
        let factor = example().factor().expect("positive definite");
        let (x, y) = (
            DVector::from_vec(vec![1.0, -2.0, 0.5, 3.0, -1.0]),
            DVector::from_vec(vec![0.2, 0.7, -1.5, 0.4, 2.0]),
        );
        let there = factor.spread_out(&x).dot(&y);
        assert_relative_eq!(there, x.dot(&factor.gather_back(&y)), max_relative = 1e-14);
    }

    #[test]
    fn an_arrow_that_is_not_positive_definite_has_no_factor() {
        let mut arrow = example();
        arrow.own[1] = 0.01;
        assert!(arrow.factor().is_none());
    }

    #[test]
    fn entries_that_are_added_stand_where_the_dense_matrix_has_them() {
        let mut arrow = Arrow::zeros(2, &Arc::new(Blocks::of([1, 2])));
        let dense = example().to_dense();
        for i in 0..5 {
            for j in 0..5 {
                if dense[(i, j)] != 0.0 {
                    arrow.add(i, j, dense[(i, j)]);
                }
            }
        }
        assert_eq!(arrow.to_dense(), dense);
        arrow.add(2, 3, 1.0);
        assert_eq!(arrow.to_dense(), dense);
        arrow.scale(1, -0.5);
        assert_eq!(arrow.to_dense()[(3, 1)], -0.5 * dense[(3, 1)]);
        assert_eq!(arrow.to_dense()[(1, 1)], 0.25 * dense[(1, 1)]);
        assert_eq!(
            example().keeping(&[1]).to_dense(),
            dense.remove_row(0).remove_column(0)
        );
    }
}
