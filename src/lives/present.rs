//! How each machine stands when the log ends.

use super::shop::{BedKnifeWork, Shop, Stand, WentIn};
use super::{hours, tidy};
use crate::logbook::EventKind;
use crate::quantities::MeterHours;
use crate::wood::Blend;
use jiff::civil::Date;
use std::sync::Arc;

/// The work of so many days tells what comes next. Basis: judged; four weeks hold a few jobs and no change
/// of season.
const RECENT_DAYS: i32 = 28;

/// One machine when its log ends.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineState {
    /// Machine, by name.
    pub machine: String,
    /// What its hour meter reads after the last record; `None` where the log holds no reading.
    pub meter: Option<MeterHours>,
    /// Meter hours in a year at the pace of its log; `None` where that spans less than half a year.
    pub hours_per_year: Option<MeterHours>,
    /// What it chipped in the four weeks before its last run; `None` where no run of them tells.
    pub recent: Option<Arc<Blend>>,
    /// Its hour meter is read in tenths: some reading in the log is no whole hour.
    pub reads_tenths: bool,
    /// Which edge is at work, as far as the log tells.
    pub at_work: Option<AtWork>,
    /// What was done to its bed knife, in order of time.
    pub bed_knife: Vec<BedKnifeEvent>,
}

/// The edge at work.
#[derive(Debug, Clone, PartialEq)]
pub struct AtWork {
    /// Knife set, by name.
    pub set: String,
    /// Which edge, from 1.
    pub edge: u32,
    /// The day it was last fitted or flipped to.
    pub since: Date,
    /// What the present hour meter read then; `None` without readings, or before that meter.
    pub meter_then: Option<MeterHours>,
    /// Meter hours worked since then. An edge that was taken out and fitted again without a regrind
    /// has worked longer: see its life.
    pub hours_since: MeterHours,
    /// Of those, hours of which no run tells wood and dirt. They count as the usual mix.
    pub hours_guessed: MeterHours,
    /// It has been struck and not ground since.
    pub struck: bool,
    /// Its place in [`Lives::lives`](super::Lives::lives); `None` where it was set aside.
    pub life: Option<usize>,
}

/// One piece of work on the bed knife.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedKnifeEvent {
    /// Turned or reset.
    pub kind: EventKind,
    /// The day.
    pub date: Date,
    /// What the present hour meter read then; `None` without readings, or before that meter.
    pub meter: Option<MeterHours>,
    /// Meter hours worked since.
    pub hours_since: MeterHours,
}

pub(super) fn state(name: &str, stand: &Stand<'_>, shop: &Shop<'_>) -> MachineState {
    let timeline = &stand.timeline;
    let works = shop.bed_knives.get(name).map_or(&[][..], Vec::as_slice);
    MachineState {
        machine: name.to_owned(),
        meter: timeline.meter.reading_at(timeline.end).map(hours),
        hours_per_year: None,
        recent: Blend::average(timeline.known_of_last(RECENT_DAYS)).map(Arc::new),
        reads_tenths: timeline.meter.reads_tenths(),
        at_work: at_work(name, stand, shop),
        bed_knife: works.iter().map(|work| bed_knife(work, stand)).collect(),
    }
}

fn at_work(name: &str, stand: &Stand<'_>, shop: &Shop<'_>) -> Option<AtWork> {
    let seat = shop.seats.get(name)?;
    let WentIn { at, date } = *shop.went_in.get(name)?;
    let timeline = &stand.timeline;
    Some(AtWork {
        set: seat.set.clone(),
        edge: seat.edge,
        since: date,
        meter_then: timeline.meter.reading_at(at).map(hours),
        hours_since: hours(timeline.end - at),
        hours_guessed: hours(tidy(timeline.end - at - timeline.known_since(at))),
        struck: false,
        life: None,
    })
}

fn bed_knife(work: &BedKnifeWork, stand: &Stand<'_>) -> BedKnifeEvent {
    let timeline = &stand.timeline;
    BedKnifeEvent {
        kind: work.kind,
        date: work.date,
        meter: timeline.meter.reading_at(work.at).map(hours),
        hours_since: hours(timeline.end - work.at),
    }
}
