//! What the crew should know about how their log was read: each note names its row.

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
                | Matter::Jump { .. }
        )
    }
}

impl fmt::Display for Note {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}: {}", self.record, self.matter)
    }
}

impl fmt::Display for Matter {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::PlacedByDate { .. }
            | Matter::ReadingOutOfLine { .. }
            | Matter::Jump { .. }
            | Matter::ImpossibleDay(_)
            | Matter::Overlap { .. }
            | Matter::MoreThanMeter { .. } => self.about_the_meter(to),
            Matter::UnknownMachine { .. }
            | Matter::NoMachine { .. }
            | Matter::NoSet { .. }
            | Matter::OtherSetIn { .. }
            | Matter::OtherEdgeIn { .. }
            | Matter::NothingFitted { .. } => self.about_who_is_meant(to),
            Matter::TakenAsPulled { .. }
            | Matter::StillFitted { .. }
            | Matter::AlreadyFitted { .. }
            | Matter::MovedMachine { .. }
            | Matter::FittedAfterDiscard { .. }
            | Matter::FlippedSingleEdge { .. } => self.about_fitting(to),
            Matter::RanOnAfterStrike { .. }
            | Matter::LookAfterStrike { .. }
            | Matter::LookWhenFresh { .. }
            | Matter::FlatUnused
            | Matter::UnderWidth { .. }
            | Matter::KnivesDiffer { .. }
            | Matter::WorkedBeforeLog { .. } => self.about_what_was_left_out(to),
        }
    }
}

impl Matter {
    fn about_the_meter(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::PlacedByDate { kind, date } => write!(
                to,
                "\"{}\" has no meter reading; it was placed by its date, {date}",
                kind.words()
            ),
            Matter::ReadingOutOfLine { machine, reading } => write!(
                to,
                "the reading {:.1} on {machine} does not fit the readings before and after it; the row was placed by its date. If the meter was replaced, a row \"meter replaced\" says so",
                reading.get()
            ),
            Matter::Jump {
                machine,
                from,
                hours,
                days,
            } => write!(
                to,
                "the meter of {machine} went up {:.1} h within {days} calendar {} (since {from}); look for a wrong reading or date",
                hours.get(),
                if *days == 1 { "day" } else { "days" }
            ),
            Matter::ImpossibleDay(day) => {
                write!(
                    to,
                    "{day}; it counts as it stands: look for a wrong date or wrong hours"
                )
            }
            Matter::Overlap { hours } => write!(
                to,
                "{:.1} h of this run stand in another run as well; they count once",
                hours.get()
            ),
            Matter::MoreThanMeter { written, counted } => write!(
                to,
                "this run says {:.1} h, but the meter readings around it leave {:.1} h; the meter counts",
                written.get(),
                counted.get()
            ),
            _ => Ok(()),
        }
    }

    fn about_who_is_meant(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::UnknownMachine { machine } => write!(
                to,
                "machine \"{machine}\" is not in machines.csv; the row was not used"
            ),
            Matter::NoMachine { kind } => write!(
                to,
                "\"{}\" does not say on which machine; the row was not used",
                kind.words()
            ),
            Matter::NoSet { kind } => write!(
                to,
                "\"{}\" does not say which set; the row was not used",
                kind.words()
            ),
            Matter::OtherSetIn {
                kind,
                machine,
                named,
                fitted,
            } => write!(
                to,
                "\"{}\" names set {named}, but by the rows before it set {fitted} is in {machine}; the row was not used",
                kind.words()
            ),
            Matter::OtherEdgeIn { edge, named } => write!(
                to,
                "the row names edge {named}, but by the rows before it {edge} is at work; taken as that one"
            ),
            Matter::NothingFitted { kind, machine } => write!(
                to,
                "\"{}\", but by the rows before it no set is in {machine}; the row was not used",
                kind.words()
            ),
            _ => Ok(()),
        }
    }

    fn about_fitting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::TakenAsPulled { edge } => write!(
                to,
                "a set was fitted while another was in; {edge} is taken as pulled at that moment, without a grade"
            ),
            Matter::StillFitted { edge, kind } => write!(
                to,
                "\"{}\" while the set was still in a machine; {edge} is taken as pulled by then",
                kind.words()
            ),
            Matter::AlreadyFitted { edge } => write!(
                to,
                "\"fitted\", but {edge} is in already; taken as still at work"
            ),
            Matter::MovedMachine { edge, to: machine } => write!(
                to,
                "{edge} went on in {machine} without a regrind; its life goes on there"
            ),
            Matter::FittedAfterDiscard { set } => write!(
                to,
                "set {set} was discarded earlier; taken as new knives under the old name"
            ),
            Matter::FlippedSingleEdge { set } => write!(
                to,
                "set {set} was flipped, but its knives are listed with one cutting edge; taken as a second edge"
            ),
            _ => Ok(()),
        }
    }

    fn about_what_was_left_out(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::RanOnAfterStrike { edge, hours } => write!(
                to,
                "{edge} ran on {:.1} h after this strike; those hours say nothing of wear and are left out until the next grind",
                hours.get()
            ),
            Matter::LookAfterStrike { edge } => write!(
                to,
                "{edge} had been struck by then; what it looked like says nothing of wear and is left out"
            ),
            Matter::LookWhenFresh { edge } => write!(
                to,
                "{edge} had not worked an hour yet; what it looked like says nothing of wear and is left out"
            ),
            Matter::FlatUnused => write!(
                to,
                "a flat was measured, but shop.csv does not say at which width this crew calls an edge dull (flat_when_dull); the flat is not used"
            ),
            Matter::UnderWidth {
                set,
                width,
                discard,
            } => {
                let (width, discard) = told_apart(*width, *discard);
                write!(
                    to,
                    "by the log, set {set} is {width} wide, below the discard width of {discard} given for the machine: measure it, and do not run it below that width"
                )
            }
            Matter::KnivesDiffer {
                set,
                knives,
                wanted,
            } => write!(
                to,
                "set {set} has {knives} knives and the machine carries {wanted}: do not run an incomplete or unmatched set"
            ),
            Matter::WorkedBeforeLog { edge, hours } => write!(
                to,
                "{edge} had worked {:.1} h before the log starts; they count as the usual mix",
                hours.get()
            ),
            _ => Ok(()),
        }
    }
}

/// Decimals beyond the usual ones, where two widths have to be told apart.
const MORE_DECIMALS: usize = 6;

/// Two widths in millimetres and inches, to as many decimals as tell them apart in both.
fn told_apart(one: Width, other: Width) -> (String, String) {
    let millimetres = |width: Width, more| format!("{:.1$}", width.millimetres(), 1 + more);
    let inches = |width: Width, more| format!("{:.1$}", width.inches(), 3 + more);
    let same = |more: &usize| {
        millimetres(one, *more) == millimetres(other, *more)
            || inches(one, *more) == inches(other, *more)
    };
    let more = (0..MORE_DECIMALS).find(|more| !same(more)).unwrap_or(0);
    let words = |width| {
        format!(
            "{} mm ({} in)",
            millimetres(width, more),
            inches(width, more)
        )
    };
    (words(one), words(other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_width_below_another_is_never_shown_as_the_same() {
        let width = |inches| Width::from_inches(inches).unwrap();
        let (now, discard) = told_apart(width(3.4997), width(3.5));
        assert_eq!(now, "88.89 mm (3.4997 in)");
        assert_eq!(discard, "88.90 mm (3.5000 in)");
        let (now, _) = told_apart(width(3.45), width(3.5));
        assert_eq!(now, "87.6 mm (3.450 in)");
    }
}
