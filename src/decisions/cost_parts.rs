//! What the costs of a cycle are made of.

use super::{KnifeLayout, ShopCosts};

/// The parts of a planned change and of an hour on a dull edge, money in the shop's currency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CostParts {
    /// Of a planned change: pay of whoever changes the set.
    pub labour: f64,
    /// Of a planned change: grinding, by the grinds in a knife's life.
    pub sharpening: f64,
    /// Of a planned change: new knives, by the lives in a knife.
    pub knives: f64,
    /// Of an hour on an edge that is just dull: extra fuel.
    pub extra_fuel: f64,
    /// Of an hour on an edge that is just dull: the crew waiting.
    pub waiting: f64,
    /// Knives bought for each change.
    pub knives_bought: f64,
    /// Edges of single knives ground for each change.
    pub edges_ground: f64,
}

impl ShopCosts {
    /// What a cycle on a machine with these knives is made of; see [`ShopCosts::cycle`].
    pub fn parts(&self, layout: KnifeLayout) -> CostParts {
        let (knives, edges) = (f64::from(layout.knives), f64::from(layout.edges_per_knife));
        let regrinds = self.regrinds_per_knife.value;
        let knives_bought = knives / ((regrinds + 1.0) * edges);
        let edges_ground = knives_bought * regrinds * edges;
        CostParts {
            labour: self.change_minutes.value / 60.0 * self.mechanic_per_hour.value,
            sharpening: edges_ground * self.grind_per_knife.value,
            knives: knives_bought * self.new_knife.value,
            extra_fuel: self.fuel_per_litre.value
                * self.fuel_litres_per_hour.value
                * self.fuel_rise_at_dull.value,
            waiting: self.crew_per_hour.value
                * self.waiting_share.value
                * self.output_loss_at_dull.value,
            knives_bought,
            edges_ground,
        }
    }
}

impl CostParts {
    /// A planned change.
    pub(super) fn planned(&self) -> f64 {
        self.labour + self.sharpening + self.knives
    }

    /// An hour on an edge that is just dull, beyond one on a fresh edge.
    pub(super) fn running_at_dull(&self) -> f64 {
        self.extra_fuel + self.waiting
    }
}
