//! How likely spreads are: the integral of the nested approximation over everything else.

use super::Nested;
use super::shared_apart::SharedApart;
use crate::wear::density::WearDensity;

/// The integral given spreads, whatever they are.
pub(super) struct Integrals<'a> {
    nested: &'a Nested,
    density: &'a WearDensity,
    /// Where effects are few.
    apart: Option<SharedApart>,
}

impl<'a> Integrals<'a> {
    pub fn of(nested: &'a Nested, density: &'a WearDensity) -> Self {
        Self {
            nested,
            density,
            apart: SharedApart::of(nested, density),
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
        let log_integral = match &self.apart {
            Some(apart) => apart.log_integral(&self.density.prior_precisions(spreads))?,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::nuts::tests::three_machines;
    use approx::assert_relative_eq;

    #[test]
    fn shared_coordinates_apart_leave_the_integral_as_it_is() {
        let density = three_machines();
        let nested = Nested::fit(&density).expect("a top");
        let apart = Integrals::of(&nested, &density);
        assert!(apart.apart.is_some());
        let of_all = Integrals {
            apart: None,
            ..Integrals::of(&nested, &density)
        };
        for spread in [1e-3, 0.05, 0.2, 1.0, 30.0] {
            let [one, other] = [&apart, &of_all].map(|it| it.log_given(&[spread]).expect("a top"));
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
        let apart = Integrals::of(&nested, &density);
        assert!(apart.apart.is_some());
        assert_eq!(apart.log_given(&[1e6]), None);
        assert_eq!(apart.of_all(&[1e6]), None);
    }
}
