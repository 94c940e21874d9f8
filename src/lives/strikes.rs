//! Strikes, and the hours in which they could have come.

use super::hours;
use super::shop::Stand;
use crate::quantities::MeterHours;
use crate::wood::Contamination;
use std::collections::BTreeMap;

/// Strikes and chipping hours in one contamination class, over all machines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrikeClass {
    /// The class.
    pub contamination: Contamination,
    /// Meter hours logged in it.
    pub hours: MeterHours,
    /// Strikes while chipping in it.
    pub strikes: u32,
}

/// What the log tells of strikes.
#[derive(Debug, Clone, PartialEq)]
pub struct StrikeCounts {
    /// One entry a class, cleanest first.
    pub classes: [StrikeClass; 4],
    /// Meter hours of which no run says how dirty the work was.
    pub hours_unknown: MeterHours,
    /// Strikes in such hours.
    pub strikes_unknown: u32,
}

impl StrikeCounts {
    pub(super) fn of(stands: &BTreeMap<&str, Stand<'_>>, strikes: &[(&str, f64)]) -> Self {
        let class_of = |(machine, at): &(&str, f64)| {
            let stand = stands.get(machine)?;
            stand.timeline.contamination_at(*at)
        };
        let struck: Vec<_> = strikes.iter().map(class_of).collect();
        let worked = || {
            stands
                .values()
                .flat_map(|stand| stand.timeline.contaminated())
        };
        let total: f64 = stands
            .values()
            .map(|s| s.timeline.end - s.timeline.start)
            .sum();
        let known: f64 = worked()
            .filter(|(_, class)| class.is_some())
            .map(|w| w.0)
            .sum();
        let count = |class| struck.iter().filter(|found| **found == class).count();
        let classes = Contamination::ALL.map(|class| StrikeClass {
            contamination: class,
            hours: hours(worked().filter(|w| w.1 == Some(class)).map(|w| w.0).sum()),
            strikes: u32::try_from(count(Some(class))).unwrap_or(u32::MAX),
        });
        Self {
            classes,
            hours_unknown: hours(total - known),
            strikes_unknown: u32::try_from(count(None)).unwrap_or(u32::MAX),
        }
    }

    /// One class.
    pub fn class(&self, contamination: Contamination) -> &StrikeClass {
        let index = match contamination {
            Contamination::Clean => 0,
            Contamination::Dusty => 1,
            Contamination::Dirty => 2,
            Contamination::Gritty => 3,
        };
        &self.classes[index]
    }
}
