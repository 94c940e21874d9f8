//! What things done to a knife set cost.

use crate::decisions::{CycleCosts, DecisionError, KnifeLayout, ShopCosts};
use crate::quantities::{Money, WearFraction};

/// A touch-up in place takes this share of the minutes of a change. Basis: from memory: stopping, locking
/// and honing two to four knives where they sit takes 20 to 30 minutes; a change takes an hour.
const TOUCH_UP_SHARE_OF_CHANGE: f64 = 0.4;

/// What things done to a knife set cost, and what an hour on its edges does. Money in the shop's currency;
/// hours are wear hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnifeCosts {
    /// Changing or flipping a set at the yard.
    pub change: Money,
    /// Touching up in place.
    pub touch_up: Money,
    /// Grinding all edges of a set.
    pub grind: Money,
    /// A new set.
    pub new_set: Money,
    /// What a change forced in the field costs beyond a planned one.
    pub forced_extra: Money,
    /// What a change after a strike costs beyond a planned one.
    pub strike_extra: Money,
    /// What a wear hour on a just-dull edge costs beyond one on a fresh edge.
    pub running_at_dull: Money,
    /// The wear fraction at which the crew calls for a change.
    pub call_at: WearFraction,
}

impl KnifeCosts {
    /// From a shop's costs, running costs per meter hour.
    ///
    /// # Errors
    ///
    /// As [`ShopCosts::cycle`].
    pub fn of(costs: &ShopCosts, layout: KnifeLayout) -> Result<Self, DecisionError> {
        let cycle: CycleCosts = costs.cycle(layout)?;
        let knives = f64::from(layout.knives);
        let grinds = knives * f64::from(layout.edges_per_knife);
        let change = costs.change_minutes.value / 60.0 * costs.mechanic_per_hour.value;
        Ok(Self {
            change: Money::new(change)?,
            touch_up: Money::new(TOUCH_UP_SHARE_OF_CHANGE * change)?,
            grind: Money::new(grinds * costs.grind_per_knife.value)?,
            new_set: Money::new(knives * costs.new_knife.value)?,
            forced_extra: cycle.forced_extra,
            strike_extra: cycle.strike_extra,
            running_at_dull: cycle.running_at_dull,
            call_at: WearFraction::new(costs.call_at.value)?,
        })
    }

    /// The same where a meter hour wears as many hours as this.
    ///
    /// # Errors
    ///
    /// [`DecisionError::Quantity`] where it wears none.
    pub(super) fn per_wear_hour(self, wear_hours: f64) -> Result<Self, DecisionError> {
        Ok(Self {
            running_at_dull: Money::new(self.running_at_dull.get() / wear_hours)?,
            ..self
        })
    }

    pub(super) fn check(&self) -> Result<(), DecisionError> {
        let named = [
            ("the cost of a change", self.change),
            ("the cost of a touch-up", self.touch_up),
            ("the cost of a grind", self.grind),
            ("the cost of a new set", self.new_set),
            ("the extra cost of a forced change", self.forced_extra),
            ("the extra cost of a strike", self.strike_extra),
            ("the running cost at dull", self.running_at_dull),
        ];
        let out_of_range = |item: &str, expected, found| DecisionError::CostOutOfRange {
            item: item.to_owned(),
            expected,
            found,
        };
        for (item, money) in named {
            if money.get() < 0.0 {
                return Err(out_of_range(item, "zero or more", money.get()));
            }
        }
        let planned = self.change.get() + self.new_set.get();
        if planned <= 0.0 {
            return Err(out_of_range("a new set put to work", "above zero", planned));
        }
        let call_at = self.call_at.get();
        if call_at <= 0.0 {
            return Err(out_of_range(
                "the wear fraction at which crews call",
                "above zero",
                call_at,
            ));
        }
        Ok(())
    }
}
