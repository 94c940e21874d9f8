//! What things cost this crew.

use crate::quantities::Width;
use std::collections::BTreeMap;

/// An item of costs.csv that keenspan knows. Money in the shop's currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CostItem {
    /// Minutes to change or flip a set at the yard.
    ChangeMinutes,
    /// Pay of whoever changes knives, per hour.
    MechanicPerHour,
    /// Grinding one edge of one knife.
    GrindPerKnife,
    /// A new knife.
    NewKnife,
    /// Regrinds that a knife lasts.
    RegrindsPerKnife,
    /// Minutes that a forced change in the field stops the job, beyond a planned one.
    FieldDelayMinutes,
    /// Crew and machine, per hour that the job stands.
    CrewPerHour,
    /// Share of chipping time that the crew waits on the chipper, 0 to 1.
    WaitingShare,
    /// Fuel price per litre.
    FuelPerLitre,
    /// Fuel burnt per meter hour with a fresh edge, litres.
    FuelLitresPerHour,
    /// Extra cost of a strike beyond a forced change: stock ground away, bolts, bed knife.
    StrikeDamage,
}

/// What costs.csv and shop.csv held.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CostEntries {
    /// The items given.
    pub items: BTreeMap<CostItem, f64>,
    /// Sign or letters of the currency; blank shows plain numbers.
    pub currency: String,
    /// Width of the bright flat at which this crew calls an edge dull.
    pub flat_when_dull: Option<Width>,
}
