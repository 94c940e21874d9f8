//! A prior pack: what is held true before a crew's log is read, in natural units that a shop owner can
//! edit. `models/common-practice.toml` is compiled in.

use super::prior::{HalfNormal, NormalPrior, Prior, Priors};
use super::records::{EdgeRecords, Grouping};
use super::strikes::StrikePrior;
use super::{FEATURES, WearError};
use crate::quantities::Basis;
use crate::wood::{Contamination, Covariates};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// The pack that is compiled in.
const COMMON_PRACTICE: &str = include_str!("../../models/common-practice.toml");

/// One quantity in its natural unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PriorEntry {
    /// Best guess.
    pub likely: f64,
    /// One chance in twenty that the truth is lower.
    pub low: f64,
    /// One chance in twenty that the truth is higher.
    pub high: f64,
    /// On what it rests.
    pub basis: Basis,
    /// Which source, or how it was derived; blank where there is none.
    pub source: String,
}

/// What a prior pack file holds. Every table must have exactly these entries.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PriorPack {
    life: Life,
    wear: Wear,
    groups: Groups,
    eye: Eye,
    strikes: Strikes,
    /// Costs have their own reader in the decisions.
    #[serde(default, rename = "costs")]
    _costs: Option<toml::Table>,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Life {
    median_life_drum: PriorEntry,
    disc_ratio: PriorEntry,
    sigma: PriorEntry,
    reground_life_ratio: PriorEntry,
    touch_up_share: PriorEntry,
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Wear {
    hardness: PriorEntry,
    dusty: PriorEntry,
    dirty: PriorEntry,
    gritty: PriorEntry,
    dry: PriorEntry,
    frozen: PriorEntry,
    palm: PriorEntry,
    own_condition: PriorEntry,
}

impl Wear {
    /// In the order of [`Covariates::NAMES`].
    fn by_covariate(&self) -> [&PriorEntry; Covariates::COUNT] {
        [
            &self.hardness,
            &self.dusty,
            &self.dirty,
            &self.gritty,
            &self.dry,
            &self.frozen,
            &self.palm,
        ]
    }
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Strikes {
    clean: PriorEntry,
    dusty: PriorEntry,
    dirty: PriorEntry,
    gritty: PriorEntry,
    gamma_shape: PriorEntry,
    /// How firmly one class stands, where that is known by itself.
    gamma_shape_clean: Option<PriorEntry>,
    gamma_shape_dusty: Option<PriorEntry>,
    gamma_shape_dirty: Option<PriorEntry>,
    gamma_shape_gritty: Option<PriorEntry>,
}

impl Strikes {
    /// In the order of [`Contamination::ALL`].
    fn by_class(&self) -> [&PriorEntry; 4] {
        [&self.clean, &self.dusty, &self.dirty, &self.gritty]
    }

    /// In the same order; `None` where the class stands as firmly as all.
    fn own_firmness(&self) -> [Option<&PriorEntry>; 4] {
        [
            self.gamma_shape_clean.as_ref(),
            self.gamma_shape_dusty.as_ref(),
            self.gamma_shape_dirty.as_ref(),
            self.gamma_shape_gritty.as_ref(),
        ]
    }
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Eye {
    eye_error: PriorEntry,
    flat_exponent: PriorEntry,
    flat_error: PriorEntry,
}

/// Scales of half-normal laws: `likely` is the scale, `low` and `high` what follows from it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Groups {
    machine: PriorEntry,
    set: PriorEntry,
    grinder: PriorEntry,
}

/// Why a prior pack cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PriorPackError {
    /// Not TOML of the agreed shape.
    #[error("the prior pack cannot be read: {0}")]
    Shape(String),
    /// Numbers out of order.
    #[error("{entry}: low, likely and high must rise, {rule}; found {low}, {likely}, {high}")]
    Order {
        /// Which entry.
        entry: String,
        /// What else they must obey.
        rule: &'static str,
        /// Low.
        low: f64,
        /// Likely.
        likely: f64,
        /// High.
        high: f64,
    },
}

/// No eye grades an edge to within 2 %; a smaller error would ask for endless nodes of integration.
pub(super) const LEAST_EYE_ERROR: f64 = 0.02;
/// The exponent of hardness is itself a coefficient; the other wear entries are multipliers.
const EXPONENT: &str = "hardness";

impl PriorPack {
    /// The pack that is compiled in.
    ///
    /// # Errors
    ///
    /// [`PriorPackError`] only if the compiled-in file is broken, which a test excludes.
    pub fn common_practice() -> Result<Self, PriorPackError> {
        static PACK: LazyLock<Result<PriorPack, PriorPackError>> =
            LazyLock::new(|| PriorPack::parse(COMMON_PRACTICE));
        PACK.clone()
    }

    /// The text of the pack that is compiled in.
    pub fn common_practice_text() -> &'static str {
        COMMON_PRACTICE
    }

    /// Reads a pack and checks it.
    ///
    /// # Errors
    ///
    /// [`PriorPackError`] names what is missing, unknown or out of order.
    pub fn parse(text: &str) -> Result<Self, PriorPackError> {
        let pack: Self =
            toml::from_str(text).map_err(|error| PriorPackError::Shape(error.to_string()))?;
        pack.check()?;
        Ok(pack)
    }

    fn check(&self) -> Result<(), PriorPackError> {
        for (name, entry) in self.entries() {
            if name == format!("wear.{EXPONENT}") {
                rising(&name, entry, "", f64::NEG_INFINITY)?;
            } else {
                rising(&name, entry, "all above zero", 0.0)?;
            }
        }
        let errors = [
            ("eye.eye_error", &self.eye.eye_error),
            ("eye.flat_error", &self.eye.flat_error),
        ];
        for (name, error) in errors {
            if error.likely < LEAST_EYE_ERROR {
                return Err(order(name, error, "likely at least 0.02"));
            }
        }
        let touch_up = &self.life.touch_up_share;
        if touch_up.high >= 1.0 {
            return Err(order("life.touch_up_share", touch_up, "all below one"));
        }
        Ok(())
    }

    /// The priors on the parameters of the wear model, in their order: log median life on a drum, the
    /// covariates of life, the wear-rate coefficients, log spread.
    ///
    /// # Errors
    ///
    /// [`WearError::Setting`] for numbers that no normal law fits, which [`PriorPack::parse`] excludes.
    pub fn priors(&self) -> Result<Vec<NormalPrior>, WearError> {
        let on_log = |entry: &PriorEntry| NormalPrior::on_log(entry.likely, entry.low, entry.high);
        let features: [&PriorEntry; FEATURES.len()] =
            [&self.life.disc_ratio, &self.life.reground_life_ratio];
        let mut priors = vec![on_log(&self.life.median_life_drum)?];
        for entry in features {
            priors.push(on_log(entry)?);
        }
        for (name, entry) in Covariates::NAMES.iter().zip(self.wear.by_covariate()) {
            priors.push(if *name == EXPONENT {
                NormalPrior::between(entry.likely, entry.low, entry.high)?
            } else {
                on_log(entry)?
            });
        }
        priors.push(on_log(&self.life.sigma)?);
        Ok(priors)
    }

    /// The priors on everything that the wear model learns from these records: [`PriorPack::priors`] with
    /// those on the crew's own conditions, on touch-ups and on the grader's eye in their places, and one
    /// on the spread of each grouping.
    ///
    /// # Errors
    ///
    /// As for [`PriorPack::priors`]; [`WearError::UnknownGrouping`] for a grouping that the pack does not
    /// know.
    pub fn priors_for(&self, records: &EdgeRecords) -> Result<Priors, WearError> {
        let mut shared: Vec<Prior> = self.priors()?.into_iter().map(Prior::Normal).collect();
        let sigma = shared.pop();
        let own = records.rate_names.len().saturating_sub(Covariates::COUNT);
        shared.extend(vec![Prior::Normal(self.own_condition()?); own]);
        shared.push(Prior::Normal(self.touch_up_prior()?));
        shared.extend(sigma);
        shared.push(Prior::Normal(self.eye_error_prior()?));
        let spread = |grouping: &Grouping| {
            let scale = match grouping.name.as_str() {
                "machine" => self.machine_spread(),
                "set" => self.set_spread(),
                "grinder" => self.grinder_spread(),
                other => return Err(WearError::UnknownGrouping(other.to_string())),
            };
            HalfNormal::new(scale)
        };
        Ok(Priors {
            shared,
            spreads: records
                .groupings
                .iter()
                .map(spread)
                .collect::<Result<_, _>>()?,
        })
    }

    /// Share of the wear so far that a touch-up takes back.
    pub fn touch_up_share(&self) -> f64 {
        self.life.touch_up_share.likely
    }

    /// The grader's error on the log of wear fraction.
    pub fn eye_error(&self) -> f64 {
        self.eye.eye_error.likely
    }

    /// The prior on the log of the grader's error.
    ///
    /// # Errors
    ///
    /// As for [`PriorPack::priors`], here and below.
    pub fn eye_error_prior(&self) -> Result<NormalPrior, WearError> {
        let PriorEntry {
            likely, low, high, ..
        } = self.eye.eye_error;
        NormalPrior::on_log(likely, low, high)
    }

    /// The prior on the logit `ln(q / (1 - q))` of the share `q` that a touch-up takes back.
    ///
    /// # Errors
    ///
    /// As for [`PriorPack::priors`].
    pub fn touch_up_prior(&self) -> Result<NormalPrior, WearError> {
        let entry = &self.life.touch_up_share;
        NormalPrior::between(logit(entry.likely), logit(entry.low), logit(entry.high))
    }

    /// The prior on the coefficient of a crew's own yes/no condition: the log of how many times faster
    /// edges wear where it says yes.
    ///
    /// # Errors
    ///
    /// As for [`PriorPack::priors`].
    pub fn own_condition(&self) -> Result<NormalPrior, WearError> {
        let PriorEntry {
            likely, low, high, ..
        } = self.wear.own_condition;
        NormalPrior::on_log(likely, low, high)
    }

    /// Scale of the half-normal prior on the spread of log life between machines.
    pub fn machine_spread(&self) -> f64 {
        self.groups.machine.likely
    }

    /// The same between knife sets.
    pub fn set_spread(&self) -> f64 {
        self.groups.set.likely
    }

    /// The same between those who grind.
    pub fn grinder_spread(&self) -> f64 {
        self.groups.grinder.likely
    }

    /// The power `p` by which the bright flat grows: its width over that of a dull edge is the wear
    /// fraction to the power `p`.
    pub fn flat_exponent(&self) -> f64 {
        self.eye.flat_exponent.likely
    }

    /// The error of a measured flat on the log of wear fraction.
    pub fn flat_error(&self) -> f64 {
        self.eye.flat_error.likely
    }

    /// The priors on strikes, in the order of [`Contamination::ALL`].
    pub fn strikes(&self) -> [StrikePrior; 4] {
        Contamination::ALL.map(|class| {
            let entry = self.strikes.by_class()[class as usize];
            StrikePrior::new(entry.likely, self.firmness(class).likely)
        })
    }

    /// How firmly the rate of strikes in a class stands: the class's own entry, or that of all classes.
    pub(super) fn firmness(&self, class: Contamination) -> &PriorEntry {
        let own = self.strikes.own_firmness()[class as usize];
        own.unwrap_or(&self.strikes.gamma_shape)
    }

    /// Every entry with its name, for showing where the numbers come from.
    pub fn entries(&self) -> Vec<(String, &PriorEntry)> {
        let named = |table: &str, name: &str| format!("{table}.{name}");
        let life = &self.life;
        let mut entries = vec![
            (named("life", "median_life_drum"), &life.median_life_drum),
            (named("life", "disc_ratio"), &life.disc_ratio),
            (named("life", "sigma"), &life.sigma),
            (
                named("life", "reground_life_ratio"),
                &life.reground_life_ratio,
            ),
            (named("life", "touch_up_share"), &life.touch_up_share),
            (named("groups", "machine"), &self.groups.machine),
            (named("groups", "set"), &self.groups.set),
            (named("groups", "grinder"), &self.groups.grinder),
            (named("eye", "eye_error"), &self.eye.eye_error),
            (named("eye", "flat_exponent"), &self.eye.flat_exponent),
            (named("eye", "flat_error"), &self.eye.flat_error),
            (named("strikes", "gamma_shape"), &self.strikes.gamma_shape),
        ];
        entries.extend(
            Covariates::NAMES
                .iter()
                .map(|name| named("wear", name))
                .zip(self.wear.by_covariate()),
        );
        entries.push((named("wear", "own_condition"), &self.wear.own_condition));
        let classes = Contamination::ALL.map(|class| named("strikes", class.word()));
        entries.extend(classes.into_iter().zip(self.strikes.by_class()));
        for (class, own) in Contamination::ALL.iter().zip(self.strikes.own_firmness()) {
            let name = format!("gamma_shape_{}", class.word());
            entries.extend(own.map(|entry| (named("strikes", &name), entry)));
        }
        entries
    }
}

fn logit(share: f64) -> f64 {
    (share / (1.0 - share)).ln()
}

fn order(name: &str, entry: &PriorEntry, rule: &'static str) -> PriorPackError {
    PriorPackError::Order {
        entry: name.to_string(),
        rule,
        low: entry.low,
        likely: entry.likely,
        high: entry.high,
    }
}

fn rising(
    name: &str,
    entry: &PriorEntry,
    rule: &'static str,
    floor: f64,
) -> Result<(), PriorPackError> {
    let ordered = entry.low > floor
        && entry.low < entry.likely
        && entry.likely < entry.high
        && entry.high.is_finite();
    if ordered {
        Ok(())
    } else {
        Err(order(name, entry, rule))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_compiled_in_pack_is_whole_and_every_published_number_names_its_source() {
        let pack = PriorPack::common_practice().expect("the compiled-in pack");
        assert_eq!(
            pack.priors().expect("priors").len(),
            2 + FEATURES.len() + Covariates::COUNT
        );
        for (name, entry) in pack.entries() {
            assert!(
                entry.basis != Basis::Published || !entry.source.is_empty(),
                "{name} names no source"
            );
        }
    }

    /// Ranges that are not what the model makes of them would be false.
    #[test]
    fn the_ranges_of_the_compiled_in_pack_are_those_that_the_model_takes() {
        use statrs::distribution::{ContinuousCDF, Gamma};
        let pack = PriorPack::common_practice().expect("the compiled-in pack");
        let gamma = Gamma::new(
            pack.strikes.gamma_shape.likely,
            pack.strikes.gamma_shape.likely,
        )
        .expect("a gamma law");
        for entry in pack.strikes.by_class() {
            for (end, share) in [(entry.low, 0.05), (entry.high, 0.95)] {
                let wanted = entry.likely * gamma.inverse_cdf(share);
                assert!((end / wanted - 1.0).abs() < 0.03, "{entry:?}: {wanted}");
            }
        }
        let groups = &pack.groups;
        for entry in [&groups.machine, &groups.set, &groups.grinder] {
            // A share p of a half-normal law lies below the normal law's quantile of (1 + p) / 2.
            for (end, share) in [(entry.low, 0.05), (entry.high, 0.95)] {
                let wanted = entry.likely * crate::numerics::normal::quantile((1.0 + share) / 2.0);
                assert!((end / wanted - 1.0).abs() < 0.03, "{entry:?}: {wanted}");
            }
        }
        let life = &pack.life;
        let on_log = [
            &life.median_life_drum,
            &life.disc_ratio,
            &life.sigma,
            &life.reground_life_ratio,
            &pack.wear.own_condition,
            &pack.eye.eye_error,
            &pack.eye.flat_exponent,
            &pack.eye.flat_error,
        ];
        for entry in pack.wear.by_covariate().into_iter().skip(1).chain(on_log) {
            let skew = entry.low * entry.high / (entry.likely * entry.likely);
            assert!((skew - 1.0).abs() < 0.03, "{entry:?}: {skew}");
        }
        // A share lies evenly in its odds.
        let share = &life.touch_up_share;
        let skew = logit(share.low) + logit(share.high) - 2.0 * logit(share.likely);
        assert!(skew.abs() < 0.03, "{share:?}: {skew}");
    }

    #[test]
    fn priors_beyond_the_seven_rates_hold_the_ranges_of_the_pack() {
        let pack = PriorPack::common_practice().expect("the compiled-in pack");
        let ends = |prior: NormalPrior| {
            let half = 1.644_853_626_951_472_2 * prior.spread();
            [prior.mean() - half, prior.mean() + half]
        };
        let own = ends(pack.own_condition().expect("a prior"));
        assert!((own[0] - 0.5f64.ln()).abs() < 1e-9 && (own[1] - 2f64.ln()).abs() < 1e-9);
        let eye = ends(pack.eye_error_prior().expect("a prior"));
        assert!((eye[0].exp() - 0.122).abs() < 1e-3 && (eye[1].exp() - 0.328).abs() < 1e-3);
        let shares =
            ends(pack.touch_up_prior().expect("a prior")).map(|x| 1.0 / (1.0 + (-x).exp()));
        assert!((shares[0] - 0.12).abs() < 2e-3 && (shares[1] - 0.45).abs() < 2e-3);
    }

    #[test]
    fn a_pack_with_a_missing_unknown_or_misordered_entry_is_refused_by_name() {
        let without = COMMON_PRACTICE.replace("frozen = ", "frozn = ");
        assert!(
            matches!(PriorPack::parse(&without), Err(PriorPackError::Shape(words)) if words.contains("frozn"))
        );
        let misordered =
            COMMON_PRACTICE.replace("likely = 2.5, low = 1.37", "likely = 2.5, low = 3.5");
        assert!(
            matches!(PriorPack::parse(&misordered), Err(PriorPackError::Order { entry, .. }) if entry == "wear.palm")
        );
    }
}
