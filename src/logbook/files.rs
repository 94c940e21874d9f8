//! The files of a log, and the columns of each.

use std::fmt;

/// One file of a log folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LogFile {
    /// Whose log it is, and how dates and lengths are written.
    Shop,
    /// What things cost.
    Costs,
    /// The chippers.
    Machines,
    /// The matched knife sets.
    Sets,
    /// What was chipped.
    Runs,
    /// What was done to an edge, or seen of it.
    Events,
    /// Jobs to come. Stands outside the log, under a name of its own.
    Jobs,
}

/// A column that keenspan reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name in a new file.
    pub name: &'static str,
    /// Other names that it answers to.
    pub(super) other_names: &'static [&'static str],
    /// The file cannot be read without it.
    pub required: bool,
}

const fn required(name: &'static str, other_names: &'static [&'static str]) -> Column {
    Column {
        name,
        other_names,
        required: true,
    }
}

const fn optional(name: &'static str, other_names: &'static [&'static str]) -> Column {
    Column {
        name,
        other_names,
        required: false,
    }
}

const KEY_AND_VALUE: [Column; 4] = [
    required("key", &["item", "setting"]),
    required("value", &["amount"]),
    optional("unit", &["units"]),
    optional("note", &["notes"]),
];

const MACHINES: [Column; 12] = [
    required("name", &["machine"]),
    required("rotor", &["type"]),
    required("knives", &["knives in a set"]),
    optional("edges", &["edges per knife"]),
    optional("meter", &["hour meter"]),
    optional("rule", &["change every"]),
    optional("service every", &["service"]),
    optional("wrench", &["wrenches"]),
    optional("bolt torque", &["torque"]),
    optional("bed knife gap", &["gap"]),
    optional("discard width", &["minimum width"]),
    optional("note", &["notes"]),
];

const SETS: [Column; 7] = [
    required("name", &["set"]),
    required("knives", &["knives in a set"]),
    optional("edges", &["edges per knife"]),
    optional("width", &[]),
    optional("regrinds", &["grinds"]),
    optional("steel", &[]),
    optional("note", &["notes"]),
];

const RUNS: [Column; 11] = [
    required("date", &["day"]),
    required("machine", &["chipper"]),
    optional("hours", &["meter hours"]),
    optional("meter start", &["start", "start meter"]),
    optional("meter end", &["end", "end meter", "meter stop"]),
    optional("wood", &["species"]),
    optional("dirt", &["contamination"]),
    optional("state", &["wood state"]),
    optional("loads", &[]),
    optional("who", &["operator"]),
    optional("note", &["notes"]),
];

const EVENTS: [Column; 13] = [
    required("date", &["day"]),
    required("event", &["what"]),
    optional("machine", &["chipper"]),
    optional("meter", &["hour meter"]),
    optional("set", &["knife set"]),
    optional("edge", &[]),
    optional("grade", &[]),
    optional("flat", &["bright flat"]),
    optional("stock removed", &["ground off"]),
    optional("nick", &["nick depth"]),
    optional("new meter", &[]),
    optional("by", &["who"]),
    optional("note", &["notes"]),
];

const JOBS: [Column; 7] = [
    required("name", &["job", "site"]),
    optional("hours", &["meter hours"]),
    optional("loads", &[]),
    optional("wood", &["species"]),
    optional("dirt", &["contamination"]),
    optional("state", &["wood state"]),
    optional("note", &["notes"]),
];

impl LogFile {
    /// Every file of a log, in the order in which they are read.
    pub const ALL: [LogFile; 6] = [
        LogFile::Shop,
        LogFile::Costs,
        LogFile::Machines,
        LogFile::Sets,
        LogFile::Runs,
        LogFile::Events,
    ];

    /// Its name in the log folder.
    pub fn name(self) -> &'static str {
        match self {
            LogFile::Shop => "shop.csv",
            LogFile::Costs => "costs.csv",
            LogFile::Machines => "machines.csv",
            LogFile::Sets => "sets.csv",
            LogFile::Runs => "runs.csv",
            LogFile::Events => "events.csv",
            LogFile::Jobs => "the list of jobs",
        }
    }

    /// The columns that keenspan reads, in the order in which a new file has them.
    pub fn columns(self) -> &'static [Column] {
        match self {
            LogFile::Shop | LogFile::Costs => &KEY_AND_VALUE,
            LogFile::Machines => &MACHINES,
            LogFile::Sets => &SETS,
            LogFile::Runs => &RUNS,
            LogFile::Events => &EVENTS,
            LogFile::Jobs => &JOBS,
        }
    }
}

/// Columns of free text, the only ones of those that keenspan reads in which a cell may hold several
/// lines.
const FREE_TEXT: [&str; 9] = [
    "name", "value", "unit", "note", "wrench", "steel", "who", "by", "key",
];

impl LogFile {
    /// Whether a column, as a header calls it, never holds several lines. The crew's own columns may.
    pub(super) fn is_one_line(self, header: &str) -> bool {
        self.columns()
            .iter()
            .any(|column| column.is_called(header) && !FREE_TEXT.contains(&column.name))
    }
}

impl fmt::Display for LogFile {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.name())
    }
}

impl Column {
    /// Whether a header cell names this column; case, spaces, hyphens and underscores do not count.
    pub(super) fn is_called(&self, header: &str) -> bool {
        std::iter::once(&self.name)
            .chain(self.other_names)
            .any(|name| is_same_name(name, header))
    }
}

/// A name without regard to case, spaces, hyphens and underscores.
pub(super) fn folded(name: &str) -> String {
    let mut folded = String::with_capacity(name.len());
    for letter in name.chars().filter(|letter| counts_in_a_name(*letter)) {
        // Names are looked up with every row: the small letter of plain ones is at hand.
        if letter.is_ascii() {
            folded.push(letter.to_ascii_lowercase());
        } else {
            folded.extend(letter.to_lowercase());
        }
    }
    folded
}

/// Whether two names are one: whether they are the same once [`folded`].
pub(super) fn is_same_name(one: &str, other: &str) -> bool {
    fn letters(name: &str) -> impl Iterator<Item = char> {
        let letters = name.chars().filter(|letter| counts_in_a_name(*letter));
        letters.flat_map(char::to_lowercase)
    }
    one == other || letters(one).eq(letters(other))
}

fn counts_in_a_name(letter: char) -> bool {
    !letter.is_whitespace() && !matches!(letter, '-' | '_')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_column_answers_to_the_name_of_another() {
        for file in LogFile::ALL.into_iter().chain([LogFile::Jobs]) {
            for column in file.columns() {
                let named = file.columns().iter().filter(|other| {
                    std::iter::once(&column.name)
                        .chain(column.other_names)
                        .any(|name| other.is_called(name))
                });
                assert_eq!(named.count(), 1, "{file} {}", column.name);
            }
        }
    }

    #[test]
    fn case_blanks_hyphens_and_underscores_tell_no_names_apart() {
        let written = [
            "Noticed dull",
            "noticed_dull",
            "NOTICED-DULL",
            "Straße",
            "STRASSE",
        ];
        for one in written {
            for other in written {
                assert_eq!(is_same_name(one, other), folded(one) == folded(other));
            }
        }
        assert!(is_same_name("Noticed dull", "noticed_dull"));
        assert_eq!(folded("Éire-\u{a0}Ost"), "éireost");
    }
}
