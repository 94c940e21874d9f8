//! One machine's hours in a line: which run each hour belongs to, and which hours no run explains.

use super::conditions::{Conditions, conditions_of_runs};
use super::meter_line::{MachineLog, MeterLine, Owner, Side, Spot};
use super::meter_notes::note_out_of_line;
use super::note::{Matter, Note, Record};
use super::{SAME_PLACE, hours, tidy};
use crate::logbook::{MeterSpan, Run};
use crate::wood::{Blend, Contamination};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Hours below which a run that does not fit its readings is not worth a note: half a step of the
/// usual hour meter, which counts tenths. Basis: common practice.
const WORTH_A_NOTE: f64 = 0.05;

/// A stretch of the axis that one run covers: `(from, to]`, in hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) from: f64,
    pub(super) to: f64,
    run: usize,
}

/// One machine's axis.
#[derive(Debug)]
pub(super) struct Timeline {
    /// The readings.
    pub(super) meter: MeterLine,
    /// First hour that a record speaks of.
    pub(super) start: f64,
    /// Last hour that a record speaks of.
    pub(super) end: f64,
    /// In order, never overlapping; hours between them are on the meter and in no run.
    pub(super) pieces: Vec<Piece>,
    conditions: Vec<Conditions>,
    days: BTreeMap<Date, Day>,
}

/// First and last hour of the runs of a day.
#[derive(Debug, Clone, Copy)]
struct Day {
    from: f64,
    to: f64,
}

impl Timeline {
    pub(super) fn read(log: &MachineLog<'_>, notes: &mut Vec<Note>) -> Self {
        let meter = MeterLine::read(log, notes);
        note_out_of_line(log, &meter, notes);
        let pieces = lay_pieces(log, &meter, notes);
        let first = meter.dated.first().map(|spot| spot.at);
        let start = pieces.first().map(|piece| piece.from).into_iter();
        let start = start.chain(first).min_by(f64::total_cmp).unwrap_or(0.0);
        let last = meter.dated.last().map_or(start, |spot| spot.at);
        let end = pieces.last().map_or(last, |piece| piece.to.max(last));
        let conditions = conditions_of_runs(log);
        Self {
            days: days(&pieces, &conditions),
            meter,
            start,
            end,
            pieces,
            conditions,
        }
    }

    /// The hours `(from, to]`, cut where conditions change: each with where it stops.
    pub(super) fn stretch(&self, from: f64, to: f64, usual: &Arc<Blend>) -> Vec<(f64, Arc<Blend>)> {
        let mut cut = Vec::new();
        let mut at = from;
        let first = self.pieces.partition_point(|piece| piece.to <= from);
        for piece in self.pieces[first..].iter().take_while(|p| p.from < to) {
            if piece.from > at {
                cut.push((piece.from, usual.clone()));
            }
            at = piece.to.min(to);
            cut.push((at, self.conditions[piece.run].blend_or(usual)));
        }
        if to > at {
            cut.push((to, usual.clone()));
        }
        cut
    }

    /// Logged hours with what went through them; `None` where wood or dirt was left blank.
    pub(super) fn logged(&self) -> impl Iterator<Item = (f64, Option<&Blend>)> {
        self.pieces.iter().map(|piece| {
            let blend = self.conditions[piece.run].blend.as_deref();
            (piece.to - piece.from, blend)
        })
    }

    /// Logged hours of the last days of runs, with what went through them, where it was written.
    pub(super) fn known_of_last(&self, days: i32) -> impl Iterator<Item = (f64, &Blend)> {
        let date = |piece: &Piece| self.conditions[piece.run].date;
        let last = self.pieces.iter().map(date).max();
        let recent =
            move |piece: &&Piece| last.is_some_and(|last| (last - date(piece)).get_days() < days);
        let pieces = self.pieces.iter().filter(recent);
        pieces.filter_map(|piece| {
            let blend = self.conditions[piece.run].blend.as_deref()?;
            Some((piece.to - piece.from, blend))
        })
    }

    /// Hours from here on of which wood and dirt were written.
    pub(super) fn known_since(&self, at: f64) -> f64 {
        let known = |piece: &&Piece| self.conditions[piece.run].blend.is_some();
        let pieces = self.pieces.iter().filter(known);
        pieces
            .map(|piece| (piece.to - piece.from.max(at)).max(0.0))
            .sum()
    }

    /// Logged hours by how dirty; `None` where left blank.
    pub(super) fn contaminated(&self) -> impl Iterator<Item = (f64, Option<Contamination>)> {
        self.pieces.iter().map(|piece| {
            let class = self.conditions[piece.run].contamination;
            (piece.to - piece.from, class)
        })
    }

    /// Logged hours in which the crew's own condition at this place in the list of names held.
    pub(super) fn hours_of_own(&self, condition: usize) -> f64 {
        let held = |piece: &&Piece| self.conditions[piece.run].own.get(condition) == Some(&true);
        let pieces = self.pieces.iter().filter(held);
        pieces.map(|piece| piece.to - piece.from).sum()
    }

    /// How dirty the work was at this place; `None` where no run says.
    pub(super) fn contamination_at(&self, at: f64) -> Option<Contamination> {
        let index = self.pieces.partition_point(|piece| piece.to < at);
        let piece = self.pieces.get(index).filter(|piece| piece.from < at)?;
        self.conditions[piece.run].contamination
    }

    /// Where the first run of the day starts.
    pub(super) fn day_start(&self, date: Date) -> Option<f64> {
        self.days.get(&date).map(|day| day.from)
    }

    /// Where the machine stood after the day's last run, or after the last one before that day.
    pub(super) fn day_end(&self, date: Date) -> f64 {
        let run = self.days.range(..=date).next_back().map(|(_, day)| day.to);
        let readings = &self.meter.dated;
        let count = readings.partition_point(|spot| spot.date <= date);
        let reading = count.checked_sub(1).map(|last| readings[last].at);
        let latest = run.into_iter().chain(reading).max_by(f64::total_cmp);
        latest.unwrap_or(self.start)
    }

    /// Where the log of this machine begins: at its reading in machines.csv, or at its first run.
    pub(super) fn log_start(&self) -> Option<f64> {
        let first_run = self.pieces.first().map(|piece| piece.from);
        self.meter.on(Owner::Machine, Side::At).or(first_run)
    }
}

/// Each day's first and last place; the last one never falls from day to day.
fn days(pieces: &[Piece], conditions: &[Conditions]) -> BTreeMap<Date, Day> {
    let mut days: BTreeMap<Date, Day> = BTreeMap::new();
    for piece in pieces {
        let Piece { from, to, run } = *piece;
        let day = days.entry(conditions[run].date).or_insert(Day { from, to });
        day.from = day.from.min(from);
        day.to = day.to.max(to);
    }
    let mut latest = f64::NEG_INFINITY;
    for day in days.values_mut() {
        latest = latest.max(day.to);
        day.to = latest;
    }
    days
}

/// A run whose readings do not place it: it fills free hours after the run before it.
struct Loose {
    run: usize,
    hours: f64,
}

fn lay_pieces(log: &MachineLog<'_>, meter: &MeterLine, notes: &mut Vec<Note>) -> Vec<Piece> {
    let (fixed, loose) = sort_runs(log, meter);
    let mut pieces = trim_overlaps(fixed, log, notes);
    let floors = floors(&pieces, log);
    let mut cursor = start_of_leading(&loose, log, meter);
    for one in &loose {
        let run = log.runs[one.run];
        let floor = floor_of(run, &floors, meter);
        let from = cursor.into_iter().chain(floor).max_by(f64::total_cmp);
        let room = Room {
            from: from.unwrap_or(0.0),
            upto: meter.first_after(run.date),
        };
        let counted = fill(&mut pieces, one, room, &mut cursor);
        if one.hours - counted > WORTH_A_NOTE {
            notes.push(more_than_meter(run, one.hours, counted));
        }
    }
    pieces
}

fn more_than_meter(run: &Run, written: f64, counted: f64) -> Note {
    Note {
        record: Record::Run(run.line),
        matter: Matter::MoreThanMeter {
            written: hours(written),
            counted: hours(counted),
        },
    }
}

/// A run as its readings place it; `written` is its length, as far as its readings are believed.
struct Fixed {
    piece: Piece,
    written: f64,
}

fn sort_runs(log: &MachineLog<'_>, meter: &MeterLine) -> (Vec<Fixed>, Vec<Loose>) {
    let (mut fixed, mut loose) = (Vec::new(), Vec::new());
    for (index, run) in log.runs.iter().enumerate() {
        match run.span {
            MeterSpan::Hours(hours) => loose.push(Loose {
                run: index,
                hours: hours.get(),
            }),
            MeterSpan::Readings { start, end } => {
                let hours = tidy(end.get() - start.get()).max(0.0);
                match by_readings(index, hours, meter) {
                    Some(run) => fixed.push(run),
                    None => loose.push(Loose { run: index, hours }),
                }
            }
        }
    }
    (fixed, loose)
}

fn by_readings(run: usize, written: f64, meter: &MeterLine) -> Option<Fixed> {
    let begin = meter.spot(Owner::Run(run), Side::Begin)?;
    let end = meter.spot(Owner::Run(run), Side::End)?;
    let (from, to) = match (begin, end) {
        (Spot::On(from), Spot::On(to)) => (from, to),
        (Spot::Off { after, .. }, Spot::On(to)) => (after.unwrap_or(to - written), to),
        (Spot::On(from), Spot::Off { before, .. }) => {
            let to = from + written;
            (from, before.map_or(to, |before| to.min(before)))
        }
        (Spot::Off { .. }, Spot::Off { .. }) => return None,
    };
    let end_used = matches!(end, Spot::On(_));
    Some(Fixed {
        piece: Piece { from, to, run },
        written: if end_used { written } else { to - from },
    })
}

/// Hours in two runs count once: the one that starts later is trimmed.
fn trim_overlaps(mut fixed: Vec<Fixed>, log: &MachineLog<'_>, notes: &mut Vec<Note>) -> Vec<Piece> {
    fixed.sort_by(|a, b| {
        let by_place = a.piece.from.total_cmp(&b.piece.from);
        by_place.then(a.piece.run.cmp(&b.piece.run))
    });
    let mut covered = f64::NEG_INFINITY;
    let mut pieces = Vec::new();
    for Fixed { piece, written } in fixed {
        let from = piece.from.max(covered);
        let to = piece.to.max(from);
        let lost = written - (to - from);
        if lost > WORTH_A_NOTE {
            let record = Record::Run(log.runs[piece.run].line);
            let matter = Matter::Overlap { hours: hours(lost) };
            notes.push(Note { record, matter });
        }
        if to - from > SAME_PLACE {
            let run = piece.run;
            pieces.push(Piece { from, to, run });
        }
        covered = covered.max(to);
    }
    pieces
}

/// By run, in order of date and line: how far the placed runs up to it reach.
fn floors(pieces: &[Piece], log: &MachineLog<'_>) -> Vec<(Date, u64, f64)> {
    let mut floors: Vec<_> = pieces
        .iter()
        .map(|piece| {
            let run = log.runs[piece.run];
            (run.date, run.line.0, piece.to)
        })
        .collect();
    floors.sort_by_key(|(date, line, _)| (*date, *line));
    let mut reach = f64::NEG_INFINITY;
    for (_, _, to) in &mut floors {
        reach = reach.max(*to);
        *to = reach;
    }
    floors
}

/// A loose run lies after the runs written before it and after the readings of earlier days. It
/// fills the hours from there on: the meter moved through them, and this run is what explains it.
fn floor_of(run: &Run, floors: &[(Date, u64, f64)], meter: &MeterLine) -> Option<f64> {
    let key = (run.date, run.line.0);
    let count = floors.partition_point(|(date, line, _)| (*date, *line) < key);
    let after_run = count.checked_sub(1).map(|last| floors[last].2);
    let earlier = meter.last_before(run.date);
    after_run.into_iter().chain(earlier).max_by(f64::total_cmp)
}

/// Loose runs before the first reading lie right before it; without any reading the axis starts with
/// them.
fn start_of_leading(loose: &[Loose], log: &MachineLog<'_>, meter: &MeterLine) -> Option<f64> {
    let first = meter.dated.first()?;
    let leads = |one: &&Loose| {
        let date = log.runs[one.run].date;
        date < first.date || date == first.date && !first.before_work
    };
    let total: f64 = loose.iter().take_while(leads).map(|one| one.hours).sum();
    Some(tidy(first.at - total))
}

#[derive(Clone, Copy)]
struct Room {
    from: f64,
    upto: Option<f64>,
}

/// Puts a loose run into the free hours from `room.from` on; returns the hours that found room and
/// moves the cursor to where the run ended.
fn fill(pieces: &mut Vec<Piece>, one: &Loose, room: Room, cursor: &mut Option<f64>) -> f64 {
    let mut at = room.from;
    let mut left = one.hours;
    let mut next = pieces.partition_point(|piece| piece.to <= at);
    while left > SAME_PLACE {
        let wall = pieces.get(next).map(|piece| piece.from).into_iter();
        let wall = wall.chain(room.upto).min_by(f64::total_cmp);
        let free = wall.map_or(left, |wall| (wall - at).clamp(0.0, left));
        if free > SAME_PLACE {
            let (from, to, run) = (at, tidy(at + free), one.run);
            pieces.insert(next, Piece { from, to, run });
            (at, left, next) = (to, left - free, next + 1);
        }
        match pieces.get(next) {
            Some(piece) if left > SAME_PLACE && room.upto.is_none_or(|upto| piece.to <= upto) => {
                (at, next) = (piece.to.max(at), next + 1);
            }
            _ => break,
        }
    }
    *cursor = Some(at);
    one.hours - left
}
