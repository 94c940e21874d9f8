//! What a crew's log has taught, as the prior pack of its next machine.
//!
//! A power prior (Ibrahim and Chen, Statistical Science 15(1):46-60, 2000) holds `prior x likelihood^d`,
//! the likelihood of the old data discounted by `d`, which is `prior^(1 - d) x posterior^d`. Where prior and
//! posterior are normal, with precisions `p0` and `p1` and means `m0` and `m1`, that is again normal:
//!
//! ```text
//! precision = p0 + d (p1 - p0)
//! mean      = (p0 m0 + d (p1 m1 - p0 m0)) / precision
//! ```
//!
//! It is taken one parameter at a time, from each one's own posterior mean and variance: a pack holds each
//! entry alone, so that what the log taught of two together is not carried over. A half-normal law
//! is told by its precision alone, `1 / E(spread^2)`. A gamma law of strikes takes `d` times the strikes and
//! hours of the log.
//!
//! The median life of the pack is that of the middle of the crew's machines. A next machine differs from it
//! by the spread between machines, which `groups.machine` carries: the model adds it for every
//! machine that it has not seen, once.

mod text;

use super::parameters::Layout;
use super::posterior::WearPosterior;
use super::prior::{NINETY_PERCENT_HALF_WIDTH, Prior};
use super::prior_pack::{PriorPack, PriorPackError};
use super::records::EdgeRecords;
use super::strikes::StrikePosterior;
use super::{FEATURES, WearError};
use crate::numerics::normal;
use crate::wood::{Contamination, Covariates};
use statrs::distribution::{ContinuousCDF, Gamma};
use text::{rounded, with_entries};

/// Why no pack can be made of what was learned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LearnedPackError {
    /// Not a share above zero.
    #[error("the discount must be above 0 and at most 1; found {found}")]
    Discount {
        /// What was given.
        found: f64,
    },
    /// The fit began with other priors than those of the pack.
    #[error(
        "the fit began with other priors than those of this pack: give the pack that it was made with"
    )]
    OtherPriors,
    /// The pack cannot be read, or what was learned leaves the range of an entry.
    #[error(transparent)]
    Pack(#[from] PriorPackError),
    /// The pack's priors cannot be used.
    #[error(transparent)]
    Wear(#[from] WearError),
    /// The pack's text cannot be changed.
    #[error("the prior pack cannot be changed: {0}")]
    Text(String),
}

/// The numbers of one entry.
#[derive(Debug, Clone, Copy)]
struct Numbers {
    likely: f64,
    low: f64,
    high: f64,
}

/// One entry that was learned.
struct Learned {
    table: &'static str,
    key: String,
    numbers: Numbers,
}

/// The scale on which an entry's law is normal.
#[derive(Debug, Clone, Copy)]
enum Scale {
    Log,
    Natural,
    Logit,
}

impl Scale {
    fn back(self, x: f64) -> f64 {
        match self {
            Scale::Log => x.exp(),
            Scale::Natural => x,
            Scale::Logit => 1.0 / (1.0 + (-x).exp()),
        }
    }

    /// Best figure and 90 % range of a normal law on this scale.
    fn numbers(self, (mean, spread): (f64, f64)) -> Numbers {
        let half = NINETY_PERCENT_HALF_WIDTH * spread;
        Numbers {
            likely: self.back(mean),
            low: self.back(mean - half),
            high: self.back(mean + half),
        }
    }
}

impl PriorPack {
    /// The text of a pack that carries over the share `discount`, above 0 and at most 1, of what the log
    /// has taught beyond the pack `text`, with which the fit was made. 1 is everything: the posterior as it
    /// is, each parameter by itself. Comments, costs and everything that is not learned stay as they are.
    ///
    /// # Errors
    ///
    /// [`LearnedPackError`]: a discount out of range, a pack that cannot be read or is not that of the fit.
    pub fn from_posterior(
        text: &str,
        posterior: &WearPosterior,
        strikes: &StrikePosterior,
        discount: f64,
    ) -> Result<String, LearnedPackError> {
        if !(discount > 0.0 && discount <= 1.0) {
            return Err(LearnedPackError::Discount { found: discount });
        }
        let pack = Self::parse(text)?;
        pack.check_that_it_is_of(posterior)?;
        let mut learned = of_parameters(posterior, discount);
        learned.extend(of_groups(posterior, discount));
        learned.extend(of_strikes(&pack, strikes, discount)?);
        let source = format!(
            "learned from {} {}, discount {discount}",
            posterior.edges(),
            if posterior.edges() == 1 {
                "edge"
            } else {
                "edges"
            }
        );
        let text = with_entries(text, &pack, &learned, &source)?;
        let text = format!("{}{text}", heading(posterior, &source, discount));
        Self::parse(&text)?;
        Ok(text)
    }

    /// A grader's error that was held is not learned; everything else began with the pack's priors.
    fn check_that_it_is_of(&self, posterior: &WearPosterior) -> Result<(), LearnedPackError> {
        let density = posterior.density();
        let records = EdgeRecords {
            feature_names: density.feature_names().to_vec(),
            rate_names: density.rate_names().to_vec(),
            groupings: posterior.groupings().to_vec(),
            edges: Vec::new(),
        };
        let own = self.priors_for(&records)?;
        let began = density.priors();
        let mut pairs = own.shared.iter().zip(&began.shared);
        let same = own.shared.len() == began.shared.len()
            && pairs.all(|(own, began)| began.held().is_some() || own == began)
            && own.spreads == began.spreads;
        if same {
            Ok(())
        } else {
            Err(LearnedPackError::OtherPriors)
        }
    }
}

/// The entries of the parameters that every edge shares, with their places and scales.
fn places(layout: &Layout) -> Vec<(&'static str, &'static str, usize, Scale)> {
    const LIFE: [&str; FEATURES.len()] = ["disc_ratio", "reground_life_ratio"];
    let mut places = vec![
        ("life", "median_life_drum", layout.location(), Scale::Log),
        ("life", "touch_up_share", layout.touch_up(), Scale::Logit),
        ("life", "sigma", layout.log_sigma(), Scale::Log),
        ("eye", "eye_error", layout.log_eye(), Scale::Log),
    ];
    let features = LIFE.into_iter().zip(layout.features());
    places.extend(features.map(|(key, place)| ("life", key, place, Scale::Log)));
    let rates = Covariates::NAMES.into_iter().zip(layout.rates());
    places.extend(rates.map(|(key, place)| {
        let scale = match key {
            "hardness" => Scale::Natural,
            _ => Scale::Log,
        };
        ("wear", key, place, scale)
    }));
    places
}

fn of_parameters(posterior: &WearPosterior, discount: f64) -> Vec<Learned> {
    let learned = |(table, key, place, scale): (&'static str, &str, usize, Scale)| {
        let law = discounted(posterior, place, discount)?;
        Some(Learned {
            table,
            key: key.to_string(),
            numbers: scale.numbers(law),
        })
    };
    places(posterior.layout())
        .into_iter()
        .filter_map(learned)
        .collect()
}

/// Mean and spread of the power prior on one parameter; `None` where it was not learned.
fn discounted(posterior: &WearPosterior, place: usize, discount: f64) -> Option<(f64, f64)> {
    let Prior::Normal(prior) = posterior.density().priors().shared[place] else {
        return None;
    };
    let now = posterior.sample().summary(|draw| draw.shared[place]);
    let (before, after) = (prior.spread().powi(-2), now.spread.powi(-2));
    let precision = before + discount * (after - before);
    let pull = before * prior.mean() + discount * (after * now.mean - before * prior.mean());
    Some((pull / precision, precision.sqrt().recip()))
}

/// The spreads between groups.
fn of_groups(posterior: &WearPosterior, discount: f64) -> Vec<Learned> {
    let priors = posterior.density().priors().spreads.iter();
    let learned = priors.zip(posterior.groupings()).enumerate();
    learned
        .map(|(number, (prior, grouping))| {
            let squares = posterior
                .sample()
                .weighted_draws()
                .map(|(draw, weight)| weight * draw.spreads[number].powi(2));
            let (before, after) = (prior.scale().powi(-2), squares.sum::<f64>().recip());
            let scale = (before + discount * (after - before)).sqrt().recip();
            // A share p of a half-normal law lies below the normal law's quantile of (1 + p) / 2.
            let at = |share: f64| scale * normal::quantile((1.0 + share) / 2.0);
            Learned {
                table: "groups",
                key: grouping.name.clone(),
                numbers: Numbers {
                    likely: scale,
                    low: at(0.05),
                    high: at(0.95),
                },
            }
        })
        .collect()
}

/// Rates of strikes, and how firmly each stands.
fn of_strikes(
    pack: &PriorPack,
    strikes: &StrikePosterior,
    discount: f64,
) -> Result<Vec<Learned>, LearnedPackError> {
    let mut learned = Vec::new();
    for (class, prior) in Contamination::ALL.into_iter().zip(pack.strikes()) {
        let (shape, hours) = prior.shape_and_hours();
        let (with_strikes, with_hours) = strikes.shape_and_hours(class);
        if with_strikes < shape || with_hours < hours {
            return Err(LearnedPackError::OtherPriors);
        }
        let shape_now = shape + discount * (with_strikes - shape);
        let hours_now = hours + discount * (with_hours - hours);
        let likely = shape_now / hours_now;
        let law = Gamma::new(shape_now, hours_now);
        let at = |share: f64| law.as_ref().map_or(f64::NAN, |law| law.inverse_cdf(share));
        learned.push(Learned {
            table: "strikes",
            key: class.word().to_string(),
            numbers: Numbers {
                likely,
                low: at(0.05),
                high: at(0.95),
            },
        });
        let firmness = pack.firmness(class);
        let times = shape_now / firmness.likely;
        learned.push(Learned {
            table: "strikes",
            key: format!("gamma_shape_{}", class.word()),
            numbers: Numbers {
                likely: shape_now,
                low: times * firmness.low,
                high: times * firmness.high,
            },
        });
    }
    Ok(learned)
}

/// What stands above the pack.
fn heading(posterior: &WearPosterior, source: &str, discount: f64) -> String {
    let mut text = format!(
        "# A crew's own prior pack, {source}. That share of what the log has taught, beyond the pack that\n\
         # the fit began with, is taken to hold for the next machine too (power prior, Ibrahim and Chen 2000).\n\
         # Entries with the basis \"own log\" were learned; the others are as they were. Use it for another\n\
         # machine's log only: with the log that it was learned from, that log would count twice.\n"
    );
    let layout = posterior.layout();
    let own = layout.rates().skip(Covariates::COUNT);
    let names = posterior.density().rate_names().iter();
    for (place, name) in own.zip(names.skip(Covariates::COUNT)) {
        if let Some(law) = discounted(posterior, place, discount) {
            let Numbers { likely, low, high } = Scale::Log.numbers(law);
            text.push_str(&format!(
                "# Your own column {name:?} has no entry in a pack; learned: {} times faster ({} to {}).\n",
                rounded(likely),
                rounded(low),
                rounded(high)
            ));
        }
    }
    text.push('\n');
    text
}
