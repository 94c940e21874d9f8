//! What must hold of edge lives whatever a crew writes.

use approx::assert_abs_diff_eq;
use jiff::civil::Date;
use keenspan::lives::{EdgeLife, Lives, Observation, edge_lives};
use keenspan::logbook::{
    EdgeEvent, EventKind, KnifeSet, Line, Logbook, Machine, MeterSpan, Rotor, Run,
};
use keenspan::quantities::{Grade, MeterHours, Width};
use keenspan::wood::{Contamination, WoodMix, WoodState};
use proptest::prelude::*;
use proptest::sample::{select, subsequence};

const MACHINES: [&str; 3] = ["Otter", "Wren", "Nobody's"];
const SETS: [&str; 3] = ["A", "B", "C"];
/// Sums of a few hundred binary fractions.
const ROUNDING: f64 = 1e-6;

fn hours(value: f64) -> MeterHours {
    MeterHours::new(value).expect("hours are zero or more")
}

fn day(offset: i16) -> Date {
    let first = Date::constant(2025, 3, 1);
    first.saturating_add(jiff::Span::new().days(i64::from(offset)))
}

fn machine(index: usize) -> Machine {
    Machine {
        line: Line(index as u64 + 2),
        name: MACHINES[index].to_owned(),
        rotor: [Rotor::Drum, Rotor::Disc][index],
        knives: 2,
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

fn knife_set(index: usize) -> KnifeSet {
    KnifeSet {
        line: Line(index as u64 + 2),
        name: SETS[index].to_owned(),
        knives: 2,
        edges_per_knife: 2,
        width: None,
        regrinds: 0,
        steel: String::new(),
        note: String::new(),
    }
}

fn run(date: Date, machine: &str, span: MeterSpan, conditions: Conditions) -> Run {
    Run {
        line: Line(0),
        date,
        machine: machine.to_owned(),
        span,
        wood: conditions.0.and_then(|wood| WoodMix::parse(wood).ok()),
        contamination: conditions.1,
        state: WoodState::Green,
        loads: None,
        who: String::new(),
        note: String::new(),
    }
}

fn event(date: Date, machine: Option<&str>, kind: EventKind) -> EdgeEvent {
    EdgeEvent {
        line: Line(0),
        date,
        kind,
        machine: machine.map(str::to_owned),
        meter: None,
        set: None,
        edge: None,
        grade: None,
        flat: None,
        stock_removed: None,
        nick: None,
        new_meter: None,
        by: String::new(),
        note: String::new(),
    }
}

/// Gives every row the line that it would have in its file, ten apart to leave room.
fn numbered(mut log: Logbook) -> Logbook {
    for (index, run) in log.runs.iter_mut().enumerate() {
        run.line = Line(index as u64 * 10 + 10);
    }
    for (index, event) in log.events.iter_mut().enumerate() {
        event.line = Line(index as u64 * 10 + 10);
    }
    log
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

fn soup() -> impl Strategy<Value = Logbook> {
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
struct Worked {
    run: Conditions,
    quarters: u32,
    gap: u32,
    hours_only: bool,
    change: Option<EventKind>,
    grade: Option<Grade>,
}

fn worked() -> impl Strategy<Value = Worked> {
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
    (
        conditions(),
        1..32u32,
        gap,
        prop::bool::weighted(0.2),
        change,
        grade,
    )
        .prop_map(|(run, quarters, gap, hours_only, change, grade)| Worked {
            run,
            quarters,
            gap,
            hours_only,
            change,
            grade,
        })
}

/// Plays the days of one machine into a log in which every event has its reading. Hours-only runs
/// stand where the readings of the runs around them leave just that room.
fn kept_log() -> impl Strategy<Value = Logbook> {
    prop::collection::vec(worked(), 1..40).prop_map(|days| played(&days))
}

/// The same without runs that depend on the row above them.
fn kept_log_of_readings() -> impl Strategy<Value = Logbook> {
    let worked = worked().prop_map(|worked| Worked {
        hours_only: false,
        ..worked
    });
    prop::collection::vec(worked, 1..40).prop_map(|days| played(&days))
}

fn played(days: &[Worked]) -> Logbook {
    let mut log = Logbook {
        machines: vec![machine(0)],
        sets: (0..3).map(knife_set).collect(),
        ..Logbook::default()
    };
    let mut player = Player {
        meter: 1000.0,
        set: 0,
        log: &mut log,
    };
    player.change(0, EventKind::Fitted, None);
    for (date, worked) in days.iter().enumerate() {
        player.work(i16::try_from(date).expect("few days"), worked);
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
        let length = f64::from(worked.quarters) / 4.0;
        let gap = if worked.hours_only {
            0.0
        } else {
            f64::from(worked.gap) / 4.0
        };
        let start = hours(self.meter + gap);
        self.meter += gap + length;
        let end = hours(self.meter);
        let span = if worked.hours_only {
            MeterSpan::Hours(hours(length))
        } else {
            MeterSpan::Readings { start, end }
        };
        self.log
            .runs
            .push(run(day(date), "Otter", span, worked.run));
        if let Some(kind) = worked.change {
            self.change(date, kind, worked.grade);
            if kind == EventKind::Pulled {
                self.set = (self.set + 1) % 3;
                self.change(date, EventKind::Fitted, None);
            }
        }
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

// --- What must hold.

fn check_sound(life: &EdgeLife) -> Result<(), TestCaseError> {
    let total = life.exposure.total().get();
    prop_assert!(total > 0.0 && total.is_finite());
    let mut reached = 0.0;
    for segment in &life.exposure.segments {
        prop_assert_eq!(segment.start.get(), reached);
        prop_assert!(segment.stop.get() > reached);
        reached = segment.stop.get();
        let shares: f64 = segment.blend.parts().iter().map(|part| part.share).sum();
        prop_assert!((shares - 1.0).abs() < 1e-12);
    }
    prop_assert!(
        life.exposure
            .touch_ups
            .iter()
            .all(|up| up.at.get() <= total)
    );
    prop_assert!(life.entry.is_none_or(|entry| entry.get() <= total));
    check_observation(&life.observation, total)
}

fn check_observation(observation: &Observation, total: f64) -> Result<(), TestCaseError> {
    let Observation::Graded { looks, noticed } = observation else {
        return Err(TestCaseError::fail(
            "a crew's log gives graded observations",
        ));
    };
    prop_assert!(!looks.is_empty() || noticed.is_some());
    let places: Vec<f64> = looks.iter().map(|look| look.at.get()).collect();
    prop_assert!(places.windows(2).all(|two| two[0] < two[1]));
    let noticed = noticed.iter().map(|noticed| noticed.at.get());
    for at in places.iter().copied().chain(noticed) {
        // A look just after a touch-up stands a hair behind it, be it at the very end.
        prop_assert!(at > 0.0 && at <= total + 0.001, "{} of {}", at, total);
    }
    Ok(())
}

fn check_accounts(lives: &Lives) -> Result<(), TestCaseError> {
    let tally = &lives.tally;
    prop_assert_eq!(tally.edges_found, tally.edges_used + tally.set_aside.len());
    prop_assert_eq!(tally.edges_used, lives.lives.len());
    let endings = tally.graded_endings + tally.ungraded_endings + tally.struck + tally.running;
    prop_assert_eq!(endings, tally.edges_used);
    let mut in_lives = 0.0;
    for account in &tally.hours {
        let told = account.in_lives + account.set_aside + account.after_strike + account.no_edge;
        prop_assert!((told.get() - account.total.get()).abs() < ROUNDING);
        prop_assert!(
            account.unlogged.get() + account.before_log.get() <= account.total.get() + ROUNDING
        );
        in_lives += account.in_lives.get();
    }
    let exposed: f64 = lives
        .lives
        .iter()
        .map(|life| life.exposure.total().get())
        .sum();
    prop_assert!((in_lives - exposed).abs() < ROUNDING);
    Ok(())
}

/// Equal but for rounding: a usual mix is a sum of hours in some order.
fn assert_alike(one: &[EdgeLife], other: &[EdgeLife]) {
    assert_eq!(one.len(), other.len());
    for (a, b) in one.iter().zip(other) {
        assert_eq!(a.observation, b.observation);
        assert_eq!(
            (a.entry, a.ending, &a.features),
            (b.entry, b.ending, &b.features)
        );
        assert_eq!((&a.machine, &a.set, a.edge), (&b.machine, &b.set, b.edge));
        assert_eq!(a.exposure.touch_ups, b.exposure.touch_ups);
        assert_eq!(a.exposure.segments.len(), b.exposure.segments.len());
        for (left, right) in a.exposure.segments.iter().zip(&b.exposure.segments) {
            assert_eq!((left.start, left.stop), (right.start, right.stop));
            for (mine, yours) in left.blend.parts().iter().zip(right.blend.parts()) {
                assert_eq!(mine.covariates, yours.covariates);
                assert_abs_diff_eq!(mine.share, yours.share, epsilon = 1e-12);
            }
        }
    }
}

fn split(log: &Logbook, which: usize, share: f64) -> Logbook {
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
    log.runs.push(second);
    log
}

proptest! {
    #[test]
    fn whatever_is_written_edges_and_hours_are_all_accounted_for(log in soup()) {
        let lives = edge_lives(&log);
        check_accounts(&lives)?;
        for life in &lives.lives {
            check_sound(life)?;
        }
        for note in &lives.tally.notes {
            prop_assert!(note.to_string().contains(".csv line "));
        }
    }

    #[test]
    fn the_order_in_which_rows_are_handed_over_changes_nothing(log in soup(), seed in any::<u64>()) {
        let mut shuffled = log.clone();
        shuffle(&mut shuffled.runs, seed);
        shuffle(&mut shuffled.events, seed);
        shuffled.machines.reverse();
        shuffled.sets.reverse();
        prop_assert_eq!(edge_lives(&log), edge_lives(&shuffled));
    }

    #[test]
    fn the_order_of_rows_in_their_files_changes_no_life(
        log in kept_log_of_readings(),
        seed in any::<u64>(),
    ) {
        let mut shuffled = log.clone();
        shuffle(&mut shuffled.runs, seed);
        shuffle(&mut shuffled.events, seed);
        assert_alike(&edge_lives(&log).lives, &edge_lives(&numbered(shuffled)).lives);
    }

    #[test]
    fn splitting_a_run_in_two_changes_no_life(
        log in kept_log(),
        which in any::<usize>(),
        share in 0.0..1.0f64,
    ) {
        let whole = edge_lives(&log);
        let parted = edge_lives(&split(&log, which, share));
        assert_alike(&whole.lives, &parted.lives);
    }

    #[test]
    fn runs_of_no_hours_change_nothing(log in kept_log(), which in subsequence((0..40usize).collect::<Vec<_>>(), 5)) {
        let mut padded = log.clone();
        for index in which {
            let mut empty = log.runs[index % log.runs.len()].clone();
            empty.line = Line(empty.line.0 + 1);
            empty.span = match empty.span {
                MeterSpan::Hours(_) => MeterSpan::Hours(MeterHours::ZERO),
                MeterSpan::Readings { end, .. } => MeterSpan::Readings { start: end, end },
            };
            padded.runs.push(empty);
        }
        prop_assert_eq!(edge_lives(&log), edge_lives(&padded));
    }

    #[test]
    fn in_a_kept_log_every_hour_on_the_meter_is_some_edges(log in kept_log()) {
        let lives = edge_lives(&log);
        check_accounts(&lives)?;
        let account = &lives.tally.hours[0];
        let (first, last) = ends(&log);
        prop_assert!((account.total.get() - (last - first)).abs() < ROUNDING);
        prop_assert!(account.no_edge.get() < ROUNDING);
    }
}

/// First and last hour by the plain sum of what was worked, from the 1000 h at which the log starts.
fn ends(log: &Logbook) -> (f64, f64) {
    let mut meter = 1000.0;
    for run in &log.runs {
        meter = match run.span {
            MeterSpan::Hours(length) => meter + length.get(),
            MeterSpan::Readings { end, .. } => end.get(),
        };
    }
    (1000.0, meter)
}

/// A shuffle of our own: the order only has to differ.
fn shuffle<T>(rows: &mut [T], seed: u64) {
    let mut state = seed | 1;
    for index in (1..rows.len()).rev() {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        rows.swap(index, (state >> 33) as usize % (index + 1));
    }
}
