//! The invented yard: its machines, its knife sets, its costs.

use crate::logbook::{
    CostEntries, CostItem, DateOrder, KnifeSet, Line, Logbook, Machine, Rotor, ShopSettings,
};
use crate::quantities::{MeterHours, Torque, Units, Width};

/// Where the meters stand when the log starts.
pub(super) const HERON_METER: f64 = 1192.0;
pub(super) const NETTLE_METER: f64 = 2041.5;
/// Where Heron stood when the edge was fitted that is at work when the log starts.
pub(super) const FITTED_BEFORE: f64 = 1180.4;
/// Knives are discarded rather than ground more often than this.
pub(super) const MOST_REGRINDS: u32 = 9;

/// The sets of Heron, then those of Nettle.
pub(super) const HERON_SETS: [&str; 4] = ["Red", "Blue", "White", "Plum"];
pub(super) const NETTLE_SETS: [&str; 3] = ["Stripe", "Dot", "Ring"];

/// The log before its first day.
pub(super) fn opening() -> Logbook {
    let sets = HERON_SETS.iter().map(|name| (*name, 4, 110.0));
    let sets = sets.chain(NETTLE_SETS.iter().map(|name| (*name, 2, 100.0)));
    Logbook {
        machines: vec![heron(), nettle()],
        sets: sets.map(knife_set).collect(),
        costs: CostEntries {
            items: [
                (CostItem::CrewPerHour, 96.0),
                (CostItem::FuelPerLitre, 1.62),
                (CostItem::FuelLitresPerHour, 7.0),
            ]
            .into(),
            currency: "EUR".to_owned(),
            flat_when_dull: None,
        },
        shop: ShopSettings {
            name: "Riverbank and parks (invented)".to_owned(),
            units: Units::Metric,
            dates: Some(DateOrder::YearFirst),
        },
        ..Logbook::default()
    }
}

fn heron() -> Machine {
    Machine {
        line: Line(2),
        name: "Heron".to_owned(),
        rotor: Rotor::Drum,
        knives: 4,
        edges_per_knife: 2,
        meter: hours(HERON_METER),
        rule: hours(50.0),
        service_every: hours(25.0),
        wrench: "24 mm".to_owned(),
        bolt_torque: Torque::new(190.0).ok(),
        bed_knife_gap: width(2.0),
        discard_width: width(102.0),
        note: "invented figures; use those of your own manual".to_owned(),
    }
}

fn nettle() -> Machine {
    Machine {
        line: Line(3),
        name: "Nettle".to_owned(),
        rotor: Rotor::Disc,
        knives: 2,
        meter: hours(NETTLE_METER),
        rule: hours(30.0),
        service_every: hours(25.0),
        wrench: "19 mm".to_owned(),
        bolt_torque: Torque::new(110.0).ok(),
        discard_width: width(92.0),
        ..heron()
    }
}

/// Regrinds that some sets had before the log starts.
pub(super) fn regrinds_before(name: &str) -> u32 {
    match name {
        "Red" => 2,
        "White" => 5,
        "Stripe" => 3,
        _ => 0,
    }
}

fn knife_set((name, knives, new_width): (&str, u32, f64)) -> KnifeSet {
    let regrinds = regrinds_before(name);
    KnifeSet {
        line: Line(0),
        name: name.to_owned(),
        knives,
        edges_per_knife: 2,
        width: width(new_width - 0.6 * f64::from(regrinds)),
        regrinds,
        steel: String::new(),
        note: String::new(),
    }
}

pub(super) fn hours(value: f64) -> Option<MeterHours> {
    MeterHours::new(value).ok()
}

pub(super) fn width(millimetres: f64) -> Option<Width> {
    Width::from_millimetres(millimetres).ok()
}
