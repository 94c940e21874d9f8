//! Faults put into a sound log: each is told with its own file, line and column, and costs no row but
//! its own.

use keenspan::logbook::LogFile;
use keenspan::logbook::read::{LogTexts, Reading, read_texts};
use rand::seq::{IndexedRandom, SliceRandom};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::{BTreeMap, BTreeSet};

const FAULTS: usize = 200;

/// A row before it is written: its cells, in the order of the header.
#[derive(Clone)]
struct Row {
    file: LogFile,
    cells: Vec<String>,
}

/// File, line, column.
type Place = (LogFile, u64, String);

#[test]
fn two_hundred_faults_are_all_told_and_every_other_row_is_used() {
    for seed in 0..25 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let rows = sound_log(&mut random);
        let faulty = choose(&rows, &mut random);
        let (texts, lines) = write(&rows, &faulty, &mut random);
        let expected: BTreeSet<Place> = faulty
            .iter()
            .map(|(at, fault)| (rows[*at].file, lines[*at], fault.column.to_owned()))
            .collect();
        let reading = read_texts(&texts);
        let told: BTreeSet<Place> = reading
            .problems
            .iter()
            .map(|problem| (problem.file, problem.line.0, problem.column.clone()))
            .collect();
        let missed: Vec<&Place> = expected.difference(&told).collect();
        let invented: Vec<&Place> = told.difference(&expected).collect();
        assert!(
            missed.is_empty() && invented.is_empty(),
            "seed {seed}: missed {missed:?}, invented {invented:?}"
        );
        assert_eq!(reading.problems.len(), FAULTS, "seed {seed}");
        every_other_row_is_used(&reading, &rows, &faulty, &lines);
    }
}

fn every_other_row_is_used(
    reading: &Reading,
    rows: &[Row],
    faulty: &BTreeMap<usize, Fault>,
    lines: &[u64],
) {
    assert_eq!(reading.set_aside(), FAULTS);
    for count in &reading.files {
        let in_file = |at: &&usize| rows[**at].file == count.file;
        let total = rows.iter().filter(|row| row.file == count.file).count();
        assert_eq!(count.rows, total, "{}", count.file);
        assert_eq!(
            count.set_aside,
            faulty.keys().filter(in_file).count(),
            "{}",
            count.file
        );
    }
    let expected: Vec<u64> = (0..rows.len())
        .filter(|at| rows[*at].file == LogFile::Runs && !faulty.contains_key(at))
        .map(|at| lines[at])
        .collect();
    let used: Vec<u64> = reading.logbook.runs.iter().map(|run| run.line.0).collect();
    assert_eq!(used, expected);
}

#[test]
fn the_sound_log_is_sound() {
    for seed in 0..25 {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let rows = sound_log(&mut random);
        let (texts, _) = write(&rows, &BTreeMap::new(), &mut random);
        assert_eq!(read_texts(&texts).problems, [], "seed {seed}");
    }
}

// A sound log.

fn row(file: LogFile, cells: &[&str]) -> Row {
    Row {
        file,
        cells: cells.iter().map(|cell| (*cell).to_owned()).collect(),
    }
}

fn sound_log(random: &mut ChaCha8Rng) -> Vec<Row> {
    let mut rows = settings();
    for machine in MACHINES {
        rows.push(row(
            LogFile::Machines,
            &[
                machine, "drum", "4", "2", "1,234.5", "50 h", "100", "", "50 lb-ft", "1/16\"",
                "0.876 in", "",
            ],
        ));
    }
    for set in SETS {
        rows.push(row(
            LogFile::Sets,
            &[set, "4", "2", "15/16\"", "1", "A8", "matched"],
        ));
    }
    for _ in 0..400 {
        let cells = run(random);
        rows.push(Row {
            file: LogFile::Runs,
            cells,
        });
    }
    for _ in 0..150 {
        let cells = event(random);
        rows.push(Row {
            file: LogFile::Events,
            cells,
        });
    }
    rows
}

fn settings() -> Vec<Row> {
    let shop = [
        ["name", "Shop"],
        ["currency", "$"],
        ["dates", "day first"],
        ["units", "us"],
        ["flat_when_dull", "1/32 in"],
    ];
    let costs = [
        ["change_minutes", "45"],
        ["mechanic_per_hour", "$60"],
        ["grind_per_knife", "12.50"],
        ["new_knife", "80"],
        ["regrinds_per_knife", "8"],
        ["field_delay_minutes", "60"],
        ["crew_per_hour", "1,150.00"],
        ["waiting_share", "35%"],
        ["fuel_per_litre", "1.2"],
        ["fuel_litres_per_hour", "9"],
        ["strike_damage", "200"],
    ];
    let of = |file| move |[key, value]: [&str; 2]| row(file, &[key, value, "", ""]);
    let shop = shop.into_iter().map(of(LogFile::Shop));
    shop.chain(costs.into_iter().map(of(LogFile::Costs)))
        .collect()
}

const MACHINES: [&str; 5] = ["big drum", "small disc", "old red", "tracked", "yard"];
const SETS: [&str; 8] = ["A", "B", "C", "D", "E", "F", "G", "H"];
const DATES: [&str; 5] = [
    "2026-03-05",
    "5/3/2026",
    "5.3.26",
    "5 Mar 2026",
    "Mar 5 2026",
];
const NOTES: [&str; 5] = ["", "wet", "two\nlines", "said \"fine\"", "a, b"];

fn pick<'a>(random: &mut ChaCha8Rng, choices: &[&'a str]) -> &'a str {
    choices.choose(random).expect("a choice")
}

fn run(random: &mut ChaCha8Rng) -> Vec<String> {
    let length = pick(random, &["3.5", "3:30", "\t2 h", "90 min", ""]);
    let (start, end) = if length.is_empty() {
        ("1200.5", "1204")
    } else {
        ("", "")
    };
    let wood = pick(
        random,
        &[
            "oak",
            "oak 60%, ash 40%",
            "60 oak 40 spruce",
            "",
            "Scots pine/birch",
        ],
    );
    let dirt = pick(random, &["clean", "Dusty", "dirty", "gritty", ""]);
    let state = pick(random, &["green", "dead", "frozen", ""]);
    let loads = pick(random, &["", "2", "1.5"]);
    [
        pick(random, &DATES),
        pick(random, &MACHINES),
        length,
        start,
        end,
        wood,
        dirt,
        state,
        loads,
        pick(random, &["Jo", ""]),
        pick(random, &NOTES),
    ]
    .map(str::to_owned)
    .to_vec()
}

fn event(random: &mut ChaCha8Rng) -> Vec<String> {
    let kind = pick(
        random,
        &[
            "fitted",
            "checked",
            "Noticed_dull",
            "touched-up",
            "flipped",
            "pulled",
            "struck",
        ],
    );
    [
        pick(random, &DATES),
        kind,
        pick(random, &MACHINES),
        pick(random, &["1234.5", ""]),
        pick(random, &SETS),
        pick(random, &["1", "2", ""]),
        pick(random, &["keen", "dull"]),
        pick(random, &["1/32\"", "0.4 mm", ""]),
        "",
        pick(random, &["", "20 thou"]),
        "",
        pick(random, &["Jo", ""]),
        pick(random, &NOTES),
    ]
    .map(str::to_owned)
    .to_vec()
}

// Faults.

/// What is done to a row, and the column in which it has to be told.
#[derive(Clone, Copy)]
struct Fault {
    column: &'static str,
    deed: Deed,
}

#[derive(Clone, Copy)]
enum Deed {
    /// These cells get these texts.
    Write(&'static [(&'static str, &'static str)]),
    /// A cell opens a quote that nobody closes.
    OpenQuote,
    /// A cell holds half a letter.
    HalfLetter,
    /// The last cell is missing.
    TooFew,
    /// A cell too many stands behind the last.
    TooMany,
}

const fn write_in(column: &'static str, cells: &'static [(&'static str, &'static str)]) -> Fault {
    Fault {
        column,
        deed: Deed::Write(cells),
    }
}

const SHOP_FAULTS: &[Fault] = &[
    write_in("key", &[("key", "colour")]),
    write_in("key", &[("key", "")]),
];

const COST_FAULTS: &[Fault] = &[
    write_in("key", &[("key", "chang_minuts")]),
    write_in("value", &[("value", "-5")]),
    write_in("value", &[("value", "plenty")]),
    Fault {
        column: "value",
        deed: Deed::HalfLetter,
    },
];

const MACHINE_FAULTS: &[Fault] = &[
    write_in("rotor", &[("rotor", "drumm")]),
    write_in("knives", &[("knives", "0")]),
    write_in("knives", &[("knives", "")]),
    write_in("edges", &[("edges", "two")]),
    write_in("meter", &[("meter", "1,234")]),
    write_in("bolt torque", &[("bolt torque", "tight")]),
    write_in("discard width", &[("discard width", "-1 mm")]),
    Fault {
        column: "note",
        deed: Deed::TooFew,
    },
    // Not before the inch marks of this row: the next of them passes for the closing quote, and the
    // row is told as one with too few cells.
    Fault {
        column: "note",
        deed: Deed::OpenQuote,
    },
];

const SET_FAULTS: &[Fault] = &[
    write_in("knives", &[("knives", "2.5")]),
    write_in("width", &[("width", "15/0\"")]),
    write_in("regrinds", &[("regrinds", "-1")]),
    Fault {
        column: "cell 8",
        deed: Deed::TooMany,
    },
    Fault {
        column: "steel",
        deed: Deed::HalfLetter,
    },
];

const RUN_FAULTS: &[Fault] = &[
    write_in("date", &[("date", "")]),
    write_in("date", &[("date", "yesterday")]),
    write_in("date", &[("date", "3/25/2026")]),
    write_in("date", &[("date", "2026-02-30")]),
    write_in("machine", &[("machine", "")]),
    write_in("machine", &[("machine", "big drumm")]),
    write_in(
        "hours",
        &[("hours", "-2"), ("meter start", ""), ("meter end", "")],
    ),
    write_in(
        "hours",
        &[("hours", "long"), ("meter start", ""), ("meter end", "")],
    ),
    write_in(
        "hours",
        &[("hours", ""), ("meter start", ""), ("meter end", "")],
    ),
    write_in(
        "meter end",
        &[
            ("hours", ""),
            ("meter start", "1300"),
            ("meter end", "1200"),
        ],
    ),
    write_in(
        "meter end",
        &[("hours", ""), ("meter start", "1300"), ("meter end", "")],
    ),
    write_in(
        "hours",
        &[
            ("hours", "9"),
            ("meter start", "1300"),
            ("meter end", "1303"),
        ],
    ),
    write_in("wood", &[("wood", "spruse")]),
    write_in("wood", &[("wood", "oak 60%, ash 30%")]),
    write_in("dirt", &[("dirt", "ditry")]),
    write_in("state", &[("state", "soggy")]),
    write_in("loads", &[("loads", "-1")]),
    Fault {
        column: "wood",
        deed: Deed::OpenQuote,
    },
    Fault {
        column: "note",
        deed: Deed::OpenQuote,
    },
    Fault {
        column: "who",
        deed: Deed::HalfLetter,
    },
    Fault {
        column: "machine",
        deed: Deed::HalfLetter,
    },
    Fault {
        column: "note",
        deed: Deed::TooFew,
    },
    Fault {
        column: "cell 12",
        deed: Deed::TooMany,
    },
];

const EVENT_FAULTS: &[Fault] = &[
    write_in("date", &[("date", "31/4/2026")]),
    write_in("event", &[("event", "fited")]),
    write_in("event", &[("event", "")]),
    write_in("machine", &[("machine", "smal disc")]),
    write_in("machine", &[("event", "fitted"), ("machine", "")]),
    write_in("set", &[("set", "Z")]),
    write_in("set", &[("event", "reground"), ("set", "")]),
    write_in("edge", &[("edge", "9")]),
    write_in("grade", &[("grade", "sharp")]),
    write_in(
        "grade",
        &[
            ("event", "checked"),
            ("grade", ""),
            ("flat", ""),
            ("nick", ""),
        ],
    ),
    write_in("flat", &[("flat", "wide")]),
    write_in("nick", &[("nick", "-1 mm")]),
    write_in("meter", &[("meter", "-3")]),
    write_in(
        "new meter",
        &[("event", "meter replaced"), ("new meter", "")],
    ),
    Fault {
        column: "flat",
        deed: Deed::OpenQuote,
    },
    Fault {
        column: "by",
        deed: Deed::OpenQuote,
    },
    Fault {
        column: "note",
        deed: Deed::HalfLetter,
    },
    Fault {
        column: "note",
        deed: Deed::TooFew,
    },
    Fault {
        column: "cell 14",
        deed: Deed::TooMany,
    },
];

fn faults_of(file: LogFile) -> &'static [Fault] {
    match file {
        LogFile::Shop => SHOP_FAULTS,
        LogFile::Costs => COST_FAULTS,
        LogFile::Machines => MACHINE_FAULTS,
        LogFile::Sets => SET_FAULTS,
        LogFile::Runs => RUN_FAULTS,
        LogFile::Events => EVENT_FAULTS,
    }
}

/// A fault for each of two hundred rows. The way dates are written is left alone: it is the whole
/// log's, and so would the fault be.
fn choose(rows: &[Row], random: &mut ChaCha8Rng) -> BTreeMap<usize, Fault> {
    let mut places: Vec<usize> = (0..rows.len())
        .filter(|at| rows[*at].cells[0] != "dates")
        .collect();
    places.shuffle(random);
    places
        .into_iter()
        .take(FAULTS)
        .map(|at| {
            (
                at,
                *faults_of(rows[at].file).choose(random).expect("a fault"),
            )
        })
        .collect()
}

// From rows to files.

/// The files, and the line of each row.
fn write(
    rows: &[Row],
    faulty: &BTreeMap<usize, Fault>,
    random: &mut ChaCha8Rng,
) -> (LogTexts, Vec<u64>) {
    let crlf = random.random_bool(0.5);
    let ending: &[u8] = if crlf { b"\r\n" } else { b"\n" };
    let mut texts: LogTexts = LogFile::ALL
        .map(|file| (file, [header(file).join(",").as_bytes(), ending].concat()))
        .into();
    let mut lines = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let text = texts.get_mut(&row.file).expect("every file");
        lines.push(text.iter().filter(|byte| **byte == b'\n').count() as u64 + 1);
        text.extend(match faulty.get(&at) {
            Some(fault) => with_fault(row, fault),
            None => row
                .cells
                .iter()
                .map(|cell| quoted(cell))
                .collect::<Vec<_>>()
                .join(",")
                .into_bytes(),
        });
        text.extend(ending);
    }
    (texts, lines)
}

fn header(file: LogFile) -> Vec<&'static str> {
    file.columns().iter().map(|column| column.name).collect()
}

/// An inch mark stands as it is, as people type it.
fn quoted(cell: &str) -> String {
    if cell.contains([',', '\n']) || cell.starts_with('"') || cell.contains("\"fine") {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

fn with_fault(row: &Row, fault: &Fault) -> Vec<u8> {
    let header = header(row.file);
    let place = |column: &str| header.iter().position(|name| *name == column);
    let mut cells: Vec<Vec<u8>> = row
        .cells
        .iter()
        .map(|cell| quoted(&cell.replace('\n', " ")).into_bytes())
        .collect();
    let own = place(fault.column);
    match fault.deed {
        Deed::Write(texts) => {
            for (column, text) in texts {
                cells[place(column).expect("a column")] = quoted(text).into_bytes();
            }
        }
        Deed::OpenQuote => cells[own.expect("a column")] = b"\"oak 60%, ash".to_vec(),
        Deed::HalfLetter => cells[own.expect("a column")] = b"Ren\xe9".to_vec(),
        Deed::TooFew => {
            cells.pop();
        }
        Deed::TooMany => cells.push(b"more".to_vec()),
    }
    cells.join(&b',')
}

// One by one: faults that touch more than a row of their own.

fn problems(files: &[(LogFile, &str)]) -> Vec<String> {
    let machines = (LogFile::Machines, "name,rotor,knives\nM,drum,2\n");
    let texts: LogTexts = std::iter::once(machines)
        .chain(files.iter().copied())
        .map(|(file, text)| (file, text.as_bytes().to_vec()))
        .collect();
    read_texts(&texts)
        .problems
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn a_name_given_twice_is_told_where_it_comes_the_second_time() {
    let twice = problems(&[(LogFile::Sets, "name,knives\nA,2\na,2\n")]);
    assert_eq!(
        twice,
        [
            "sets.csv line 3, column \"name\": found \"a\"; write a name of its own: line 2 has this one already"
        ]
    );
}

#[test]
fn an_edge_that_the_set_does_not_have_is_told() {
    let told = problems(&[
        (LogFile::Sets, "name,knives,edges\nA,2,2\n"),
        (
            LogFile::Events,
            "date,event,machine,set,edge\n2026-03-05,fitted,M,A,3\n",
        ),
    ]);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("column \"edge\": found \"3\"; write a whole number from 1 to 2"));
}

#[test]
fn a_machine_that_is_set_aside_is_told_once_and_not_with_every_run() {
    let texts: LogTexts = [
        (
            LogFile::Machines,
            b"name,rotor,knives\nM,drum,many\n".to_vec(),
        ),
        (
            LogFile::Runs,
            b"date,machine,hours\n2026-03-05,M,1\n2026-03-05,M,2\n".to_vec(),
        ),
    ]
    .into();
    let reading = read_texts(&texts);
    assert_eq!(reading.problems.len(), 1);
    assert_eq!(reading.logbook.runs.len(), 2);
}

#[test]
fn a_date_that_could_be_two_days_asks_which() {
    let run = (LogFile::Runs, "date,machine,hours\n5/3/2026,M,1\n");
    let asked = problems(&[run]);
    assert!(
        asked[0].contains("2026-03-05 or 2026-05-03, whichever is meant"),
        "{asked:?}"
    );
    assert_eq!(
        problems(&[run, (LogFile::Shop, "key,value\ndates,month first\n")]),
        [""; 0]
    );
}

#[test]
fn a_share_above_one_and_a_unit_that_does_not_fit_are_told() {
    let told = problems(&[(
        LogFile::Costs,
        "key,value,unit\nwaiting_share,35,\ncrew_per_hour,900,per day\nchange_minutes,1,hour\nnew_knife,80,\nnew_knife,90,\n",
    )]);
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(told[0].contains("line 2, column \"value\"") && told[0].contains("35%"));
    assert!(told[1].contains("line 3, column \"unit\": found \"per day\""));
    assert!(told[2].contains("line 6, column \"key\""));
}

#[test]
fn a_header_without_a_needed_column_or_with_one_twice_sets_the_file_aside() {
    let missing = problems(&[(LogFile::Runs, "day,hours\n2026-03-05,1\n")]);
    assert_eq!(missing.len(), 1);
    assert!(
        missing[0].starts_with("runs.csv line 1, column \"machine\""),
        "{missing:?}"
    );
    let twice = problems(&[(
        LogFile::Runs,
        "date,machine,hours,Hours\n2026-03-05,M,1,2\n",
    )]);
    assert!(twice[0].contains("twice"), "{twice:?}");
}
