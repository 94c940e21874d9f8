//! Symmetric matrices in the form of an arrow: a dense corner, a border, and a diagonal of leaves.
//!
//! ```text
//! [ dense    border ]
//! [ border'  leaves ]        leaves diagonal
//! ```
//!
//! Eliminating the leaves first (Schur complement) makes factor, solution and draws linear in their
//! number (Golub and Van Loan, Matrix Computations, 4th edition, section 4.2).

use super::newton::{Curvature, Factor};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// A symmetric matrix in the form of an arrow. Vectors hold the dense part first, then the leaves.
#[derive(Debug, Clone)]
pub struct Arrow {
    /// The dense corner.
    pub dense: DMatrix<f64>,
    /// One column a leaf.
    pub border: DMatrix<f64>,
    /// The diagonal of the leaves.
    pub leaves: DVector<f64>,
}

/// The Cholesky factor of a positive definite [`Arrow`].
#[derive(Debug, Clone)]
pub struct ArrowFactor {
    border: DMatrix<f64>,
    leaves: DVector<f64>,
    corner: Cholesky<f64, Dyn>,
}

impl Arrow {
    /// All zero.
    pub fn zeros(dense: usize, leaves: usize) -> Self {
        Self {
            dense: DMatrix::zeros(dense, dense),
            border: DMatrix::zeros(dense, leaves),
            leaves: DVector::zeros(leaves),
        }
    }

    /// Adds `amount` at (`i`, `j`), which must not lie between two leaves.
    pub fn add(&mut self, i: usize, j: usize, amount: f64) {
        let dense = self.dense.nrows();
        match (i < dense, j < dense) {
            (true, true) => self.dense[(i, j)] += amount,
            (true, false) => self.border[(i, j - dense)] += amount,
            // The mirror image of the border is not kept.
            (false, true) => {}
            (false, false) => {
                debug_assert_eq!(i, j, "an edge belongs to one leaf");
                self.leaves[i - dense] += amount;
            }
        }
    }

    /// Adds another matrix of the same shape.
    pub fn add_all(&mut self, other: &Self) {
        self.dense += &other.dense;
        self.border += &other.border;
        self.leaves += &other.leaves;
    }

    /// Turns every sign.
    pub fn negate(&mut self) {
        self.dense.neg_mut();
        self.border.neg_mut();
        self.leaves.neg_mut();
    }

    /// The product with a vector.
    pub fn times(&self, x: &DVector<f64>) -> DVector<f64> {
        let dense = self.dense.nrows();
        let (upper, lower) = (x.rows(0, dense), x.rows(dense, self.leaves.len()));
        let top = &self.dense * upper + &self.border * lower;
        let bottom = self.border.tr_mul(&upper) + self.leaves.component_mul(&lower);
        stack(&top, &bottom)
    }

    /// The same as a dense matrix.
    pub fn to_dense(&self) -> DMatrix<f64> {
        let (dense, leaves) = (self.dense.nrows(), self.leaves.len());
        let mut full = DMatrix::zeros(dense + leaves, dense + leaves);
        full.view_mut((0, 0), (dense, dense)).copy_from(&self.dense);
        full.view_mut((0, dense), (dense, leaves))
            .copy_from(&self.border);
        full.view_mut((dense, 0), (leaves, dense))
            .copy_from(&self.border.transpose());
        for leaf in 0..leaves {
            full[(dense + leaf, dense + leaf)] = self.leaves[leaf];
        }
        full
    }

    /// Its factor; `None` where it is not positive definite.
    pub fn factor(self) -> Option<ArrowFactor> {
        if !self.leaves.iter().all(|leaf| *leaf > 0.0) {
            return None;
        }
        let mut scaled = self.border.clone();
        for (mut column, leaf) in scaled.column_iter_mut().zip(self.leaves.iter()) {
            column /= *leaf;
        }
        let corner = Cholesky::new(self.dense - &scaled * self.border.transpose())?;
        Some(ArrowFactor {
            border: self.border,
            leaves: self.leaves,
            corner,
        })
    }
}

fn stack(top: &DVector<f64>, bottom: &DVector<f64>) -> DVector<f64> {
    DVector::from_iterator(
        top.len() + bottom.len(),
        top.iter().chain(bottom.iter()).copied(),
    )
}

impl ArrowFactor {
    /// The log of the determinant.
    pub fn log_determinant(&self) -> f64 {
        let leaves: f64 = self.leaves.iter().map(|leaf| leaf.ln()).sum();
        leaves + self.corner.ln_determinant()
    }

    /// From independent standard normal scores a vector whose covariance is the inverse.
    pub fn spread_out(&self, scores: &DVector<f64>) -> DVector<f64> {
        let dense = self.corner.l_dirty().nrows();
        let mut top: DVector<f64> = scores.rows(0, dense).into_owned();
        // The factor has no zero on its diagonal, so that this cannot fail.
        self.corner
            .l_dirty()
            .tr_solve_lower_triangular_mut(&mut top);
        let pull = self.border.tr_mul(&top);
        let bottom = DVector::from_fn(self.leaves.len(), |leaf, _| {
            scores[dense + leaf] / self.leaves[leaf].sqrt() - pull[leaf] / self.leaves[leaf]
        });
        stack(&top, &bottom)
    }

    /// The transpose of [`ArrowFactor::spread_out`]: from slopes by its image to slopes by the scores.
    pub fn gather_back(&self, slopes: &DVector<f64>) -> DVector<f64> {
        let dense = self.corner.l_dirty().nrows();
        let lower = slopes.rows(dense, self.leaves.len());
        let pull = &self.border * lower.component_div(&self.leaves);
        let mut top: DVector<f64> = slopes.rows(0, dense) - pull;
        self.corner.l_dirty().solve_lower_triangular_mut(&mut top);
        let bottom = DVector::from_fn(self.leaves.len(), |leaf, _| {
            lower[leaf] / self.leaves[leaf].sqrt()
        });
        stack(&top, &bottom)
    }
}

impl Factor for ArrowFactor {
    fn solve(&self, right: &DVector<f64>) -> DVector<f64> {
        let dense = self.corner.l_dirty().nrows();
        let lower = right
            .rows(dense, self.leaves.len())
            .component_div(&self.leaves);
        let top = self
            .corner
            .solve(&(right.rows(0, dense) - &self.border * &lower));
        let bottom = lower - self.border.tr_mul(&top).component_div(&self.leaves);
        stack(&top, &bottom)
    }
}

impl Curvature for Arrow {
    type Factor = ArrowFactor;

    fn is_finite(&self) -> bool {
        let blocks = [
            self.dense.as_slice(),
            self.border.as_slice(),
            self.leaves.as_slice(),
        ];
        blocks
            .iter()
            .all(|block| block.iter().all(|x| x.is_finite()))
    }

    fn diagonal(&self) -> DVector<f64> {
        stack(&self.dense.diagonal(), &self.leaves)
    }

    fn factor_of_negative(&self, raise: &DVector<f64>) -> Option<ArrowFactor> {
        let dense = self.dense.nrows();
        let mut negative = Self {
            dense: -&self.dense,
            border: -&self.border,
            leaves: -&self.leaves + raise.rows(dense, self.leaves.len()),
        };
        for i in 0..dense {
            negative.dense[(i, i)] += raise[i];
        }
        negative.factor()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn example() -> Arrow {
        let border = DMatrix::from_row_slice(2, 3, &[0.3, -0.2, 0.5, 0.1, 0.4, -0.6]);
        Arrow {
            dense: DMatrix::from_row_slice(2, 2, &[3.0, 0.7, 0.7, 2.0]),
            border,
            leaves: DVector::from_vec(vec![1.5, 0.8, 2.5]),
        }
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
        arrow.leaves[1] = 0.01;
        assert!(arrow.factor().is_none());
    }
}
