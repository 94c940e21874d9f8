//! Small logs that a crew might write, made up at random.

use jiff::civil::Date;
use keenspan::logbook::{
    EdgeEvent, EventKind, ExtraColumns, KnifeSet, Line, LogFile, Logbook, Machine, MeterSpan,
    Rotor, RowKey, Run,
};
use keenspan::quantities::{Grade, MeterHours, Width};
use keenspan::wood::{Contamination, WoodMix};
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeMap;

const MACHINES: [&str; 3] = ["Otter", "Wren", "Nobody's"];
const SETS: [&str; 3] = ["A", "B", "C"];

pub fn hours(value: f64) -> MeterHours {
    MeterHours::new(value).expect("hours are zero or more")
}

fn day(offset: i16) -> Date {
    let first = Date::constant(2025, 3, 1);
    first.saturating_add(jiff::Span::new().days(i64::from(offset)))
}

fn machine(index: usize) -> Machine {
    Machine {
        line: Line(index as u64 + 2),
        ..Machine::named(MACHINES[index], [Rotor::Drum, Rotor::Disc][index], 2)
    }
}

fn knife_set(index: usize) -> KnifeSet {
    KnifeSet {
        line: Line(index as u64 + 2),
        ..KnifeSet::named(SETS[index], 2)
    }
}

fn run(date: Date, machine: &str, span: MeterSpan, conditions: Conditions) -> Run {
    Run {
        wood: conditions.0.and_then(|wood| WoodMix::parse(wood).ok()),
        contamination: conditions.1,
        ..Run::on(date, machine, span)
    }
}

fn event(date: Date, machine: Option<&str>, kind: EventKind) -> EdgeEvent {
    EdgeEvent {
        machine: machine.map(str::to_owned),
        ..EdgeEvent::on(date, kind)
    }
}

/// Gives every row the line that it would have in its file, ten apart to leave room. The crew's own
/// columns stay with their runs.
pub fn numbered(mut log: Logbook) -> Logbook {
    let mut own = log.extras.remove(&LogFile::Runs).unwrap_or_default();
    let mut cells = BTreeMap::new();
    for (index, run) in log.runs.iter_mut().enumerate() {
        let line = Line(index as u64 * 10 + 10);
        if let Some(row) = own.cells.get(&RowKey::Line(run.line)) {
            cells.insert(RowKey::Line(line), row.clone());
        }
        run.line = line;
    }
    own.cells = cells;
    if !own.names.is_empty() {
        log.extras.insert(LogFile::Runs, own);
    }
    for (index, event) in log.events.iter_mut().enumerate() {
        event.line = Line(index as u64 * 10 + 10);
    }
    log
}

/// Adds a run with the cells that another one has in the crew's own columns.
pub fn add_run_like(log: &mut Logbook, other: Line, run: Run) {
    if let Some(own) = log.extras.get_mut(&LogFile::Runs)
        && let Some(row) = own.cells.get(&RowKey::Line(other)).cloned()
    {
        own.cells.insert(RowKey::Line(run.line), row);
    }
    log.runs.push(run);
}

type Conditions = (Option<&'static str>, Option<Contamination>);

fn conditions() -> impl Strategy<Value = Conditions> {
    let wood = select(vec!["oak", "willow", "oak 60%, spruce 40%"]);
    let wood = prop::option::weighted(0.9, wood);
    (
        wood,
        prop::option::weighted(0.9, select(Contamination::ALL.to_vec())),
    )
}

// --- A soup: rows that need not make sense together.

fn reading() -> impl Strategy<Value = MeterHours> {
    prop_oneof![
        20 => (0..600u32).prop_map(|quarters| hours(f64::from(quarters) / 4.0)),
        1 => (0.0..1e7).prop_map(hours),
    ]
}

fn span() -> impl Strategy<Value = MeterSpan> {
    prop_oneof![
        3 => (reading(), 0..40u32).prop_map(|(start, quarters)| MeterSpan::Readings {
            start,
            end: start + hours(f64::from(quarters) / 4.0),
        }),
        1 => (0.0..12.0).prop_map(|length| MeterSpan::Hours(hours(length))),
    ]
}

fn any_run() -> impl Strategy<Value = Run> {
    (0..30i16, select(MACHINES.to_vec()), span(), conditions())
        .prop_map(|(date, machine, span, conditions)| run(day(date), machine, span, conditions))
}

fn any_event() -> impl Strategy<Value = EdgeEvent> {
    let place = (
        0..30i16,
        prop::option::weighted(0.9, select(MACHINES.to_vec())),
        prop::option::weighted(0.8, reading()),
        prop::option::weighted(0.7, select(SETS.to_vec())),
    );
    let sight = (
        select(EventKind::ALL.to_vec()),
        prop::option::weighted(0.2, 1..4u32),
        prop::option::weighted(0.3, select(Grade::ALL.to_vec())),
        prop::option::weighted(0.2, 0.0..2.0f64),
        prop::option::weighted(0.1, reading()),
    );
    (place, sight).prop_map(|((date, machine, meter, set), sight)| {
        let (kind, edge, grade, flat, new_meter) = sight;
        EdgeEvent {
            meter,
            set: set.map(str::to_owned),
            edge,
            grade,
            flat: flat.and_then(|flat| Width::from_millimetres(flat).ok()),
            new_meter,
            ..event(day(date), machine, kind)
        }
    })
}

pub fn soup() -> impl Strategy<Value = Logbook> {
    let runs = prop::collection::vec(any_run(), 0..25);
    let events = prop::collection::vec(any_event(), 0..40);
    let meter = prop::option::weighted(0.3, reading());
    let flat = prop::option::of(select(vec![0.0, 0.5]));
    (runs, events, meter, flat).prop_map(|(runs, events, meter, flat)| {
        let mut log = Logbook {
            machines: vec![machine(0), machine(1)],
            sets: vec![knife_set(0), knife_set(1)],
            runs,
            events,
            ..Logbook::default()
        };
        log.machines[0].meter = meter;
        log.costs.flat_when_dull = flat.and_then(|flat| Width::from_millimetres(flat).ok());
        numbered(log)
    })
}

// --- A kept log: one machine, readings that follow each other, edges that come and go.

#[derive(Debug, Clone)]
pub struct Worked {
    run: Conditions,
    own: [&'static str; 2],
    quarters: u32,
    gap: u32,
    pub hours_only: bool,
    change: Option<EventKind>,
    grade: Option<Grade>,
    ground_by: &'static str,
}

pub fn worked() -> impl Strategy<Value = Worked> {
    let change = prop_oneof![
        4 => Just(None),
        1 => select(vec![
            EventKind::Pulled,
            EventKind::Flipped,
            EventKind::Struck,
            EventKind::NoticedDull,
            EventKind::Checked,
            EventKind::TouchedUp,
        ]).prop_map(Some),
    ];
    let grade = prop::option::of(select(Grade::ALL.to_vec()));
    let gap = prop_oneof![4 => Just(0u32), 1 => 1..12u32];
    let own = [select(vec!["", "no", "yes"]), select(vec!["0", "1", "1"])];
    let ground_by = select(vec!["", "the mill", "The Mill", "Ada"]);
    let hours_only = prop::bool::weighted(0.2);
    let work = (conditions(), own, 1..32u32, gap, hours_only);
    (work, change, grade, ground_by).prop_map(|(work, change, grade, ground_by)| {
        let (run, own, quarters, gap, hours_only) = work;
        // No reader takes a check that says nothing.
        let checked = change == Some(EventKind::Checked);
        let grade = grade.or(checked.then_some(Grade::Working));
        Worked {
            run,
            own,
            quarters,
            gap: if hours_only { 0 } else { gap },
            hours_only,
            change,
            grade,
            ground_by,
        }
    })
}

/// Plays the days of one machine into a log in which every event has its reading. Hours-only runs
/// stand where the readings of the runs around them leave just that room.
pub fn kept_log() -> impl Strategy<Value = Logbook> {
    prop::collection::vec(worked(), 1..40).prop_map(|days| played(&days))
}

/// The same without runs that depend on the row above them.
pub fn kept_log_of_readings() -> impl Strategy<Value = Logbook> {
    let worked = worked().prop_map(|worked| Worked {
        hours_only: false,
        ..worked
    });
    prop::collection::vec(worked, 1..40).prop_map(|days| played(&days))
}

/// What these days look like in a log. A run that gives its hours only stands where the readings
/// around it leave just that room.
pub fn played(days: &[Worked]) -> Logbook {
    let own = ExtraColumns {
        names: ["vines", "creosoted"].map(str::to_owned).to_vec(),
        ..ExtraColumns::default()
    };
    let mut log = Logbook {
        machines: vec![machine(0)],
        sets: (0..3).map(knife_set).collect(),
        extras: [(LogFile::Runs, own)].into(),
        ..Logbook::default()
    };
    let mut player = Player {
        meter: 1000.0,
        set: 0,
        log: &mut log,
    };
    player.change(0, EventKind::Fitted, None);
    for (date, worked) in days.iter().enumerate() {
        player.work(2 * i16::try_from(date).expect("few days"), worked);
    }
    numbered(log)
}

struct Player<'a> {
    meter: f64,
    set: usize,
    log: &'a mut Logbook,
}

impl Player<'_> {
    fn work(&mut self, date: i16, worked: &Worked) {
        self.run(date, worked);
        let Some(kind) = worked.change else { return };
        self.change(date, kind, worked.grade);
        if kind == EventKind::Pulled {
            // On the bench the next day; the set is not needed before two more changes.
            self.log.events.push(EdgeEvent {
                set: Some(SETS[self.set].to_owned()),
                by: worked.ground_by.to_owned(),
                ..EdgeEvent::on(day(date + 1), EventKind::Reground)
            });
            self.set = (self.set + 1) % 3;
            self.change(date, EventKind::Fitted, None);
        }
    }

    fn run(&mut self, date: i16, worked: &Worked) {
        let length = f64::from(worked.quarters) / 4.0;
        let start = hours(self.meter + f64::from(worked.gap) / 4.0);
        let end = start + hours(length);
        self.meter = end.get();
        let span = if worked.hours_only {
            MeterSpan::Hours(hours(length))
        } else {
            MeterSpan::Readings { start, end }
        };
        let line = Line(self.log.runs.len() as u64 + 2);
        let own = self.log.extras.entry(LogFile::Runs).or_default();
        let cells = worked.own.map(str::to_owned).to_vec();
        own.cells.insert(RowKey::Line(line), cells);
        self.log.runs.push(Run {
            line,
            ..run(day(date), "Otter", span, worked.run)
        });
    }

    fn change(&mut self, date: i16, kind: EventKind, grade: Option<Grade>) {
        self.log.events.push(EdgeEvent {
            meter: Some(hours(self.meter)),
            set: Some(SETS[self.set].to_owned()),
            grade,
            ..event(day(date), Some("Otter"), kind)
        });
    }
}

/// Writes one run as two, parted at an eighth of an hour.
pub fn split(log: &Logbook, which: usize, share: f64) -> Logbook {
    let mut log = log.clone();
    let at = which % log.runs.len();
    let mut second = log.runs[at].clone();
    second.line = Line(second.line.0 + 1);
    let (first_span, second_span) = match log.runs[at].span {
        MeterSpan::Hours(length) => {
            let first = (length.get() * share * 8.0).round() / 8.0;
            let rest = hours(length.get() - first);
            (MeterSpan::Hours(hours(first)), MeterSpan::Hours(rest))
        }
        MeterSpan::Readings { start, end } => {
            let length = end.get() - start.get();
            let middle = start + hours((length * share * 8.0).round() / 8.0);
            let first = MeterSpan::Readings { start, end: middle };
            (first, MeterSpan::Readings { start: middle, end })
        }
    };
    log.runs[at].span = first_span;
    second.span = second_span;
    let like = log.runs[at].line;
    add_run_like(&mut log, like, second);
    log
}

/// A shuffle of our own: the order only has to differ.
pub fn shuffle<T>(rows: &mut [T], seed: u64) {
    let mut state = seed | 1;
    for index in (1..rows.len()).rev() {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        rows.swap(index, (state >> 33) as usize % (index + 1));
    }
}
