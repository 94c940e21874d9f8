//! How likely spreads are: the integral of the nested approximation over everything else.
//!
//! It is asked for some hundred spreads, and the parameters that all edges share know nothing of these: they are
//! integrated out once (Schur complement; Golub and Van Loan, Matrix Computations, 4th edition, section 4.2), which
//! leaves a small matrix of effects to be factored for each. That matrix is dense: thousands of effects keep to the
//! arrow.

use super::Nested;
use crate::wear::density::WearDensity;
use nalgebra::{Cholesky, DMatrix, DVector};

/// So many effects are factored as a dense matrix.
const DENSE: usize = 60;

/// The integral given spreads, whatever they are.
pub(super) struct Integrals<'a> {
    nested: &'a Nested,
    density: &'a WearDensity,
    effects: Option<EffectsAlone>,
}

/// The law of effects, all else integrated out, but for their priors.
struct EffectsAlone {
    precision: DMatrix<f64>,
    /// The linear part of its exponent.
    pull: DVector<f64>,
    /// The log of the integral over what all share.
    log_rest: f64,
}

impl<'a> Integrals<'a> {
    pub fn of(nested: &'a Nested, density: &'a WearDensity) -> Self {
        let few = density.effects().count() <= DENSE;
        Self {
            nested,
            density,
            effects: few.then(|| EffectsAlone::of(nested, density)).flatten(),
        }
    }

    /// The log of the integral given spreads, up to a constant that all spreads have in common; `None` where the
    /// approximation has no top.
    pub fn log_given(&self, spreads: &[f64]) -> Option<f64> {
        let effects = self.density.effects();
        let log_prior = |(grouping, spread): (usize, &f64)| {
            -(effects.of_grouping(grouping).len() as f64) * spread.ln()
        };
        let log_priors: f64 = spreads.iter().enumerate().map(log_prior).sum();
        let log_integral = match &self.effects {
            Some(alone) => alone.log_integral(&self.density.prior_precisions(spreads))?,
            None => self.of_all(spreads)?,
        };
        Some(log_priors + log_integral)
    }

    fn of_all(&self, spreads: &[f64]) -> Option<f64> {
        let law = self.nested.conditional(self.density, spreads)?;
        let exponent = self.nested.pull.dot(&law.mean);
        Some(0.5 * exponent - 0.5 * law.factor.log_determinant())
    }
}

impl EffectsAlone {
    /// `None` where what all share has no top whatever the effects.
    fn of(nested: &Nested, density: &WearDensity) -> Option<Self> {
        let (shared, count) = (density.free().len(), density.effects().count());
        let whole = nested
            .precision_given(density, &vec![f64::INFINITY; nested.priors.len()])
            .to_dense();
        let part = |row, column, rows, columns| whole.view((row, column), (rows, columns));
        let factor = Cholesky::new(part(0, 0, shared, shared).into_owned())?;
        let mut border = part(0, shared, shared, count).into_owned();
        let mut pull = nested.pull.rows(0, shared).into_owned();
        factor.l_dirty().solve_lower_triangular_mut(&mut border);
        factor.l_dirty().solve_lower_triangular_mut(&mut pull);
        Some(Self {
            precision: part(shared, shared, count, count) - border.tr_mul(&border),
            log_rest: 0.5 * pull.norm_squared() - 0.5 * factor.ln_determinant(),
            pull: nested.pull.rows(shared, count) - border.tr_mul(&pull),
        })
    }

    /// The log of the integral with these prior precisions of all coordinates, the effects behind the others.
    fn log_integral(&self, precisions: &DVector<f64>) -> Option<f64> {
        let mut precision = self.precision.clone();
        let of_effects = precisions.iter().skip(precisions.len() - self.pull.len());
        for (place, raise) in of_effects.enumerate() {
            precision[(place, place)] += raise;
        }
        let factor = Cholesky::new(precision)?;
        let mut pull = self.pull.clone();
        factor.l_dirty().solve_lower_triangular_mut(&mut pull);
        Some(self.log_rest + 0.5 * pull.norm_squared() - 0.5 * factor.ln_determinant())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use approx::assert_relative_eq;

    #[test]
    fn effects_alone_have_the_integral_of_all() {
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a top");
        let alone = Integrals::of(&nested, &density);
        assert!(alone.effects.is_some());
        let of_all = Integrals {
            effects: None,
            ..Integrals::of(&nested, &density)
        };
        for spread in [1e-3, 0.05, 0.2, 1.0, 30.0] {
            let [one, other] = [&alone, &of_all].map(|it| it.log_given(&[spread]).expect("a top"));
            assert_relative_eq!(one, other, max_relative = 1e-10);
        }
    }

    /// Data that bend the wrong way along an effect leave no integral at wide spreads, either way.
    #[test]
    fn without_a_top_there_is_no_integral() {
        let density = three_machines();
        let mut nested = Nested::fit(&density).expect("a top");
        let own = density.effects().place(1, density.free().len());
        nested.information.add(own, own, -1e3);
        let alone = Integrals::of(&nested, &density);
        assert!(alone.effects.is_some());
        assert_eq!(alone.log_given(&[1e6]), None);
        assert_eq!(alone.of_all(&[1e6]), None);
    }
}
