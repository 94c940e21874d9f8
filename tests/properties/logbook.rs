//! Any bytes can be read, and what was read is written back with every value kept.

use jiff::civil::Date;
use keenspan::logbook::read::{LogTexts, read_logbook, read_texts};
use keenspan::logbook::write::write_logbook;
use keenspan::logbook::{
    CostItem, DateOrder, EdgeEvent, EventKind, ExtraColumns, KnifeSet, Line, LogFile, Logbook,
    Machine, MeterSpan, Rotor, RowKey, Run,
};
use keenspan::quantities::{Grade, MeterHours, Torque, Units, Width};
use keenspan::wood::{Contamination, WoodMix, WoodState};
use proptest::prelude::*;

/// Bytes that are likely to trip a reader of CSV: quotes, separators, ends of line, halves of letters.
fn awkward_bytes() -> impl Strategy<Value = Vec<u8>> {
    let awkward =
        prop::sample::select(b"\",;\t\r\n'=-+@ 0123456789.:/%abc\xff\xc3\xa9\x00".to_vec());
    prop::collection::vec(prop_oneof![4 => awkward, 1 => any::<u8>()], 0..300)
}

/// A header that can be read, followed by anything.
fn header_and_bytes(file: LogFile) -> impl Strategy<Value = Vec<u8>> {
    let names: Vec<&str> = file.columns().iter().map(|column| column.name).collect();
    let header = names.join(",");
    (any::<bool>(), awkward_bytes()).prop_map(move |(with_header, rest)| {
        let mut bytes = if with_header {
            format!("{header}\n").into_bytes()
        } else {
            Vec::new()
        };
        bytes.extend(rest);
        bytes
    })
}

fn any_texts() -> impl Strategy<Value = LogTexts> {
    let files =
        LogFile::ALL.map(|file| header_and_bytes(file).prop_map(move |bytes| (file, bytes)));
    Vec::from(files).prop_map(|files| files.into_iter().collect())
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "['=+@-]{0,2}[a-zé,;\"' \n]{0,8}".prop_map(|text| text.trim().to_owned()),
    ]
}

fn hours() -> impl Strategy<Value = MeterHours> {
    (0.0..20_000.0).prop_map(|hours| MeterHours::new(hours).unwrap_or_default())
}

fn width() -> impl Strategy<Value = Option<Width>> {
    prop::option::of((0.0..50.0).prop_map(|width| Width::new(width).unwrap_or_default()))
}

fn day() -> impl Strategy<Value = Date> {
    (2000i16..2100, 1i8..=12, 1i8..=28)
        .prop_map(|(year, month, day)| jiff::civil::date(year, month, day))
}

fn machine() -> impl Strategy<Value = Machine> {
    (
        prop::sample::select(Rotor::ALL.to_vec()),
        (1u32..9, 1u32..=2),
        prop::option::of(hours()),
        (prop::option::of(0.5..5_000.0), prop::option::of(0.0..300.0)),
        (width(), width()),
        (text(), text()),
    )
        .prop_map(
            |(rotor, (knives, edges), meter, (rule, torque), (gap, discard), (wrench, note))| {
                Machine {
                    line: Line(2),
                    name: "big drum".into(),
                    rotor,
                    knives,
                    edges_per_knife: edges,
                    meter,
                    rule: rule.and_then(|rule: f64| MeterHours::new(rule).ok()),
                    service_every: None,
                    wrench,
                    bolt_torque: torque.and_then(|torque| Torque::new(torque).ok()),
                    bed_knife_gap: gap,
                    discard_width: discard,
                    note,
                }
            },
        )
}

fn knife_set() -> impl Strategy<Value = KnifeSet> {
    (1u32..9, width(), 0u32..20, text(), text()).prop_map(
        |(knives, width, regrinds, steel, note)| KnifeSet {
            line: Line(2),
            name: "A".into(),
            knives,
            edges_per_knife: 2,
            width,
            regrinds,
            steel,
            note,
        },
    )
}

fn span() -> impl Strategy<Value = MeterSpan> {
    prop_oneof![
        hours().prop_map(MeterSpan::Hours),
        (hours(), hours()).prop_map(|(start, length)| MeterSpan::Readings {
            start,
            end: start + length,
        }),
    ]
}

fn run() -> impl Strategy<Value = Run> {
    let woods = [
        "oak",
        "60 oak 40 spruce",
        "oak 33,3% / ash 66,7%",
        "palm",
        "red oak, silver birch",
    ];
    (
        day(),
        span(),
        prop::option::of(prop::sample::select(woods.to_vec())),
        prop::option::of(prop::sample::select(Contamination::ALL.to_vec())),
        prop::sample::select(WoodState::ALL.to_vec()),
        prop::option::of(0.0..20.0),
        (text(), text()),
    )
        .prop_map(
            |(date, span, wood, contamination, state, loads, (who, note))| Run {
                line: Line(0),
                date,
                machine: "big drum".into(),
                span,
                wood: wood.and_then(|wood| WoodMix::parse(wood).ok()),
                contamination,
                state,
                loads,
                who,
                note,
            },
        )
}

fn event() -> impl Strategy<Value = EdgeEvent> {
    (
        day(),
        prop::sample::select(EventKind::ALL.to_vec()),
        hours(),
        prop::option::of(1u32..=2),
        prop::sample::select(Grade::ALL.to_vec()),
        (width(), width(), width()),
        (text(), text()),
    )
        .prop_map(
            |(date, kind, meter, edge, grade, (flat, stock, nick), (by, note))| EdgeEvent {
                line: Line(0),
                date,
                kind,
                machine: Some("big drum".into()),
                meter: Some(meter),
                set: Some("A".into()),
                edge,
                grade: Some(grade),
                flat,
                stock_removed: stock,
                nick,
                new_meter: Some(meter),
                by,
                note,
            },
        )
}

fn logbook() -> impl Strategy<Value = Logbook> {
    (
        machine(),
        knife_set(),
        prop::collection::vec(run(), 0..6),
        prop::collection::vec(event(), 0..6),
        prop::collection::btree_map(prop::sample::select(CostItem::ALL.to_vec()), 0.0..1.0, 0..6),
        prop::option::of(prop::sample::select(DateOrder::ALL.to_vec())),
        prop::sample::select(Units::ALL.to_vec()),
        (text(), width()),
    )
        .prop_map(
            |(machine, set, runs, events, items, dates, units, (name, flat))| {
                let mut logbook = Logbook {
                    machines: vec![machine],
                    sets: vec![set],
                    runs,
                    events,
                    ..Logbook::default()
                };
                logbook.costs.items = items;
                logbook.costs.flat_when_dull = flat;
                logbook.shop.name = name;
                logbook.shop.dates = dates;
                logbook.shop.units = units;
                logbook
            },
        )
}

/// Lines are told by the file, not by the records, and notes beside settings come from the writer.
fn without_lines(mut logbook: Logbook) -> Logbook {
    let lines = logbook.runs.iter_mut().map(|run| &mut run.line);
    let lines = lines.chain(logbook.events.iter_mut().map(|event| &mut event.line));
    lines.for_each(|line| *line = Line(0));
    logbook.extras.clear();
    logbook
}

proptest! {
    #[test]
    fn any_bytes_are_read_without_a_panic_and_every_row_is_counted(texts in any_texts()) {
        let reading = read_texts(&texts);
        for count in &reading.files {
            prop_assert!(count.set_aside <= count.rows);
            let problems = reading.problems.iter().filter(|problem| problem.file == count.file);
            prop_assert!(problems.count() >= usize::from(count.set_aside > 0));
        }
        for problem in &reading.problems {
            prop_assert!(!problem.wanted.is_empty());
            prop_assert!(problem.mark.end <= problem.row.chars().count(), "{problem:?}");
        }
    }

    #[test]
    fn what_is_written_reads_back_with_every_value_kept(logbook in logbook()) {
        let folder = tempfile::tempdir()?;
        write_logbook(folder.path(), &logbook)
            .map_err(|error| TestCaseError::fail(error.to_string()))?;
        let reading = read_logbook(folder.path())
            .map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert_eq!(&reading.problems, &vec![]);
        prop_assert_eq!(without_lines(reading.logbook), without_lines(logbook));
    }
}

#[test]
fn columns_and_notes_of_the_crew_survive_a_rewriting() {
    let texts: LogTexts = [
        (
            LogFile::Machines,
            "paint,name,rotor,knives\nred,M,drum,2\n'=now(),N,disc,2\n".into(),
        ),
        (
            LogFile::Costs,
            "key,value,unit,note,asked\nnew_knife,$80,,from the tin,Jo\n".into(),
        ),
    ]
    .into();
    let logbook = read_texts(&texts).logbook;
    let folder = tempfile::tempdir().expect("a temporary folder");
    write_logbook(folder.path(), &logbook).expect("a writable folder");
    let again = read_logbook(folder.path()).expect("a log").logbook;
    let paint = again
        .extras
        .get(&LogFile::Machines)
        .expect("an extra column");
    assert_eq!(paint.names, ["paint"]);
    assert_eq!(
        paint.cells.get(&RowKey::Line(Line(3))),
        Some(&vec!["=now()".to_owned()])
    );
    let costs: &ExtraColumns = again.extras.get(&LogFile::Costs).expect("an extra column");
    assert_eq!(
        costs.notes.get("new_knife").map(String::as_str),
        Some("from the tin")
    );
    assert_eq!(
        costs.cells.get(&RowKey::Key("new_knife".into())),
        Some(&vec!["Jo".to_owned()])
    );
    assert_eq!(again.costs.items.get(&CostItem::NewKnife), Some(&80.0));
}

#[test]
fn a_log_with_rows_that_cannot_be_read_is_never_written_over() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("machines.csv");
    let text = "name,rotor,knives\nM,drum,many\n";
    std::fs::write(&path, text).expect("a writable folder");
    assert!(write_logbook(folder.path(), &Logbook::default()).is_err());
    assert_eq!(std::fs::read_to_string(&path).expect("the old file"), text);
}
