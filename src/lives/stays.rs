//! Which edge sat in which machine between which readings: the machine's time line.

use super::MeterHours;
use super::hours;
use super::open_life::OpenLife;
use super::shop::Stand;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A stay of an edge in a machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Stay {
    /// Machine, by name.
    pub machine: String,
    /// Knife set, by name.
    pub set: String,
    /// Which edge, from 1.
    pub edge: u32,
    /// What the machine's present hour meter read when it went in.
    pub from: MeterHours,
    /// What it read when the edge came out, or reads now.
    pub to: MeterHours,
    /// The day on which it went in.
    pub went_in: Date,
    /// The day on which it came out; `None` while it is at work.
    pub came_out: Option<Date>,
    /// The last stay of this life so far: what is known of its end is known here.
    pub last: bool,
    /// Its place in [`Lives::lives`](super::Lives::lives); `None` where that life was set aside.
    pub life: Option<usize>,
}

/// The stays of one life. Those before the present hour meter was put on have no reading and are left out.
pub(super) fn stays(
    life: &OpenLife,
    stands: &BTreeMap<&str, Stand<'_>>,
    place: Option<usize>,
) -> Vec<Stay> {
    let count = life.stays.len();
    let stay = |(number, stay): (usize, &super::open_life::Stay)| {
        let meter = &stands.get(stay.machine.as_str())?.timeline.meter;
        let (to, day) = stay.out?;
        Some(Stay {
            machine: stay.machine.clone(),
            set: life.name.set.clone(),
            edge: life.name.edge,
            from: hours(meter.reading_at(stay.from)?),
            to: hours(meter.reading_at(to)?),
            went_in: stay.day,
            // An edge still at work is closed on the last day there is.
            came_out: Some(day).filter(|day| *day != Date::MAX),
            last: number + 1 == count,
            life: place,
        })
    };
    life.stays.iter().enumerate().filter_map(stay).collect()
}
