//! What to look at first, by what carries the shift.

use super::carriers::{Carrier, Factor};
use super::cusum::Side;
use crate::quantities::{MeterHours, Probability};
use serde::{Deserialize, Serialize};
use std::fmt;

/// From this chance on a carrier is looked at first. Basis: likelier than not.
const LIKELY: f64 = 0.5;

/// What was done to the bed knife of a machine.
#[derive(Debug, Clone, PartialEq)]
pub struct BedKnifeWork {
    /// Machine, by name.
    pub machine: String,
    /// How many of the edges had come out by then.
    pub edges_before: usize,
    /// Meter hours worked since.
    pub hours_since: MeterHours,
}

/// One thing to look at.
///
/// Basis: published where said; a grind's angle, heat and match, the gap, a bed knife that is turned or ground
/// square: operators' manuals of chippers, two of which say that with a wrong gap the knife will seem to be
/// dull. The order: common practice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "look_at", rename_all = "kebab-case")]
pub enum LookAt {
    /// The angle of the grind.
    GrindAngle,
    /// Heat marks from grinding.
    HeatMarks,
    /// Whether the knives of a set match.
    MatchedSet,
    /// The bed knife was turned or reset just before.
    BedKnifeWork {
        /// Machine, by name.
        machine: String,
        /// Meter hours worked since.
        hours_since: MeterHours,
    },
    /// The gap to the bed knife, and its edge.
    BedKnifeGap,
    /// Bolts and bearings.
    Bolts,
    /// Dirt that nobody wrote down.
    UnloggedDirt,
    /// Whether the same eyes look in the same way.
    Graders,
    /// What is done better than before.
    WhatImproved,
    /// Whether the meter counts and every change is written down.
    Meter,
}

impl fmt::Display for LookAt {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let LookAt::BedKnifeWork {
            machine,
            hours_since,
        } = self
        {
            let hours = hours_since.get();
            return write!(
                to,
                "Bed knife: that of {machine} was turned or reset just before lives changed, {hours:.0} meter hours ago. Have its gap measured again and set by the manual."
            );
        }
        to.write_str(match self {
            LookAt::BedKnifeWork { .. } => "",
            LookAt::GrindAngle => "Grind angle: hold a gauge to a freshly ground knife and compare it with the figure in the machine's manual.",
            LookAt::HeatMarks => "Heat marks: blue or straw-coloured steel along the edge has lost its hardness in grinding. Ask for shorter passes and more coolant.",
            LookAt::MatchedSet => "Match: measure and weigh the knives of the set; a set that does not match by the manual's figure stays out.",
            LookAt::BedKnifeGap => "Bed knife: have its gap measured and its edge looked at, by the manual. With a wrong gap or a rounded bed knife good knives seem dull.",
            LookAt::Bolts => "Bolts and bearings: have knife bolts checked to the manual's torque and rotor bearings looked at, by a qualified person.",
            LookAt::UnloggedDirt => "Dirt not in the log: ask whether wood was dragged, or came with roots or soil, in runs that were logged cleaner or not at all.",
            LookAt::Graders => "The eye: ask whether somebody else grades edges now, or calls them dull earlier or later. That looks just like this.",
            LookAt::WhatImproved => "What is better: find out what changed about then (who grinds, wheel, steel, honing, wood kept off the ground) and keep it.",
            LookAt::Meter => "Meter and log: ask whether the hour meter counts only while the rotor turns, and whether every change is written down.",
        })
    }
}

/// What to look at, in order.
pub(super) fn look_at(
    side: Side,
    carriers: &[Carrier],
    evenly: Probability,
    bed_knife: Option<&BedKnifeWork>,
) -> Vec<LookAt> {
    if side == Side::Longer {
        return vec![LookAt::WhatImproved, LookAt::Graders, LookAt::Meter];
    }
    let suspects = carriers.iter().filter(|carrier| {
        carrier.chance.get() >= LIKELY
            || carrier.came_with_it
            || carrier.chance.get() > evenly.get()
    });
    let mut list: Vec<LookAt> = bed_knife
        .map(|work| LookAt::BedKnifeWork {
            machine: work.machine.clone(),
            hours_since: work.hours_since,
        })
        .into_iter()
        .collect();
    let spread = [Factor::Machine, Factor::Dirt, Factor::Grinder];
    let factors = suspects.map(|carrier| carrier.factor).chain(spread);
    list.extend(factors.flat_map(|factor| of(factor).iter().cloned()));
    list.push(LookAt::Graders);
    each_once(list)
}

fn of(factor: Factor) -> &'static [LookAt] {
    match factor {
        Factor::Set => &[LookAt::MatchedSet, LookAt::GrindAngle, LookAt::HeatMarks],
        Factor::Grinder => &[LookAt::GrindAngle, LookAt::HeatMarks, LookAt::MatchedSet],
        Factor::Machine => &[LookAt::BedKnifeGap, LookAt::Bolts],
        Factor::Dirt => &[LookAt::UnloggedDirt],
    }
}

/// Each thing where it comes first; work on the bed knife already asks for its gap.
fn each_once(list: Vec<LookAt>) -> Vec<LookAt> {
    list.into_iter().fold(Vec::new(), |mut kept, item| {
        let asked = |known: &LookAt| {
            *known == item
                || (item == LookAt::BedKnifeGap && matches!(known, LookAt::BedKnifeWork { .. }))
        };
        if !kept.iter().any(asked) {
            kept.push(item);
        }
        kept
    })
}
