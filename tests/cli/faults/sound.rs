//! A sound log, row by row.

use keenspan::logbook::LogFile;
use rand::seq::IndexedRandom;
use rand_chacha::ChaCha8Rng;

/// A row before it is written: its cells, in the order of the header.
pub struct Row {
    pub file: LogFile,
    pub cells: Vec<String>,
}

fn row(file: LogFile, cells: &[&str]) -> Row {
    Row {
        file,
        cells: cells.iter().map(|cell| (*cell).to_owned()).collect(),
    }
}

pub fn sound_log(random: &mut ChaCha8Rng) -> Vec<Row> {
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
