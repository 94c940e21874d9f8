//! What things cost this crew.

use crate::quantities::{Sensible, Width};
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

impl CostItem {
    /// Every item, in the order of a new costs.csv.
    pub const ALL: [CostItem; 11] = [
        CostItem::ChangeMinutes,
        CostItem::MechanicPerHour,
        CostItem::GrindPerKnife,
        CostItem::NewKnife,
        CostItem::RegrindsPerKnife,
        CostItem::FieldDelayMinutes,
        CostItem::CrewPerHour,
        CostItem::WaitingShare,
        CostItem::FuelPerLitre,
        CostItem::FuelLitresPerHour,
        CostItem::StrikeDamage,
    ];

    /// Its key in costs.csv.
    pub fn key(self) -> &'static str {
        match self {
            CostItem::ChangeMinutes => "change_minutes",
            CostItem::MechanicPerHour => "mechanic_per_hour",
            CostItem::GrindPerKnife => "grind_per_knife",
            CostItem::NewKnife => "new_knife",
            CostItem::RegrindsPerKnife => "regrinds_per_knife",
            CostItem::FieldDelayMinutes => "field_delay_minutes",
            CostItem::CrewPerHour => "crew_per_hour",
            CostItem::WaitingShare => "waiting_share",
            CostItem::FuelPerLitre => "fuel_per_litre",
            CostItem::FuelLitresPerHour => "fuel_litres_per_hour",
            CostItem::StrikeDamage => "strike_damage",
        }
    }

    /// Its unit, as costs.csv has it.
    pub fn unit(self) -> &'static str {
        match self {
            CostItem::ChangeMinutes | CostItem::FieldDelayMinutes => "minutes",
            CostItem::MechanicPerHour | CostItem::CrewPerHour => "money per hour",
            CostItem::GrindPerKnife | CostItem::NewKnife => "money per knife",
            CostItem::RegrindsPerKnife => "regrinds",
            CostItem::WaitingShare => "share from 0 to 1",
            CostItem::FuelPerLitre => "money per litre",
            CostItem::FuelLitresPerHour => "litres per hour",
            CostItem::StrikeDamage => "money",
        }
    }

    /// How far it may reach.
    pub fn range(self) -> Sensible {
        match self {
            CostItem::ChangeMinutes | CostItem::FieldDelayMinutes => Sensible::MINUTES,
            CostItem::RegrindsPerKnife => Sensible::GRINDS,
            CostItem::FuelLitresPerHour => Sensible::LITRES_PER_HOUR,
            CostItem::WaitingShare => Sensible::SHARE,
            CostItem::MechanicPerHour
            | CostItem::CrewPerHour
            | CostItem::GrindPerKnife
            | CostItem::NewKnife
            | CostItem::FuelPerLitre
            | CostItem::StrikeDamage => Sensible::MONEY,
        }
    }

    /// What it is, in a clause for the note column.
    pub fn about(self) -> &'static str {
        match self {
            CostItem::ChangeMinutes => "to change or flip one set at the yard",
            CostItem::MechanicPerHour => "pay of whoever changes knives",
            CostItem::GrindPerKnife => "grinding one edge of one knife",
            CostItem::NewKnife => "buying one knife",
            CostItem::RegrindsPerKnife => "grinds that one knife lasts",
            CostItem::FieldDelayMinutes => "a forced change on the job, beyond a planned one",
            CostItem::CrewPerHour => "crew and machine while the job stands",
            CostItem::WaitingShare => "share of chipping time that the crew waits on the chipper",
            CostItem::FuelPerLitre => "price of fuel",
            CostItem::FuelLitresPerHour => "fuel burnt with a fresh edge",
            CostItem::StrikeDamage => "hitting metal or stone, beyond the forced change",
        }
    }
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
