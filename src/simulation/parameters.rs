//! A truth as the list of parameters that a fit learns.

use super::truth::{Effects, Truth};
use crate::quantities::{QuantityError, WearHours};
use crate::wear::FEATURES;
use crate::wood::Covariates;

impl Truth {
    /// Names of the parameters that all edges share, in the order of the fit: log of median life on a
    /// drum, logs of the ratios of life (disc, reground), coefficients of the wear rate, logit of the
    /// share that a touch-up takes back, log of the spread of log life, log of the grader's error.
    pub const PARAMETERS: [&str; 13] = [
        "location",
        FEATURES[0],
        FEATURES[1],
        Covariates::NAMES[0],
        Covariates::NAMES[1],
        Covariates::NAMES[2],
        Covariates::NAMES[3],
        Covariates::NAMES[4],
        Covariates::NAMES[5],
        Covariates::NAMES[6],
        "touch_up",
        "log_sigma",
        "log_eye",
    ];

    /// The parameters of this truth, in the order of [`Truth::PARAMETERS`].
    pub fn parameters(&self) -> [f64; 13] {
        let [hardness, dusty, dirty, gritty, dry, frozen, palm] = self.coefficients();
        [
            self.median_life.get().ln(),
            self.disc_share.ln(),
            self.reground_share.ln(),
            hardness,
            dusty,
            dirty,
            gritty,
            dry,
            frozen,
            palm,
            (self.touch_up_share / (1.0 - self.touch_up_share)).ln(),
            self.sigma.ln(),
            self.grader_error.ln(),
        ]
    }

    /// This truth with other parameters, in the order of [`Truth::PARAMETERS`]; all else stays.
    ///
    /// # Errors
    ///
    /// [`QuantityError`] where the first gives no median life: not a number, or beyond all hours.
    pub fn with_parameters(self, parameters: &[f64; 13]) -> Result<Self, QuantityError> {
        let [
            location,
            disc,
            reground,
            hardness_exponent,
            dusty,
            dirty,
            gritty,
            dry,
            frozen,
            palm,
            touch_up,
            log_sigma,
            log_eye,
        ] = *parameters;
        Ok(Self {
            median_life: WearHours::new(location.exp())?,
            disc_share: disc.exp(),
            reground_share: reground.exp(),
            effects: Effects {
                hardness_exponent,
                dusty: dusty.exp(),
                dirty: dirty.exp(),
                gritty: gritty.exp(),
                dry: dry.exp(),
                frozen: frozen.exp(),
                palm: palm.exp(),
            },
            touch_up_share: 1.0 / (1.0 + (-touch_up).exp()),
            sigma: log_sigma.exp(),
            grader_error: log_eye.exp(),
            ..self
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn parameters_and_truth_say_the_same() {
        let parameters: [f64; 13] = std::array::from_fn(|i| 0.1 * i as f64 - 0.35);
        let truth = Truth::stated()
            .with_parameters(&parameters)
            .expect("a truth");
        for (back, there) in truth.parameters().iter().zip(parameters) {
            assert_relative_eq!(*back, there, max_relative = 1e-12, epsilon = 1e-14);
        }
    }

    #[test]
    fn the_stated_truth_is_where_its_names_say() {
        let truth = Truth::stated();
        let named = |name: &str| {
            let place = Truth::PARAMETERS.iter().position(|known| *known == name);
            truth.parameters()[place.expect("a parameter")]
        };
        assert_relative_eq!(named("location"), 44.0_f64.ln());
        assert_relative_eq!(named("disc"), 0.55_f64.ln());
        assert_relative_eq!(named("gritty"), 6.0_f64.ln());
        assert_relative_eq!(named("touch_up"), (0.3_f64 / 0.7).ln());
        assert_relative_eq!(named("log_sigma"), 0.30_f64.ln());
        assert_relative_eq!(named("log_eye"), 0.18_f64.ln());
    }

    #[test]
    fn no_median_life_is_an_error() {
        let mut parameters = Truth::stated().parameters();
        parameters[0] = f64::NAN;
        assert!(Truth::stated().with_parameters(&parameters).is_err());
    }
}
