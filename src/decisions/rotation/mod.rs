//! How many matched sets to own, for the sharpener's turnaround and a named risk of having none ready.

mod used_up;

use super::caveats;
use super::spread::{estimate, mean};
use super::year::{YearAhead, YearBudget};
use super::{Caveat, DecisionError, Evidence, KnifeLayout, ShopCosts};
use crate::numerics::resampling::by_turns;
use crate::quantities::{Estimate, Level, MeterHours, Money, Probability};
use crate::wear::DrawUnderConditions;
use serde::Serialize;
use used_up::UsedUp;

/// Days in a year.
const YEAR: f64 = 365.25;
/// Draws that the counts are mixed over: every so-many-th of those given.
const COUNT_DRAWS: usize = 256;
/// A turnaround of more changes than this is refused.
const MOST_CHANGES: f64 = 40.0;
/// A lone draw beyond this share of them does not hold up the count.
const NEARLY_ALL: f64 = 0.99;

/// What is asked, beside the draws and the costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotationQuestion {
    /// Edges are changed at this interval; `None` when the cut calls for it.
    pub interval: Option<MeterHours>,
    /// Meter hours in a year, worked evenly.
    pub hours_per_year: MeterHours,
    /// Days from a set leaving the machine to its being back ready.
    pub turnaround_days: f64,
    /// The chance that is borne of a used-up set finding none ready.
    pub risk: Probability,
    /// The level of every bound.
    pub level: Level,
    /// What the draws stand on.
    pub evidence: Evidence,
}

/// Sets to own, and what they go through in a year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rotation {
    /// The fewest matched sets with which the chance that a used-up set finds none ready is at most the
    /// risk, over all draws; its bounds are the spread of each draw's own fewest.
    pub sets: Estimate<u32>,
    /// That chance for one set, two, and so on to one more than are needed.
    pub by_sets: Vec<SetsChance>,
    /// Meter hours in a turnaround.
    pub hours_away: MeterHours,
    /// Sets sent to the sharpener in a year.
    pub sets_away_a_year: Estimate<f64>,
    /// Changing, grinding and new knives in a year.
    pub upkeep_a_year: Estimate<Money>,
    /// What another set costs, new.
    pub another_set: Money,
    /// The whole year.
    pub year: YearBudget,
    /// How much of it is still the defaults.
    pub share_from_defaults: Probability,
    /// What must be said beside the answer.
    pub caveats: Vec<Caveat>,
}

/// The risk with so many sets.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SetsChance {
    /// Sets owned.
    pub sets: u32,
    /// Chance that a set just used up finds none ready.
    pub chance_none_ready: Estimate<Probability>,
}

/// The fewest sets to own.
///
/// A set that leaves the machine goes to the sharpener and is back after the turnaround; another takes
/// its place, serves as many edges as it has, and follows. With `n` sets, `n - 1` others stand between
/// the first leaving and nothing being ready: the risk is the chance that those are used up before the
/// first is back. Seen back in time that is base stock with one-for-one replenishment (Palm's theorem:
/// where sets are used up by a Poisson process the sharpener holds a Poisson number of them), here with
/// the count of edges as it is under each draw, mixed over the draws.
///
/// # Errors
///
/// [`DecisionError::CostOutOfRange`] for a turnaround or a risk that makes no sense,
/// [`DecisionError::LongTurnaround`], [`DecisionError::NoDraws`], and those of [`YearAhead::new`].
///
/// # Examples
///
/// ```
/// use keenspan::decisions::{Evidence, KnifeLayout, RotationQuestion, ShopCosts, sets_to_own};
/// use keenspan::quantities::{Level, MeterHours, Probability};
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// # let evidence = Evidence {
/// #     edges_finished: 12,
/// #     edges_graded: 10,
/// #     prior_variance: 0.16,
/// #     posterior_variance: 0.02,
/// # };
/// let question = RotationQuestion {
///     interval: Some(MeterHours::new(50.0)?),
///     hours_per_year: MeterHours::new(400.0)?,
///     turnaround_days: 14.0,
///     risk: Probability::new(0.05)?,
///     level: Level::NINETY,
///     evidence,
/// };
/// let layout = KnifeLayout { knives: 4, edges_per_knife: 2 };
/// let rotation = sets_to_own(&draws, &ShopCosts::common_practice()?, layout, &question)?;
/// // The fewest sets that keep the risk; one set less would not.
/// let risk = |sets| {
///     let mut by_sets = rotation.by_sets.iter();
///     by_sets.find(|it| it.sets == sets).map(|it| it.chance_none_ready.point)
/// };
/// let sets = rotation.sets.point;
/// assert!(risk(sets) <= Some(question.risk) && risk(sets - 1) > Some(question.risk));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn sets_to_own(
    draws: &[DrawUnderConditions],
    costs: &ShopCosts,
    layout: KnifeLayout,
    question: &RotationQuestion,
) -> Result<Rotation, DecisionError> {
    let year = YearAhead::new(
        draws,
        costs,
        layout,
        question.hours_per_year,
        question.level,
    )?
    .budget(question.interval)?;
    let hours_away = question.hours_away()?;
    let typical = question.typical_hours(&year)?;
    let (call_at, planned) = (costs.call_at.value, question.interval.map(MeterHours::get));
    let counted = by_turns(draws.len(), draws.len().div_ceil(COUNT_DRAWS));
    let mut counts: Vec<UsedUp> = counted
        .map(|place| UsedUp::new(&draws[place], call_at, planned, hours_away, typical))
        .collect();
    let edges = f64::from(layout.edges_per_knife);
    let parts = costs.parts(layout);
    let (sets, by_sets) = fewest(&mut counts, layout.edges_per_knife as usize, question)?;
    let upkeep = |changes: f64| Money::new(changes * parts.planned());
    Ok(Rotation {
        sets,
        by_sets,
        hours_away: MeterHours::new(hours_away)?,
        sets_away_a_year: year.changes.map(|changes| changes / edges),
        upkeep_a_year: Estimate {
            point: upkeep(year.changes.point)?,
            lower: upkeep(year.changes.lower)?,
            upper: upkeep(year.changes.upper)?,
            level: year.changes.level,
        },
        another_set: Money::new(f64::from(layout.knives) * costs.new_knife.value)?,
        year,
        share_from_defaults: question.evidence.share_from_defaults()?,
        caveats: caveats::of_interval(&question.evidence, true, Probability::new(0.0)?)?,
    })
}

impl Rotation {
    /// Sets missing where so many are owned; 0 where they are enough.
    pub fn short_of(&self, owned: usize) -> u32 {
        let owned = u32::try_from(owned).unwrap_or(u32::MAX);
        self.sets.point.saturating_sub(owned)
    }

    /// The risk with so many sets; `None` beyond those worked out, where it is smaller still.
    pub fn risk_with(&self, owned: usize) -> Option<&SetsChance> {
        owned
            .checked_sub(1)
            .and_then(|place| self.by_sets.get(place))
    }
}

impl RotationQuestion {
    fn hours_away(&self) -> Result<f64, DecisionError> {
        let days = self.turnaround_days;
        let out_of_range = |item: &str, expected, found| DecisionError::CostOutOfRange {
            item: item.to_owned(),
            expected,
            found,
        };
        if !(days >= 0.0 && days.is_finite()) {
            return Err(out_of_range(
                "the turnaround in days",
                "zero or more and finite",
                days,
            ));
        }
        let risk = self.risk.get();
        if risk <= 0.0 || risk >= 1.0 {
            return Err(out_of_range("the risk", "above 0 and below 1", risk));
        }
        Ok(days / YEAR * self.hours_per_year.get())
    }

    /// Meter hours of an edge, on the mean.
    fn typical_hours(&self, year: &YearBudget) -> Result<f64, DecisionError> {
        let changes = year.changes.point * self.turnaround_days / YEAR;
        if changes > MOST_CHANGES {
            return Err(DecisionError::LongTurnaround {
                days: self.turnaround_days,
                changes,
                most: MOST_CHANGES,
            });
        }
        Ok(year.hours.get() / year.changes.point)
    }
}

/// The fewest sets, and the risk for each number of them up to one more.
fn fewest(
    counts: &mut [UsedUp],
    edges: usize,
    question: &RotationQuestion,
) -> Result<(Estimate<u32>, Vec<SetsChance>), DecisionError> {
    let (risk, level) = (question.risk.get(), question.level);
    let mut own: Vec<Option<u32>> = vec![None; counts.len()];
    let mut by_sets = Vec::new();
    let mut needed = None;
    for sets in 1u32.. {
        let others = (sets - 1) as usize * edges;
        let chances: Vec<f64> = counts.iter_mut().map(|row| row.chance(others)).collect();
        for (own, chance) in own.iter_mut().zip(&chances) {
            *own = own.or((*chance <= risk).then_some(sets));
        }
        let chance = mean(&chances);
        if needed.is_none_or(|needed| sets <= needed + 1) {
            by_sets.push(SetsChance {
                sets,
                chance_none_ready: estimate(chance, &chances, level, Probability::new)?,
            });
        }
        needed = needed.or((chance <= risk).then_some(sets));
        let settled = own.iter().flatten().count() as f64 >= NEARLY_ALL * own.len() as f64;
        if settled && needed.is_some_and(|needed| sets > needed) {
            break;
        }
    }
    let last = by_sets.last().map_or(1, |row: &SetsChance| row.sets);
    let own: Vec<f64> = own
        .iter()
        .map(|own| f64::from(own.unwrap_or(last + 1)))
        .collect();
    let whole = |sets: f64| Ok(sets.round() as u32);
    let needed = f64::from(needed.unwrap_or(last));
    Ok((estimate(needed, &own, level, whole)?, by_sets))
}
