//! What a machine's knives cost in a year, part by part.

use super::cycle::Cycle;
use super::cycles::Cycles;
use super::spread::{estimate, mean};
use super::{CostParts, DecisionError, KnifeLayout, ShopCosts};
use crate::quantities::{Estimate, Level, MeterHours, Money};
use crate::wear::DrawUnderConditions;
use serde::Serialize;

/// A machine's year under every draw, ready to be asked what any interval makes of it.
///
/// # Examples
///
/// ```
/// use keenspan::decisions::{KnifeLayout, ShopCosts, YearAhead};
/// use keenspan::quantities::{Level, MeterHours};
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// let layout = KnifeLayout { knives: 4, edges_per_knife: 2 };
/// let (shop, hours) = (ShopCosts::common_practice()?, MeterHours::new(400.0)?);
/// let year = YearAhead::new(&draws, &shop, layout, hours, Level::NINETY)?;
/// let (often, called) = (year.budget(Some(MeterHours::new(25.0)?))?, year.budget(None)?);
/// assert!(often.changes.point >= 16.0 && often.changes.point > called.changes.point);
/// assert!(often.waiting.point < called.waiting.point);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct YearAhead {
    draws: Cycles,
    parts: CostParts,
    hours: f64,
    level: Level,
}

/// A year on one interval. The parts add up to the total.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct YearBudget {
    /// The interval; `None` for changing when the cut calls for it.
    pub interval: Option<MeterHours>,
    /// Meter hours in the year.
    pub hours: MeterHours,
    /// Changes of an edge, whatever forced them.
    pub changes: Estimate<f64>,
    /// Edges of single knives ground.
    pub edges_ground: Estimate<f64>,
    /// Knives bought.
    pub knives_bought: Estimate<f64>,
    /// Pay for changing.
    pub labour: Estimate<Money>,
    /// Grinding.
    pub sharpening: Estimate<Money>,
    /// New knives.
    #[serde(rename = "new_knives")]
    pub knives: Estimate<Money>,
    /// Stops of the job for edges that went dull in the field.
    pub forced_stops: Estimate<Money>,
    /// Strikes, with the stops that they force.
    pub strikes: Estimate<Money>,
    /// Running on worn edges: fuel.
    pub extra_fuel: Estimate<Money>,
    /// Running on worn edges: the crew waiting.
    pub waiting: Estimate<Money>,
    /// All of it: hours times cost per hour.
    pub total: Estimate<Money>,
}

/// The year as it goes by today's rule, and as it would by what is recommended.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Years {
    /// By today's rule; `None` where it is not known.
    pub today: Option<YearBudget>,
    /// By what is recommended.
    pub recommended: YearBudget,
}

impl YearAhead {
    /// `draws` under the conditions asked about, and the meter hours of the year.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`], and those of [`ShopCosts::cycle`] and
    /// [`AgeReplacement::new`](super::AgeReplacement::new).
    pub fn new(
        draws: &[DrawUnderConditions],
        costs: &ShopCosts,
        layout: KnifeLayout,
        hours: MeterHours,
        level: Level,
    ) -> Result<Self, DecisionError> {
        if draws.is_empty() {
            return Err(DecisionError::NoDraws);
        }
        Ok(Self {
            draws: Cycles::new(draws, &costs.cycle(layout)?)?,
            parts: costs.parts(layout),
            hours: hours.get(),
            level,
        })
    }

    /// The year where edges are changed at `interval`, or when the cut calls for it.
    ///
    /// With `L` the expected hours of a cycle there are `H / L` changes in `H` hours; each part of the
    /// year is that of a cycle times as many (the renewal reward theorem).
    ///
    /// # Errors
    ///
    /// [`DecisionError::Quantity`] at interval zero, where changes never end.
    pub fn budget(&self, interval: Option<MeterHours>) -> Result<YearBudget, DecisionError> {
        let cycles = interval.map_or_else(
            || self.draws.until_called(),
            |hours| self.draws.at(hours.get()),
        );
        let (parts, costs) = (&self.parts, self.draws.costs());
        let counts = |per_change: f64| {
            let each = self.each(&cycles, |_, _| per_change);
            estimate(mean(&each), &each, self.level, Ok)
        };
        let money = |part: &dyn Fn(f64, &Cycle) -> f64| {
            let each = self.each(&cycles, part);
            estimate(mean(&each), &each, self.level, Money::new)
        };
        Ok(YearBudget {
            interval,
            hours: MeterHours::new(self.hours)?,
            changes: counts(1.0)?,
            edges_ground: counts(parts.edges_ground)?,
            knives_bought: counts(parts.knives_bought)?,
            labour: money(&|_, _| parts.labour)?,
            sharpening: money(&|_, _| parts.sharpening)?,
            knives: money(&|_, _| parts.knives)?,
            forced_stops: money(&|_, cycle| costs.forced_extra * cycle.called)?,
            strikes: money(&|strikes, cycle| costs.strike_extra * strikes * cycle.length)?,
            extra_fuel: money(&|_, cycle| parts.extra_fuel * cycle.worn)?,
            waiting: money(&|_, cycle| parts.waiting * cycle.worn)?,
            total: money(&|_, cycle| costs.planned + cycle.cost)?,
        })
    }

    /// For each draw, what a cycle comes to, given the rate of strikes, times the cycles in the year.
    fn each(&self, cycles: &[Cycle], part: impl Fn(f64, &Cycle) -> f64) -> Vec<f64> {
        self.draws
            .strike_rates()
            .zip(cycles)
            .map(|(strikes, cycle)| self.hours / cycle.length * part(strikes, cycle))
            .collect()
    }
}
