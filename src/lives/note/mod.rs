//! What the crew should know about how their log was read: each note names its row.

mod sentences;

use crate::logbook::{EventKind, ImpossibleDay, Line};
use crate::quantities::{MeterHours, Width};
use jiff::civil::Date;
use std::fmt;

/// A row of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Record {
    /// A row of machines.csv.
    Machine(Line),
    /// A row of sets.csv.
    Set(Line),
    /// A row of runs.csv.
    Run(Line),
    /// A row of events.csv.
    Event(Line),
}

impl fmt::Display for Record {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (file, line) = match self {
            Record::Machine(line) => ("machines.csv", line),
            Record::Set(line) => ("sets.csv", line),
            Record::Run(line) => ("runs.csv", line),
            Record::Event(line) => ("events.csv", line),
        };
        write!(to, "{file} line {}", line.0)
    }
}

/// One edge, in the crew's words.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct EdgeName {
    /// Machine.
    pub machine: String,
    /// Knife set.
    pub set: String,
    /// Which edge, from 1.
    pub edge: u32,
}

impl fmt::Display for EdgeName {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}, set {}, edge {}", self.machine, self.set, self.edge)
    }
}

/// Something about a row that the crew may want to put right. The answer stands, on the reading of
/// the row that the note states.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// The row.
    pub record: Record,
    /// What about it.
    pub matter: Matter,
}

/// What a [`Note`] is about. Hours are meter hours.
#[derive(Debug, Clone, PartialEq)]
pub enum Matter {
    /// An event without a meter reading took its place from its date.
    PlacedByDate {
        /// What happened.
        kind: EventKind,
        /// Its day.
        date: Date,
    },
    /// A reading that contradicts the readings before or after it was not used.
    ReadingOutOfLine {
        /// Machine.
        machine: String,
        /// The reading as written.
        reading: MeterHours,
    },
    /// The meter moved by more hours than the days between two readings hold.
    Jump {
        /// Machine.
        machine: String,
        /// The earlier reading's row.
        from: Record,
        /// Hours on the meter in between.
        hours: MeterHours,
        /// Calendar days in between, both counted.
        days: i32,
    },
    /// A day that is still to come, or with more hours than a day has; the row counts as it stands.
    ImpossibleDay(ImpossibleDay),
    /// Hours that another run covers already; they count once.
    Overlap {
        /// Hours left out.
        hours: MeterHours,
    },
    /// A run longer than the meter leaves room for.
    MoreThanMeter {
        /// Hours of the run as written.
        written: MeterHours,
        /// Hours counted.
        counted: MeterHours,
    },
    /// A run, event or replaced meter of a machine that machines.csv does not list.
    UnknownMachine {
        /// The name as written.
        machine: String,
    },
    /// An event that does not say on which machine, and nothing else tells.
    NoMachine {
        /// What happened.
        kind: EventKind,
    },
    /// An event that does not say which set, and nothing else tells.
    NoSet {
        /// What happened.
        kind: EventKind,
    },
    /// An event about a set that is not in the machine; the row was not used.
    OtherSetIn {
        /// What happened.
        kind: EventKind,
        /// Machine.
        machine: String,
        /// The set named in the row.
        named: String,
        /// The set that is in the machine, as far as the log tells.
        fitted: String,
    },
    /// An event names another edge than the one at work; taken as the one at work.
    OtherEdgeIn {
        /// The edge at work.
        edge: EdgeName,
        /// The edge named.
        named: u32,
    },
    /// An event about an edge of a machine that holds none; the row was not used.
    NothingFitted {
        /// What happened.
        kind: EventKind,
        /// Machine.
        machine: String,
    },
    /// A set was fitted while another was still in: the other counts as pulled there, ungraded.
    TakenAsPulled {
        /// The edge taken as pulled.
        edge: EdgeName,
    },
    /// A set was fitted, ground or discarded while still in a machine: it counts as pulled there.
    StillFitted {
        /// The edge taken as pulled.
        edge: EdgeName,
        /// What happened next.
        kind: EventKind,
    },
    /// A set was fitted that already is in this machine; the row changes nothing.
    AlreadyFitted {
        /// The edge at work.
        edge: EdgeName,
    },
    /// A set went on, without a regrind, in another machine of the same rotor kind.
    MovedMachine {
        /// The edge, under the machine where it began.
        edge: EdgeName,
        /// The machine it went on in.
        to: String,
    },
    /// A discarded set was fitted: taken as new knives under an old name.
    FittedAfterDiscard {
        /// The set.
        set: String,
    },
    /// Knives with one cutting edge were flipped; taken as a second edge.
    FlippedSingleEdge {
        /// The set.
        set: String,
    },
    /// Hours after a strike, until the next grind: left out.
    RanOnAfterStrike {
        /// The edge.
        edge: EdgeName,
        /// Hours left out.
        hours: MeterHours,
    },
    /// A grade or flat of an edge at or after a strike: left out, since the strike made it.
    LookAfterStrike {
        /// The edge.
        edge: EdgeName,
    },
    /// A grade, flat or dullness noted at the very hour at which the edge went to work: left out.
    LookWhenFresh {
        /// The edge.
        edge: EdgeName,
    },
    /// A measured flat without the width at which this crew calls an edge dull: not used.
    FlatUnused,
    /// Knives below the width at which the machine's manual discards them went in, or came off the bench.
    UnderWidth {
        /// The set.
        set: String,
        /// Its width by the log.
        width: Width,
        /// The machine's discard width.
        discard: Width,
    },
    /// A set with another number of knives than the machine carries went in.
    KnivesDiffer {
        /// The set.
        set: String,
        /// Knives in it.
        knives: u32,
        /// Knives that the machine carries.
        wanted: u32,
    },
    /// The note on a look at a set tells keenspan nothing, and nobody has said since that the set is sound.
    NotUnderstood {
        /// The set.
        set: String,
        /// The note.
        words: String,
    },
    /// Worked before the log starts; those hours count as the usual mix.
    WorkedBeforeLog {
        /// The edge.
        edge: EdgeName,
        /// Hours before the first record.
        hours: MeterHours,
    },
}

impl Matter {
    /// Whether it must be seen before any answer: knives that may be unfit, readings that cannot be.
    pub fn is_alarm(&self) -> bool {
        matches!(
            self,
            Matter::UnderWidth { .. }
                | Matter::KnivesDiffer { .. }
                | Matter::FittedAfterDiscard { .. }
                | Matter::NotUnderstood { .. }
                | Matter::Jump { .. }
                | Matter::ImpossibleDay(_)
        )
    }

    /// The set that an alarm is about.
    pub(super) fn set(&self) -> Option<&str> {
        match self {
            Matter::UnderWidth { set, .. }
            | Matter::KnivesDiffer { set, .. }
            | Matter::FittedAfterDiscard { set }
            | Matter::NotUnderstood { set, .. } => Some(set),
            _ => None,
        }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}: {}", self.record, self.matter)
    }
}
