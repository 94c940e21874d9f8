//! The normal approximation given spreads, where effects are few.
//!
//! It is asked for under some thousand spreads, and the parameters that all edges share know nothing of these: they are
//! eliminated first, once for many (Schur complement; Golub and Van Loan, Matrix Computations, 4th edition, section
//! 4.2), which leaves a small matrix of effects to be factored for each. That matrix is dense: thousands of effects keep
//! to the arrow, in which they go first.

use super::Nested;
use crate::wear::density::WearDensity;
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// So many effects are factored as a dense matrix.
const DENSE: usize = 60;

/// The law of all coordinates but for the priors of effects.
pub struct SharedApart {
    /// The factor of the shared coordinates' precision, and its log determinant.
    shared: Cholesky<f64, Dyn>,
    log_determinant: f64,
    /// Its inverse times what stands between shared coordinates and effects.
    border: DMatrix<f64>,
    /// Its inverse times the shared coordinates' part of the exponent.
    shared_pull: DVector<f64>,
    /// Of effects, shared coordinates integrated out.
    effects: DMatrix<f64>,
    /// The linear part of its exponent.
    pull: DVector<f64>,
}

/// Where scores lead.
pub struct Reached {
    /// Shared coordinates, then effects.
    pub point: DVector<f64>,
    /// The log of the factor by which volume shrinks from scores to coordinates.
    pub log_shrinkage: f64,
}

impl SharedApart {
    /// `None` where effects are many, or where what all share has no top whatever the effects.
    pub fn of(nested: &Nested, density: &WearDensity) -> Option<Self> {
        let (shared, count) = (density.free().len(), density.effects().count());
        if count > DENSE {
            return None;
        }
        let endless = vec![f64::INFINITY; nested.priors.len()];
        let whole = nested.precision_given(density, &endless).to_dense();
        let part = |row, column, rows, columns| whole.view((row, column), (rows, columns));
        let factor = Cholesky::new(part(0, 0, shared, shared).into_owned())?;
        let mut border = part(0, shared, shared, count).into_owned();
        let mut shared_pull = nested.pull.rows(0, shared).into_owned();
        factor.l_dirty().solve_lower_triangular_mut(&mut border);
        factor
            .l_dirty()
            .solve_lower_triangular_mut(&mut shared_pull);
        Some(Self {
            effects: part(shared, shared, count, count) - border.tr_mul(&border),
            pull: nested.pull.rows(shared, count) - border.tr_mul(&shared_pull),
            log_determinant: factor.ln_determinant(),
            shared: factor,
            border,
            shared_pull,
        })
    }

    /// The log of the integral over all coordinates with these prior precisions of theirs; `None` without a top.
    pub(super) fn log_integral(&self, precisions: &DVector<f64>) -> Option<f64> {
        let (factor, pull) = self.given(precisions)?;
        let squares = self.shared_pull.norm_squared() + pull.norm_squared();
        Some(0.5 * squares + self.log_shrinkage(&factor))
    }

    /// Where independent standard normal scores lead, one for each coordinate, with these prior precisions; `None`
    /// without a top.
    pub fn reached(&self, precisions: &DVector<f64>, scores: &DVector<f64>) -> Option<Reached> {
        let (factor, pull) = self.given(precisions)?;
        let shared = self.shared_pull.len();
        let mut effects = scores.rows(shared, pull.len()) + pull;
        factor.l_dirty().tr_solve_lower_triangular_mut(&mut effects);
        let mut point = DVector::zeros(scores.len());
        let mut top = point.rows_mut(0, shared);
        top.copy_from(&(scores.rows(0, shared) + &self.shared_pull));
        top.gemv(-1.0, &self.border, &effects, 1.0);
        self.shared
            .l_dirty()
            .tr_solve_lower_triangular_mut(&mut top);
        point.rows_mut(shared, effects.len()).copy_from(&effects);
        Some(Reached {
            point,
            log_shrinkage: self.log_shrinkage(&factor),
        })
    }

    /// The factor of the effects' precision, and its inverse times their part of the exponent.
    fn given(&self, precisions: &DVector<f64>) -> Option<(Cholesky<f64, Dyn>, DVector<f64>)> {
        let mut effects = self.effects.clone();
        for (place, raise) in precisions.iter().skip(self.shared_pull.len()).enumerate() {
            effects[(place, place)] += raise;
        }
        let factor = Cholesky::new(effects)?;
        let mut pull = self.pull.clone();
        factor.l_dirty().solve_lower_triangular_mut(&mut pull);
        Some((factor, pull))
    }

    fn log_shrinkage(&self, effects: &Cholesky<f64, Dyn>) -> f64 {
        -0.5 * (self.log_determinant + effects.ln_determinant())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use approx::assert_relative_eq;

    /// Scores lead where the law of the whole precision has them: about its mean, as its inverse has them spread.
    #[test]
    fn scores_are_spread_as_the_whole_law_has_it() {
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a top");
        let apart = SharedApart::of(&nested, &density).expect("a top");
        for spread in [0.03, 0.2, 2.0] {
            let law = nested.conditional(&density, &[spread]).expect("a top");
            let whole = nested.precision_given(&density, &[spread]).to_dense();
            let precisions = density.prior_precisions(&[spread]);
            let reached =
                |scores: &DVector<f64>| apart.reached(&precisions, scores).expect("a top");
            let count = whole.nrows();
            let none = reached(&DVector::zeros(count));
            assert_relative_eq!(none.point, law.mean, max_relative = 1e-9, epsilon = 1e-9);
            let log_volume = -0.5 * law.factor.log_determinant();
            assert_relative_eq!(none.log_shrinkage, log_volume, max_relative = 1e-10);
            let unit = |own: usize| DVector::from_fn(count, |i, _| f64::from(u8::from(i == own)));
            let images: Vec<_> = (0..count)
                .map(|own| reached(&unit(own)).point - &none.point)
                .collect();
            let images = DMatrix::from_columns(&images);
            let inverse = whole.try_inverse().expect("regular");
            let spread = &images * images.transpose();
            assert_relative_eq!(spread, inverse, max_relative = 1e-8, epsilon = 1e-10);
        }
    }
}
