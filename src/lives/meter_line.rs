//! From hour-meter readings to one hour axis per machine.
//!
//! The meter is the authority on hours. Readings that contradict the others are found by keeping
//! the heaviest set of readings that never falls with the date; the rest take their place from
//! their date. A replaced meter starts a new stretch of the same axis.

use super::increasing::heaviest_nondecreasing;
use super::meter_notes::note_jumps;
use super::note::{Note, Record};
use super::tidy;
use crate::logbook::{EdgeEvent, EventKind, Line, Machine, MeterSpan, OwnConditions, Run};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Everything that was written about one machine, in order of date and line.
pub(super) struct MachineLog<'a> {
    pub(super) machine: &'a Machine,
    pub(super) runs: Vec<&'a Run>,
    pub(super) events: Vec<&'a EdgeEvent>,
    pub(super) own: &'a OwnConditions,
}

/// Whose reading: the machine's own, or that of a run or event by its place in the [`MachineLog`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Owner {
    Machine,
    Run(usize),
    Event(usize),
}

/// Which of the owner's readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Side {
    Begin,
    At,
    End,
}

/// Where a reading lies on the machine's axis, in hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Spot {
    /// Here.
    On(f64),
    /// The reading contradicts the others; by its date it lies between these.
    Off {
        after: Option<f64>,
        before: Option<f64>,
    },
}

/// A reading that was used, with its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct DatedSpot {
    pub(super) date: Date,
    pub(super) at: f64,
    /// The day's work had yet to come: an edge was fitted, or a run written.
    pub(super) before_work: bool,
}

/// The readings of one machine on its axis.
#[derive(Debug)]
pub(super) struct MeterLine {
    spots: BTreeMap<(Owner, Side), Spot>,
    /// Readings used, in order of date and of place.
    pub(super) dated: Vec<DatedSpot>,
    /// Axis minus reading, for the meter that is on the machine now; `None` without any reading.
    offset_now: Option<f64>,
}

impl MeterLine {
    pub(super) fn read(log: &MachineLog<'_>, notes: &mut Vec<Note>) -> Self {
        let replacements = replacements(log);
        let mut line = MeterLine {
            spots: BTreeMap::new(),
            dated: Vec::new(),
            offset_now: None,
        };
        let marks = marks(log, &replacements);
        for (epoch, marks) in marks.iter().enumerate() {
            let base = epoch
                .checked_sub(1)
                .map(|before| line.end_of_epoch(log, &replacements[before]));
            line.take_epoch(marks, base, log.machine, notes);
        }
        line
    }

    pub(super) fn spot(&self, owner: Owner, side: Side) -> Option<Spot> {
        self.spots.get(&(owner, side)).copied()
    }

    /// The place of a reading that was used.
    pub(super) fn on(&self, owner: Owner, side: Side) -> Option<f64> {
        match self.spot(owner, side)? {
            Spot::On(at) => Some(at),
            Spot::Off { .. } => None,
        }
    }

    /// What the present meter reads at a place on the axis; `None` before that meter was put on.
    pub(super) fn reading_at(&self, at: f64) -> Option<f64> {
        let reading = tidy(at - self.offset_now?);
        (reading >= 0.0).then_some(reading)
    }

    /// Whether the present meter is read in tenths: some reading used is no whole hour.
    pub(super) fn reads_tenths(&self) -> bool {
        let readings = self
            .dated
            .iter()
            .filter_map(|spot| self.reading_at(spot.at));
        readings
            .into_iter()
            .any(|reading| tidy(reading.fract()) > 0.0)
    }

    /// The last reading used on a day before `date`.
    pub(super) fn last_before(&self, date: Date) -> Option<f64> {
        let count = self.dated.partition_point(|spot| spot.date < date);
        count.checked_sub(1).map(|last| self.dated[last].at)
    }

    /// The first reading used on a day after `date`.
    pub(super) fn first_after(&self, date: Date) -> Option<f64> {
        let count = self.dated.partition_point(|spot| spot.date <= date);
        self.dated.get(count).map(|spot| spot.at)
    }

    /// Where the axis stands when a meter is replaced. While a meter is out of order crews write
    /// hours only: those come on top of the last reading that was used.
    fn end_of_epoch(&self, log: &MachineLog<'_>, replacement: &Replacement) -> f64 {
        let at_event = self.on(Owner::Event(replacement.event), Side::Begin);
        let own = |spot: &&DatedSpot| Some(spot.at) != at_event || spot.date < replacement.date;
        let last = self.dated.iter().rev().find(own);
        let written: f64 = log
            .runs
            .iter()
            .filter(|run| last.is_none_or(|last| run.date > last.date))
            .filter(|run| run.date <= replacement.date)
            .filter_map(|run| hours_only(run))
            .sum();
        let counted = last.map_or(0.0, |last| last.at) + written;
        at_event.unwrap_or(counted).max(counted)
    }

    fn take_epoch(
        &mut self,
        marks: &[Mark],
        base: Option<f64>,
        machine: &Machine,
        notes: &mut Vec<Note>,
    ) {
        let weighed: Vec<_> = marks.iter().map(|m| (m.reading, m.weight())).collect();
        let keep = heaviest_nondecreasing(&weighed);
        let used = || marks.iter().zip(&keep).filter(|(_, keep)| **keep);
        let Some((first, _)) = used().next() else {
            return;
        };
        let offset = base.map_or(0.0, |base| base - first.reading);
        self.offset_now = Some(offset);
        note_jumps(used().map(|(mark, _)| mark), machine, notes);
        self.place(marks, &keep, offset);
    }

    fn place(&mut self, marks: &[Mark], keep: &[bool], offset: f64) {
        let at = |mark: &Mark| tidy(mark.reading + offset);
        let mut after = self.dated.last().map(|spot| spot.at);
        for (index, mark) in marks.iter().enumerate() {
            let spot = if keep[index] {
                after = Some(at(mark));
                self.dated.push(mark.dated(at(mark)));
                Spot::On(at(mark))
            } else {
                let later = (index..marks.len()).find(|later| keep[*later]);
                let before = later.map(|later| at(&marks[later]));
                Spot::Off { after, before }
            };
            self.spots.insert((mark.owner, mark.side), spot);
        }
    }
}

/// The hours of a run that was written without readings.
fn hours_only(run: &Run) -> Option<f64> {
    match run.span {
        MeterSpan::Hours(hours) => Some(hours.get()),
        MeterSpan::Readings { .. } => None,
    }
}

/// One reading as written.
pub(super) struct Mark {
    owner: Owner,
    side: Side,
    pub(super) record: Record,
    line: Line,
    /// `None` for readings from before the log's first day.
    pub(super) date: Option<Date>,
    pub(super) reading: f64,
    before_work: bool,
}

impl Mark {
    /// How much a reading counts against those it contradicts. The start of a run counts least: a
    /// start below the end of the run before it is the usual overlap. Basis: judgement.
    fn weight(&self) -> u32 {
        match self.side {
            Side::Begin => 2,
            Side::At | Side::End => 3,
        }
    }

    fn dated(&self, at: f64) -> DatedSpot {
        DatedSpot {
            date: self.date.unwrap_or(Date::MIN),
            at,
            before_work: self.before_work,
        }
    }
}

struct Replacement {
    event: usize,
    date: Date,
    old: Option<f64>,
    new: f64,
}

fn replacements(log: &MachineLog<'_>) -> Vec<Replacement> {
    let mut found: Vec<Replacement> = Vec::new();
    for (event, row) in log.events.iter().enumerate() {
        if row.kind == EventKind::MeterReplaced {
            let since = found.last().map(|before| before.date);
            let old = row.meter.map(|meter| meter.get());
            found.push(Replacement {
                event,
                date: row.date,
                old: old.or_else(|| last_run_reading(log, since, row.date)),
                new: row.new_meter.map_or(0.0, |meter| meter.get()),
            });
        }
    }
    found
}

fn last_run_reading(log: &MachineLog<'_>, since: Option<Date>, before: Date) -> Option<f64> {
    log.runs
        .iter()
        .filter(|run| run.date < before && since.is_none_or(|since| run.date > since))
        .filter_map(|run| match run.span {
            MeterSpan::Readings { end, .. } => Some(end.get()),
            MeterSpan::Hours(_) => None,
        })
        .next_back()
}

/// Which meter a reading belongs to, counted from 0. On the day of a replacement itself, the one
/// whose reading is nearer.
fn epoch_of(date: Option<Date>, reading: f64, replacements: &[Replacement]) -> usize {
    let passed = |replacement: &&Replacement| match date {
        None => false,
        Some(date) if date == replacement.date => {
            let to_new = (reading - replacement.new).abs();
            replacement
                .old
                .is_none_or(|old| to_new < (reading - old).abs())
        }
        Some(date) => date > replacement.date,
    };
    replacements.iter().take_while(passed).count()
}

fn marks(log: &MachineLog<'_>, replacements: &[Replacement]) -> Vec<Vec<Mark>> {
    let mut epochs: Vec<Vec<Mark>> = Vec::new();
    epochs.resize_with(replacements.len() + 1, Vec::new);
    epochs[0].extend(machine_mark(log.machine));
    for (index, run) in log.runs.iter().enumerate() {
        if let MeterSpan::Readings { start, end } = run.span {
            let epoch = epoch_of(Some(run.date), start.get(), replacements);
            let sides = [(Side::Begin, start.get()), (Side::End, end.get())];
            epochs[epoch].extend(sides.map(|(side, reading)| run_mark(index, run, side, reading)));
        }
    }
    let early = fitted_before_the_log(log, replacements);
    for (index, event) in log.events.iter().enumerate() {
        for (epoch, mark) in event_marks(index, event, early == Some(index), replacements) {
            epochs[epoch].push(mark);
        }
    }
    for epoch in &mut epochs {
        epoch.sort_by(|a, b| {
            let key = |mark: &Mark| (mark.date, mark.owner, mark.side);
            let by_reading = a.date.cmp(&b.date).then(a.reading.total_cmp(&b.reading));
            by_reading
                .then(a.line.cmp(&b.line))
                .then(key(a).cmp(&key(b)))
        });
    }
    epochs
}

fn machine_mark(machine: &Machine) -> Option<Mark> {
    Some(Mark {
        owner: Owner::Machine,
        side: Side::At,
        record: Record::Machine(machine.line),
        line: machine.line,
        date: None,
        reading: machine.meter?.get(),
        before_work: true,
    })
}

fn run_mark(index: usize, run: &Run, side: Side, reading: f64) -> Mark {
    Mark {
        owner: Owner::Run(index),
        side,
        record: Record::Run(run.line),
        line: run.line,
        date: Some(run.date),
        reading,
        before_work: true,
    }
}

fn event_marks(
    index: usize,
    event: &EdgeEvent,
    early: bool,
    replacements: &[Replacement],
) -> Vec<(usize, Mark)> {
    let mark = |side, reading| Mark {
        owner: Owner::Event(index),
        side,
        record: Record::Event(event.line),
        line: event.line,
        date: (!early).then_some(event.date),
        reading,
        before_work: event.kind == EventKind::Fitted,
    };
    let meter = event.meter.map(|meter| meter.get());
    let Some(own) = replacements.iter().position(|r| r.event == index) else {
        let placed = |reading| {
            let epoch = epoch_of((!early).then_some(event.date), reading, replacements);
            (epoch, mark(Side::At, reading))
        };
        return meter.map(placed).into_iter().collect();
    };
    let old = meter.map(|reading| (own, mark(Side::Begin, reading)));
    let new = event
        .new_meter
        .map(|new| (own + 1, mark(Side::End, new.get())));
    old.into_iter().chain(new).collect()
}

/// The first fitting, when its reading lies below the machine's and every run's of the first meter: an edge that was at
/// work when the log started. Crews write it under the day of the log or under its own, so its date
/// does not count.
fn fitted_before_the_log(log: &MachineLog<'_>, replacements: &[Replacement]) -> Option<usize> {
    let first = log
        .events
        .iter()
        .position(|event| event.kind == EventKind::Fitted)?;
    let reading = log.events[first].meter?.get();
    let starts = log
        .runs
        .iter()
        .filter_map(|run| match run.span {
            MeterSpan::Readings { start, .. } => Some((run.date, start.get())),
            MeterSpan::Hours(_) => None,
        })
        .filter(|(date, start)| epoch_of(Some(*date), *start, replacements) == 0)
        .map(|(_, start)| start);
    let listed = log.machine.meter.map(|meter| meter.get());
    let lowest = starts.chain(listed).min_by(f64::total_cmp)?;
    (reading < lowest).then_some(first)
}
