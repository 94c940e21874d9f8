//! Priors on every parameter of the hierarchical model, as text that anybody can write.
//!
//! ```toml
//! log_eta    = { mean = 2.7, sd = 0.6 }
//! log_kappa  = { mean = 0.7, sd = 0.3 }
//! beta       = [ { name = "hard", mean = 0.3, sd = 0.2 } ]
//! sigma_b    = { half_normal = 0.3 }
//! log_lambda = { mean = -4.6, sd = 1.0 }
//! ```

use super::prior::NormalPrior;
use serde::Deserialize;

/// Priors on every parameter of the hierarchical model.
#[derive(Debug, Clone, PartialEq)]
pub struct WholePriors {
    /// Log of the characteristic life (63.2 % dull) of the mean of the groups, in hours.
    pub log_eta: NormalPrior,
    /// Log of the shape.
    pub log_kappa: NormalPrior,
    /// Coefficients of the log wear rate by name of the covariate; positive wears faster.
    pub beta: Vec<(String, NormalPrior)>,
    /// Scale of the half-normal prior on the standard deviation of the groups' log lives.
    pub sigma_b: f64,
    /// Log of the strikes per hour.
    pub log_lambda: NormalPrior,
}

/// Why priors cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WholePriorsError {
    /// Not TOML of the agreed shape.
    #[error(
        "the priors cannot be read: {0}\nwrite log_eta, log_kappa and log_lambda as {{ mean = .., sd = .. }}, \
         beta as a list of {{ name = \"..\", mean = .., sd = .. }}, sigma_b as {{ half_normal = .. }}"
    )]
    Shape(String),
    /// A number outside its range.
    #[error("{entry}: {field} is {found}; write a number {wanted}")]
    Number {
        /// Which entry: `log_eta`, or `beta hard`.
        entry: String,
        /// Which number of it.
        field: &'static str,
        /// What would be right.
        wanted: &'static str,
        /// What is written.
        found: f64,
    },
    /// Two priors on one coefficient.
    #[error("beta names \"{name}\" twice; write one prior for each covariate")]
    Twice {
        /// Which covariate.
        name: String,
    },
    /// The priors on coefficients are not those of the covariates.
    #[error("{}", unmatched(missing, unknown))]
    Covariates {
        /// Covariates that have no prior.
        missing: Vec<String>,
        /// Priors that have no covariate.
        unknown: Vec<String>,
    },
}

fn unmatched(missing: &[String], unknown: &[String]) -> String {
    let mut parts = Vec::new();
    if !missing.is_empty() {
        let names = missing.join(", ");
        parts.push(format!("beta has no prior for the covariates {names}"));
    }
    if !unknown.is_empty() {
        let names = unknown.join(", ");
        parts.push(format!(
            "beta has priors for {names}, which are no covariates"
        ));
    }
    format!(
        "{}; write one prior for each covariate and no others",
        parts.join(", and ")
    )
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    log_eta: Normal,
    log_kappa: Normal,
    beta: Vec<Coefficient>,
    sigma_b: HalfNormal,
    log_lambda: Normal,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Normal {
    mean: f64,
    sd: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Coefficient {
    name: String,
    mean: f64,
    sd: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct HalfNormal {
    half_normal: f64,
}

impl WholePriors {
    /// Reads priors from TOML and checks them.
    ///
    /// # Errors
    ///
    /// [`WholePriorsError`] names the entry that is missing, unknown, twice there or out of range.
    pub fn parse(text: &str) -> Result<Self, WholePriorsError> {
        let file: File =
            toml::from_str(text).map_err(|error| WholePriorsError::Shape(error.to_string()))?;
        let mut beta: Vec<(String, NormalPrior)> = Vec::new();
        for Coefficient { name, mean, sd } in file.beta {
            if beta.iter().any(|(known, _)| *known == name) {
                return Err(WholePriorsError::Twice { name });
            }
            let prior = normal(&format!("beta {name}"), Normal { mean, sd })?;
            beta.push((name, prior));
        }
        Ok(Self {
            log_eta: normal("log_eta", file.log_eta)?,
            log_kappa: normal("log_kappa", file.log_kappa)?,
            beta,
            sigma_b: above_zero("sigma_b", "half_normal", file.sigma_b.half_normal)?,
            log_lambda: normal("log_lambda", file.log_lambda)?,
        })
    }

    /// The same priors with the coefficients in the order of `covariates`.
    ///
    /// # Errors
    ///
    /// [`WholePriorsError::Covariates`] where a covariate has no prior or a prior no covariate.
    pub fn in_order_of(mut self, covariates: &[String]) -> Result<Self, WholePriorsError> {
        let place = |name: &String| covariates.iter().position(|known| known == name);
        let has_prior = |name: &&String| self.beta.iter().any(|(known, _)| known == *name);
        let missing: Vec<String> = covariates
            .iter()
            .filter(|name| !has_prior(name))
            .cloned()
            .collect();
        let named = self.beta.iter().map(|(name, _)| name);
        let unknown: Vec<String> = named
            .filter(|name| place(name).is_none())
            .cloned()
            .collect();
        if !missing.is_empty() || !unknown.is_empty() {
            return Err(WholePriorsError::Covariates { missing, unknown });
        }
        self.beta.sort_by_key(|(name, _)| place(name));
        Ok(self)
    }
}

fn normal(entry: &str, Normal { mean, sd }: Normal) -> Result<NormalPrior, WholePriorsError> {
    let sd = above_zero(entry, "sd", sd)?;
    // With a spread above zero only the mean can be at fault.
    NormalPrior::new(mean, sd).map_err(|_| WholePriorsError::Number {
        entry: entry.to_string(),
        field: "mean",
        wanted: "that is finite",
        found: mean,
    })
}

fn above_zero(entry: &str, field: &'static str, found: f64) -> Result<f64, WholePriorsError> {
    if found.is_finite() && found > 0.0 {
        return Ok(found);
    }
    Err(WholePriorsError::Number {
        entry: entry.to_string(),
        field,
        wanted: "above zero",
        found,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const PRIORS: &str = r#"
log_eta    = { mean = 2.70805, sd = 0.6 }
log_kappa  = { mean = 0.7, sd = 0.3 }
beta       = [ { name = "hard", mean = 0.3, sd = 0.2 }, { name = "dirt", mean = 1, sd = 0.4 } ]
sigma_b    = { half_normal = 0.3 }
log_lambda = { mean = -4.60517, sd = 1 }
"#;

    fn names(names: &[&str]) -> Vec<String> {
        names.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn every_number_arrives_where_it_belongs() {
        let priors = WholePriors::parse(PRIORS).expect("priors");
        let of = |prior: NormalPrior| (prior.mean(), prior.spread());
        assert_eq!(of(priors.log_eta), (2.70805, 0.6));
        assert_eq!(of(priors.log_kappa), (0.7, 0.3));
        assert_eq!(of(priors.log_lambda), (-4.60517, 1.0));
        assert_eq!(priors.sigma_b, 0.3);
        let priors = priors.in_order_of(&names(&["dirt", "hard"])).expect("both");
        assert_eq!(priors.beta[0].0, "dirt");
        assert_eq!(of(priors.beta[0].1), (1.0, 0.4));
        assert_eq!(of(priors.beta[1].1), (0.3, 0.2));
    }

    #[test]
    fn what_is_missing_unknown_or_twice_is_named() {
        let refused = |from: &str, to: &str| {
            assert!(PRIORS.contains(from));
            WholePriors::parse(&PRIORS.replacen(from, to, 1))
                .expect_err("a fault")
                .to_string()
        };
        assert!(refused("log_eta ", "log_age ").contains("log_age"));
        assert!(refused("half_normal", "half_cauchy").contains("half_cauchy"));
        assert!(refused("sigma_b    = { half_normal = 0.3 }", "").contains("sigma_b"));
        assert!(refused("\"dirt\"", "\"hard\"").contains("\"hard\" twice"));
        assert_eq!(
            refused("sd = 0.4", "sd = 0"),
            "beta dirt: sd is 0; write a number above zero"
        );
        assert_eq!(
            refused("half_normal = 0.3", "half_normal = -1.5"),
            "sigma_b: half_normal is -1.5; write a number above zero"
        );
        assert_eq!(
            refused("mean = 2.70805", "mean = inf"),
            "log_eta: mean is inf; write a number that is finite"
        );
    }

    #[test]
    fn covariates_and_priors_must_match_and_the_sentence_lists_both_sides() {
        let priors = WholePriors::parse(PRIORS).expect("priors");
        let error = priors.in_order_of(&names(&["hard", "frozen", "dry"]));
        assert_eq!(
            error.expect_err("unmatched").to_string(),
            "beta has no prior for the covariates frozen, dry, and beta has priors for dirt, which are \
             no covariates; write one prior for each covariate and no others"
        );
    }
}
