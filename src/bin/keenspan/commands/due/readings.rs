//! What the hour meter reads now, as typed, beside what the log has.

use crate::failure::Failure;
use keenspan::decisions::DueAnswer;
use keenspan::quantities::{Estimate, MeterHours, as_found};

/// No hour meter reads more than this.
const MOST_READ: f64 = 1e6;
/// More hours than a machine works in a year, which nobody leaves unlogged: a digit too many. Basis: common practice.
const MOST_UNLOGGED: f64 = 3000.0;

pub(super) fn typed_reading(now: f64) -> Result<MeterHours, Failure> {
    let possible = (0.0..=MOST_READ).contains(&now);
    let reading = possible.then(|| MeterHours::new(now).ok()).flatten();
    reading.ok_or_else(|| {
        Failure::Usage(format!(
            "--meter {}: no hour meter reads that; write what it reads now, from 0 to {MOST_READ:.0} hours",
            as_found(now)
        ))
    })
}

/// Meter hours since the last record.
pub(super) fn beyond(last: MeterHours, now: MeterHours) -> Result<MeterHours, Failure> {
    let since = now.get() - last.get();
    if since > MOST_UNLOGGED {
        return Err(Failure::Usage(format!(
            "--meter {}: that is {since:.0} hours after the log's last reading of {:.1}, more than a year's work; look for a \
             digit too many, or log the hours in between",
            now.get(),
            last.get()
        )));
    }
    MeterHours::new(since).map_err(|_| {
        Failure::Usage(format!(
            "--meter {}: the log's last reading is {:.1} already; give what the meter reads now",
            now.get(),
            last.get()
        ))
    })
}

/// What the meter read when the edge was due, where that is past, since this meter was put on and since the edge went in,
/// so many hours ago. The latest that it may be due can lie ahead.
pub(super) fn was_due_at(
    answer: &DueAnswer,
    meter: Option<MeterHours>,
    hours_since: MeterHours,
) -> Option<Estimate<MeterHours>> {
    let overdue = answer.overdue.filter(|by| by.point <= hours_since)?;
    let meter = meter?;
    let at = |by: MeterHours| MeterHours::new(meter.get() - by.get()).ok();
    let left = answer.hours_left.upper;
    let latest = MeterHours::new(meter.get() + left.get()).ok();
    Some(Estimate {
        point: at(overdue.point)?,
        // A meter put on since cannot have read less than nothing.
        lower: at(overdue.upper).unwrap_or_default(),
        upper: latest
            .filter(|_| left > MeterHours::ZERO)
            .or(at(overdue.lower))?,
        level: overdue.level,
    })
}
