//! runs.csv.

use super::cells::{Ways, date, hours, loads, one_of};
use super::known::Known;
use super::row::RowReader;
use super::table::{TableReading, read_many_rows};
use super::woods::Woods;
use crate::logbook::{LogFile, MeterSpan, RowKey, Run};
use crate::quantities::MeterHours;
use crate::wood::{Contamination, WoodState};

/// How far hours and meter readings of one row may differ. Basis: common practice; people write
/// quarters of an hour, meters show tenths.
const HOURS_TOLERANCE: f64 = 0.25;

pub(super) fn read(bytes: &[u8], ways: Ways, known: &Known) -> (Vec<Run>, TableReading) {
    let woods = Woods::default();
    read_many_rows(LogFile::Runs, bytes, ways, |row| {
        run(row, known, &woods).map(|run| (RowKey::Line(run.line), run))
    })
}

fn run(row: &mut RowReader<'_>, known: &Known, woods: &Woods) -> Option<Run> {
    let ways = row.ways;
    let date = row.required("date", "the day, such as 2026-03-05", |text| {
        date(text, ways.dates)
    });
    let machine = row.required("machine", "the machine's name", |text| {
        known.machines.resolve(text, LogFile::Machines)
    });
    let span = span(row);
    let wood = woods.of(row);
    let contamination = contamination(row);
    let state = state(row);
    let loads = row.optional("loads", |text| loads(text, ways));
    Some(Run {
        line: row.line(),
        date: date?,
        machine: machine?,
        span: span?,
        wood,
        contamination,
        state: state.unwrap_or(WoodState::Green),
        loads,
        who: row.text("who").to_owned(),
        note: row.text("note").to_owned(),
    })
}

/// How dirty; `None` where blank.
pub(super) fn contamination(row: &mut RowReader<'_>) -> Option<Contamination> {
    row.optional("dirt", |text| {
        Contamination::parse(text)
            .or_else(|_| one_of(text, &Contamination::ALL.map(|it| (it.word(), it))))
    })
}

/// Green, dry or frozen; `None` where blank.
pub(super) fn state(row: &mut RowReader<'_>) -> Option<WoodState> {
    row.optional("state", |text| {
        WoodState::parse(text).or_else(|_| one_of(text, &WoodState::ALL.map(|it| (it.word(), it))))
    })
}

/// Hours, or readings at start and end, or both where they agree.
fn span(row: &mut RowReader<'_>) -> Option<MeterSpan> {
    let ways = row.ways;
    let length = row.optional("hours", |text| hours(text, ways));
    let start = row.optional("meter start", |text| hours(text, ways));
    let end = row.optional("meter end", |text| hours(text, ways));
    let blank = |column| row.text(column).is_empty();
    match (blank("hours"), blank("meter start"), blank("meter end")) {
        (false, true, true) => length.map(MeterSpan::Hours),
        (true, true, true) => {
            row.fault(
                "hours",
                "hours, such as 3.5, or meter start and meter end".into(),
            );
            None
        }
        (_, false, true) => {
            row.fault("meter end", "the meter reading at the end, too".into());
            None
        }
        (_, true, false) => {
            row.fault("meter start", "the meter reading at the start, too".into());
            None
        }
        (_, false, false) => readings(row, length, start?, end?),
    }
}

fn readings(
    row: &mut RowReader<'_>,
    length: Option<MeterHours>,
    start: MeterHours,
    end: MeterHours,
) -> Option<MeterSpan> {
    let (from, to) = (start.get(), end.get());
    if to < from {
        row.fault(
            "meter end",
            format!("a reading that is not below the start, {from}"),
        );
        return None;
    }
    let off = length.map_or(0.0, |length| (length.get() - (to - from)).abs());
    if off > HOURS_TOLERANCE {
        let ran = ((to - from) * 100.0).round() / 100.0;
        row.fault(
            "hours",
            format!("the hours between the readings, {ran}, or no hours"),
        );
        return None;
    }
    Some(MeterSpan::Readings { start, end })
}
