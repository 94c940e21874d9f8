//! What things cost a shop, and what one cycle of an edge costs by that.

use super::{CycleCosts, DecisionError};
use crate::quantities::{Basis, Money, Sensible, WearFraction};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// The defaults, compiled in: the one home of each figure, its basis and its source.
const COMMON_PRACTICE: &str = include_str!("../../models/common-practice.toml");

/// One figure of the table of costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CostFigure {
    /// The number, in `unit`.
    pub value: f64,
    /// Its unit, in words.
    pub unit: String,
    /// Where it comes from.
    pub basis: Basis,
    /// The source, in words.
    pub source: String,
}

/// What things cost this shop. Money in the shop's currency. The defaults, their bases and their
/// sources stand in `models/common-practice.toml`, table `[costs]`.
///
/// # Examples
///
/// Common practice, a figure of one's own, and what a cycle costs by them.
///
/// ```
/// use keenspan::decisions::{KnifeLayout, ShopCosts};
///
/// let shop = ShopCosts::common_practice()?.with("new_knife", 70.0)?;
/// assert!(!shop.still_defaults().contains(&"new_knife"));
/// let cycle = shop.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
/// assert!(cycle.planned.get() > 0.0);
/// # Ok::<(), keenspan::decisions::DecisionError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShopCosts {
    /// Minutes to change or flip a set at the yard.
    pub change_minutes: CostFigure,
    /// Pay of whoever changes knives, per hour.
    pub mechanic_per_hour: CostFigure,
    /// Grinding one edge of one knife.
    pub grind_per_knife: CostFigure,
    /// A new knife.
    pub new_knife: CostFigure,
    /// Regrinds that a knife lasts.
    pub regrinds_per_knife: CostFigure,
    /// Minutes that a change forced in the field stops the job, beyond a planned one.
    pub field_delay_minutes: CostFigure,
    /// Crew and machine, per hour that the job stands.
    pub crew_per_hour: CostFigure,
    /// Share of chipping time that the crew waits on the chipper.
    pub waiting_share: CostFigure,
    /// Fuel price per litre.
    pub fuel_per_litre: CostFigure,
    /// Litres burnt per meter hour with a fresh edge.
    pub fuel_litres_per_hour: CostFigure,
    /// What a strike costs beyond a forced change.
    pub strike_damage: CostFigure,
    /// Extra fuel for the same wood on an edge that is just dull, as a share of a fresh one's.
    pub fuel_rise_at_dull: CostFigure,
    /// Output lost on an edge that is just dull, as a share of a fresh one's.
    pub output_loss_at_dull: CostFigure,
    /// Wear fraction at which the crew calls for a change.
    pub call_at: CostFigure,
}

/// The knives that one change puts to work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KnifeLayout {
    /// Knives in a set.
    pub knives: u32,
    /// Cutting edges on each.
    pub edges_per_knife: u32,
}

/// The one table of a prior pack that this room reads.
#[derive(Deserialize)]
struct Pack {
    costs: ShopCosts,
}

impl ShopCosts {
    /// Common practice.
    ///
    /// # Errors
    ///
    /// None: the compiled-in table is read by a test.
    pub fn common_practice() -> Result<Self, DecisionError> {
        static TABLE: LazyLock<Result<ShopCosts, DecisionError>> =
            LazyLock::new(|| ShopCosts::from_pack(COMMON_PRACTICE));
        TABLE.clone()
    }

    /// The table `[costs]` of a prior pack in TOML.
    ///
    /// # Errors
    ///
    /// [`DecisionError::CostTable`] where the text cannot be read, and
    /// [`DecisionError::CostOutOfRange`] for a figure that makes no sense.
    pub fn from_pack(text: &str) -> Result<Self, DecisionError> {
        let pack: Pack = toml::from_str(text).map_err(|error| DecisionError::CostTable {
            reason: error.message().to_owned(),
        })?;
        for (name, figure) in pack.costs.figures() {
            check(name, figure.value)?;
        }
        Ok(pack.costs)
    }

    /// The same with one item as this shop gives it; items are called as in the table.
    ///
    /// # Errors
    ///
    /// [`DecisionError::UnknownCostItem`] and [`DecisionError::CostOutOfRange`].
    pub fn with(mut self, name: &str, value: f64) -> Result<Self, DecisionError> {
        check(name, value)?;
        let unknown = || DecisionError::UnknownCostItem {
            name: name.to_owned(),
        };
        let figure = self.figure_mut(name).ok_or_else(unknown)?;
        figure.value = value;
        figure.basis = Basis::ThisShop;
        figure.source = String::new();
        Ok(self)
    }

    /// Every figure with its name, in the order of the table.
    pub fn figures(&self) -> [(&'static str, &CostFigure); 14] {
        [
            ("change_minutes", &self.change_minutes),
            ("mechanic_per_hour", &self.mechanic_per_hour),
            ("grind_per_knife", &self.grind_per_knife),
            ("new_knife", &self.new_knife),
            ("regrinds_per_knife", &self.regrinds_per_knife),
            ("field_delay_minutes", &self.field_delay_minutes),
            ("crew_per_hour", &self.crew_per_hour),
            ("waiting_share", &self.waiting_share),
            ("fuel_per_litre", &self.fuel_per_litre),
            ("fuel_litres_per_hour", &self.fuel_litres_per_hour),
            ("strike_damage", &self.strike_damage),
            ("fuel_rise_at_dull", &self.fuel_rise_at_dull),
            ("output_loss_at_dull", &self.output_loss_at_dull),
            ("call_at", &self.call_at),
        ]
    }

    /// Names of the items that are still defaults.
    pub fn still_defaults(&self) -> Vec<&'static str> {
        let figures = self.figures().into_iter();
        figures
            .filter(|(_, figure)| figure.basis != Basis::ThisShop)
            .map(|(name, _)| name)
            .collect()
    }

    fn figure_mut(&mut self, name: &str) -> Option<&mut CostFigure> {
        Some(match name {
            "change_minutes" => &mut self.change_minutes,
            "mechanic_per_hour" => &mut self.mechanic_per_hour,
            "grind_per_knife" => &mut self.grind_per_knife,
            "new_knife" => &mut self.new_knife,
            "regrinds_per_knife" => &mut self.regrinds_per_knife,
            "field_delay_minutes" => &mut self.field_delay_minutes,
            "crew_per_hour" => &mut self.crew_per_hour,
            "waiting_share" => &mut self.waiting_share,
            "fuel_per_litre" => &mut self.fuel_per_litre,
            "fuel_litres_per_hour" => &mut self.fuel_litres_per_hour,
            "strike_damage" => &mut self.strike_damage,
            "fuel_rise_at_dull" => &mut self.fuel_rise_at_dull,
            "output_loss_at_dull" => &mut self.output_loss_at_dull,
            "call_at" => &mut self.call_at,
            _ => return None,
        })
    }

    /// What one cycle of an edge costs on a machine with these knives.
    ///
    /// ```text
    /// K    change_minutes/60 mechanic + knives (new_knife + regrinds edges grind) / ((regrinds + 1) edges)
    /// P    field_delay/60 crew
    /// S    P + strike_damage
    /// c_d  fuel_price litres fuel_rise + crew waiting output_loss
    /// ```
    ///
    /// A knife serves `(regrinds + 1) edges` lives and is ground `regrinds edges` times. An hour on a
    /// dull edge burns `fuel_rise` more fuel for the same wood, and keeps the crew waiting for
    /// `output_loss` of the time that it waits on the chipper anyway.
    ///
    /// # Errors
    ///
    /// [`DecisionError::CostOutOfRange`] where a machine has no knives or no edges, or a planned
    /// change costs nothing.
    pub fn cycle(&self, layout: KnifeLayout) -> Result<CycleCosts, DecisionError> {
        at_least_one("knives in a set", layout.knives)?;
        at_least_one("edges on a knife", layout.edges_per_knife)?;
        let forced = self.field_delay_minutes.value / 60.0 * self.crew_per_hour.value;
        let parts = self.parts(layout);
        let costs = CycleCosts {
            planned: Money::new(parts.planned())?,
            forced_extra: Money::new(forced)?,
            strike_extra: Money::new(forced + self.strike_damage.value)?,
            running_at_dull: Money::new(parts.running_at_dull())?,
            call_at: Some(WearFraction::new(self.call_at.value)?),
        };
        costs.check()?;
        Ok(costs)
    }

    /// Grinds that new knives last, in whole grinds.
    pub fn whole_regrinds(&self) -> u32 {
        self.regrinds_per_knife.value.clamp(0.0, 1000.0).floor() as u32
    }
}

fn at_least_one(item: &str, count: u32) -> Result<(), DecisionError> {
    (count > 0)
        .then_some(())
        .ok_or(out_of_range(item, "one or more", f64::from(count)))
}

/// That a figure lies where such figures do; the wear fraction at a call above 0, too.
fn check(name: &str, value: f64) -> Result<(), DecisionError> {
    if name == "call_at" && value == 0.0 {
        return Err(out_of_range(name, "above zero and at most 10", value));
    }
    let range = range(name);
    range
        .holds(value)
        .then_some(())
        .ok_or(out_of_range(name, range.words, value))
}

fn range(name: &str) -> Sensible {
    match name {
        "waiting_share" | "output_loss_at_dull" => Sensible::SHARE,
        "change_minutes" | "field_delay_minutes" => Sensible::MINUTES,
        "regrinds_per_knife" => Sensible::GRINDS,
        "fuel_litres_per_hour" => Sensible::LITRES_PER_HOUR,
        "call_at" | "fuel_rise_at_dull" => Sensible::TIMES,
        _ => Sensible::MONEY,
    }
}

fn out_of_range(item: &str, expected: &'static str, found: f64) -> DecisionError {
    DecisionError::CostOutOfRange {
        item: item.to_owned(),
        expected,
        found,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FOUR_REVERSIBLE: KnifeLayout = KnifeLayout {
        knives: 4,
        edges_per_knife: 2,
    };

    fn by_hand() -> Result<CycleCosts, DecisionError> {
        let given = [
            ("change_minutes", 30.0),
            ("mechanic_per_hour", 40.0),
            ("grind_per_knife", 10.0),
            ("new_knife", 80.0),
            ("regrinds_per_knife", 7.0),
            ("field_delay_minutes", 60.0),
            ("crew_per_hour", 150.0),
            ("waiting_share", 0.2),
            ("fuel_per_litre", 2.0),
            ("fuel_litres_per_hour", 10.0),
            ("strike_damage", 300.0),
            ("fuel_rise_at_dull", 0.4),
            ("output_loss_at_dull", 0.5),
            ("call_at", 1.2),
        ];
        given
            .iter()
            .try_fold(ShopCosts::common_practice()?, |costs, (name, value)| {
                costs.with(name, *value)
            })?
            .cycle(FOUR_REVERSIBLE)
    }

    #[test]
    fn a_cycle_costs_what_it_costs_by_hand() {
        // K = 20 + 4 (80 + 14 x 10) / 16 = 75; P = 150; S = 450; c_d = 8 + 15 = 23.
        let costs = by_hand().unwrap();
        assert_eq!(costs.planned.get(), 75.0);
        assert_eq!(costs.forced_extra.get(), 150.0);
        assert_eq!(costs.strike_extra.get(), 450.0);
        assert_eq!(costs.running_at_dull.get(), 23.0);
        assert_eq!(costs.call_at.map(WearFraction::get), Some(1.2));
    }

    #[test]
    fn names_and_fields_are_the_same_and_every_default_has_a_source() {
        let mut costs = ShopCosts::common_practice().unwrap();
        let names = costs.figures().map(|(name, _)| name);
        for (place, name) in names.into_iter().enumerate() {
            assert!(!costs.figures()[place].1.source.is_empty(), "{name}");
            costs = costs.with(name, 0.0625 + place as f64 / 64.0).unwrap();
            assert_eq!(costs.figures()[place].1.value, 0.0625 + place as f64 / 64.0);
            assert_eq!(costs.figures()[place].1.basis, Basis::ThisShop);
        }
    }

    #[test]
    fn a_wrong_item_or_figure_is_named() {
        let costs = || ShopCosts::common_practice().unwrap();
        assert!(matches!(
            costs().with("lunch", 1.0),
            Err(DecisionError::UnknownCostItem { name }) if name == "lunch"
        ));
        for (name, value) in [
            ("waiting_share", 1.1),
            ("new_knife", -1.0),
            ("new_knife", 1e308),
            ("change_minutes", 1e5),
            ("regrinds_per_knife", 1e4),
            ("fuel_litres_per_hour", 1e4),
            ("call_at", 0.0),
            ("call_at", 11.0),
        ] {
            assert!(matches!(
                costs().with(name, value),
                Err(DecisionError::CostOutOfRange { item, found, .. }) if item == name && found == value
            ));
        }
        let none = KnifeLayout {
            knives: 0,
            ..FOUR_REVERSIBLE
        };
        assert!(costs().cycle(none).is_err());
    }
}
