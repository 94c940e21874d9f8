//! A chipper, with the figures that its own manual gives.

use super::Line;
use crate::quantities::{MeterHours, Torque, Width};

/// How the rotor carries the knives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rotor {
    /// Knives along a drum.
    Drum,
    /// Knives on the face of a disc.
    Disc,
}

impl Rotor {
    /// Both kinds.
    pub const ALL: [Rotor; 2] = [Rotor::Drum, Rotor::Disc];

    /// The word the crew uses.
    pub fn word(self) -> &'static str {
        match self {
            Rotor::Drum => "drum",
            Rotor::Disc => "disc",
        }
    }
}

/// One machine. Everything after `rule` is as this machine's manual or the crew gives it; keenspan
/// has no figure of its own for torque, gap or discard width.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// Line in machines.csv.
    pub line: Line,
    /// What the crew calls it.
    pub name: String,
    /// Drum or disc.
    pub rotor: Rotor,
    /// Knives in a set.
    pub knives: u32,
    /// Cutting edges on each knife: 1, or 2 where knives are reversible.
    pub edges_per_knife: u32,
    /// Hour-meter reading when the log was started.
    pub meter: Option<MeterHours>,
    /// Today's rule: change after this many meter hours.
    pub rule: Option<MeterHours>,
    /// The machine is serviced every so many meter hours anyway.
    pub service_every: Option<MeterHours>,
    /// Wrench sizes, as written.
    pub wrench: String,
    /// Knife bolt torque, as this machine's manual gives it.
    pub bolt_torque: Option<Torque>,
    /// Gap between knife and bed knife, as this machine's manual gives it.
    pub bed_knife_gap: Option<Width>,
    /// Knives below this width are discarded, as this machine's manual gives it.
    pub discard_width: Option<Width>,
    /// Whatever else.
    pub note: String,
}

impl Machine {
    /// A machine with reversible knives and every other cell blank.
    /// Its line is 0 until it stands in a file.
    pub fn named(name: &str, rotor: Rotor, knives: u32) -> Self {
        Self {
            line: Line(0),
            name: name.to_owned(),
            rotor,
            knives,
            edges_per_knife: 2,
            meter: None,
            rule: None,
            service_every: None,
            wrench: String::new(),
            bolt_torque: None,
            bed_knife_gap: None,
            discard_width: None,
            note: String::new(),
        }
    }
}
