//! The faults, and where each has to be told.

use super::sound::Row;
use keenspan::logbook::LogFile;
use rand::seq::{IndexedRandom, SliceRandom};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

/// How many are put into one log.
pub const FAULTS: usize = 200;

/// What is done to a row, and the column in which it has to be told.
#[derive(Clone, Copy)]
pub struct Fault {
    pub column: &'static str,
    pub deed: Deed,
}

#[derive(Clone, Copy)]
pub enum Deed {
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
    write_in("value", &[("value", "10000000000")]),
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
    write_in("rule", &[("rule", "0.0001")]),
    write_in("service every", &[("service every", "90000")]),
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
            ("note", ""),
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
        LogFile::Jobs => &[],
    }
}

/// A fault for each of two hundred rows. The way dates are written is left alone: it is the whole
/// log's, and so would the fault be.
pub fn choose(rows: &[Row], random: &mut ChaCha8Rng) -> BTreeMap<usize, Fault> {
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
