//! The textbook problem of age replacement on its own, so that anybody can check the numerics.

use crate::answer::{ANSWERED, Answer};
use crate::failure::Failure;
use crate::settings::Settings;
use crate::words::{FamilyWord, any_number};
use clap::Args;
use keenspan::decisions::{DecisionError, Renewals};
use keenspan::quantities::{Probability, as_found};
use keenspan::views::{ReplacementReport, View};
use keenspan::wear::{Family, LifeLaw};

/// The best age at which to change, for a known law of life: the textbook problem on its own
///
/// Reads no log. Time is in the unit of --life and money in any: the cheapest age at which to change an
/// edge that costs --planned then and --failure once it is dull, strikes included where they come. For
/// your own knives, with what your log does not know yet in the bounds: keenspan interval.
#[derive(Debug, Args)]
pub struct Replacement {
    /// Law of life
    #[arg(long, value_name = "NAME", default_value = "weibull")]
    distribution: FamilyWord,
    /// Shape of a Weibull law
    #[arg(long, value_name = "SHAPE", value_parser = any_number, allow_negative_numbers = true)]
    shape: Option<f64>,
    /// Spread of the log of life, of a lognormal or loglogistic law
    #[arg(long, value_name = "SIGMA", value_parser = any_number, allow_negative_numbers = true)]
    sigma: Option<f64>,
    /// Weibull: life by which 63.2 % are dull; lognormal, loglogistic: by which half are
    #[arg(long, value_name = "TIME", value_parser = any_number, allow_negative_numbers = true)]
    life: Option<f64>,
    /// Cost of a change at the planned age
    #[arg(long, value_name = "MONEY", value_parser = any_number, allow_negative_numbers = true)]
    planned: Option<f64>,
    /// Cost of a change once the edge is dull, all of it
    #[arg(long, value_name = "MONEY", value_parser = any_number, allow_negative_numbers = true)]
    failure: Option<f64>,
    /// Strikes per unit of time, which end a life at any age
    #[arg(long, value_name = "RATE", value_parser = any_number, allow_negative_numbers = true)]
    strike_rate: Option<f64>,
    /// Cost of a change after a strike, all of it
    #[arg(long, value_name = "MONEY", value_parser = any_number, allow_negative_numbers = true)]
    strike: Option<f64>,
}

impl Replacement {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let (shape, sigma) = self.spread()?;
        let life = a_life(self.life, self.life_meant())?;
        let (strikes, strike) = self.strikes()?;
        let renewals = Renewals {
            law: self.law(sigma, life),
            planned: zero_or_more("--planned", self.planned, "what a planned change costs")?,
            failure: zero_or_more(
                "--failure",
                self.failure,
                "what a change costs once the edge is dull, all of it",
            )?,
            strikes,
            strike,
        };
        let best = renewals.best().map_err(|error| self.refused(error))?;
        let report = ReplacementReport {
            renewals,
            shape,
            life,
            best,
            saving: Probability::new(best.saving).map_err(DecisionError::from)?,
        };
        Ok(Answer {
            command: "replacement",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units: settings.units.unwrap_or_default(),
            status: ANSWERED,
        })
    }

    fn family(&self) -> Family {
        self.distribution.into()
    }

    /// The spread as given, and as the standard deviation of log life in units of its standard law.
    fn spread(&self) -> Result<(f64, f64), Failure> {
        match (self.family(), self.shape, self.sigma) {
            (Family::Weibull, _, Some(_)) => Err(Failure::Usage(
                "a Weibull law has a --shape, such as 3, and no --sigma (which would be 1/shape)"
                    .into(),
            )),
            (Family::Weibull, shape, None) => {
                let shape =
                    above_zero("--shape", shape, "the shape of the Weibull law, such as 3")?;
                Ok((shape, 1.0 / shape))
            }
            (family, Some(_), _) => Err(Failure::Usage(format!(
                "a {} law has a --sigma, the spread of log life, such as 0.3, and no --shape",
                family.word()
            ))),
            (_, None, sigma) => {
                let meant = "the spread of log life, such as 0.3";
                let sigma = above_zero("--sigma", sigma, meant)?;
                Ok((sigma, sigma))
            }
        }
    }

    fn life_meant(&self) -> &'static str {
        match self.family() {
            Family::Weibull => "the time by which 63.2 % of edges are dull",
            _ => "the time by which half of all edges are dull",
        }
    }

    fn law(&self, sigma: f64, life: f64) -> LifeLaw {
        let family = self.family();
        let at_zero = LifeLaw {
            family,
            log_median: life.ln(),
            sigma,
        };
        match family {
            // The location of a Weibull law is the log of its characteristic life.
            Family::Weibull => LifeLaw {
                log_median: 2.0 * life.ln() - at_zero.location(),
                ..at_zero
            },
            _ => at_zero,
        }
    }

    /// Strikes per unit of time and what one costs; both or neither.
    fn strikes(&self) -> Result<(f64, f64), Failure> {
        match (self.strike_rate, self.strike) {
            (None, None) => Ok((0.0, 0.0)),
            (Some(0.0), None) => Ok((0.0, 0.0)),
            (rate, cost) => Ok((
                zero_or_more("--strike-rate", rate, "strikes per unit of time")?,
                zero_or_more("--strike", cost, "what a change costs after a strike")?,
            )),
        }
    }

    fn refused(&self, error: DecisionError) -> Failure {
        Failure::Usage(match error {
            DecisionError::ParameterOutOfRange {
                parameter: "the spread of log life",
                low,
                high,
                ..
            } if self.family() == Family::Weibull => format!(
                "--shape must lie between {} and {}; found {}",
                1.0 / high,
                1.0 / low,
                as_found(self.shape.unwrap_or_default())
            ),
            error => error.to_string(),
        })
    }
}

fn given(option: &str, value: Option<f64>, meant: &str) -> Result<f64, Failure> {
    value.ok_or_else(|| Failure::Usage(format!("{option} is missing: {meant}")))
}

/// Ten to the ninth and its inverse: between them lies every figure in any unit of time and any currency, and
/// every sum stays a number. Basis: judged.
const MOST: f64 = 1e9;
const LEAST: f64 = 1e-9;

fn above_zero(option: &str, value: Option<f64>, meant: &str) -> Result<f64, Failure> {
    let found = given(option, value, meant)?;
    let wanted = || {
        let found = as_found(found);
        Failure::Usage(format!(
            "{option} must be above zero ({meant}); found {found}"
        ))
    };
    (found > 0.0 && found.is_finite())
        .then_some(found)
        .ok_or_else(wanted)
}

/// A life: above zero, and no longer and no shorter than sums can reach.
fn a_life(value: Option<f64>, meant: &str) -> Result<f64, Failure> {
    let found = above_zero("--life", value, meant)?;
    let wanted = || {
        let found = as_found(found);
        Failure::Usage(format!(
            "--life must be from 0.000000001 to 1,000,000,000 ({meant}); found {found}"
        ))
    };
    (LEAST..=MOST)
        .contains(&found)
        .then_some(found)
        .ok_or_else(wanted)
}

fn zero_or_more(option: &str, value: Option<f64>, meant: &str) -> Result<f64, Failure> {
    let found = given(option, value, meant)?;
    let range = match found >= 0.0 {
        true => "from 0 to 1,000,000,000",
        false => "zero or more",
    };
    let wanted = || {
        let found = as_found(found);
        Failure::Usage(format!("{option} must be {range} ({meant}); found {found}"))
    };
    (0.0..=MOST)
        .contains(&found)
        .then_some(found)
        .ok_or_else(wanted)
}
