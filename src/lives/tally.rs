//! Edges in, edges used, edges set aside; hours in, hours used, hours set aside.

use super::note::{EdgeName, Note, Record};
use crate::quantities::MeterHours;
use std::fmt;

/// An edge that could not be used, with its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// Which edge.
    pub edge: EdgeName,
    /// Why.
    pub reason: AsideReason,
}

impl fmt::Display for SetAside {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}: {}", self.edge, self.reason)
    }
}

/// Why an edge could not be used.
#[derive(Debug, Clone, PartialEq)]
pub enum AsideReason {
    /// It was at work before anything says since when.
    UnknownPast {
        /// The first row that speaks of it.
        first_seen: Record,
    },
    /// It went on, without a regrind, in a machine of another rotor kind.
    OtherRotor {
        /// The row that fitted it there.
        fitted: Record,
    },
    /// It never worked, or was struck at once.
    NoHours {
        /// The row that fitted it.
        fitted: Record,
    },
    /// Nothing was seen of it after the log started.
    NothingSeen {
        /// The row that fitted it.
        fitted: Record,
    },
}

impl fmt::Display for AsideReason {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            AsideReason::UnknownPast { first_seen } => write!(
                to,
                "it was at work already when {first_seen} speaks of it, and no row says since when. It becomes usable with a row \"fitted\" that gives the meter reading at which it went in"
            ),
            AsideReason::OtherRotor { fitted } => write!(
                to,
                "it went on ({fitted}) without a regrind in a machine of another rotor kind, where an edge wears differently. Its first part is used"
            ),
            AsideReason::NoHours { fitted } => write!(
                to,
                "no hours lie between the row that fitted it ({fitted}) and its end"
            ),
            AsideReason::NothingSeen { fitted } => write!(
                to,
                "it was fitted ({fitted}) before the log starts, and nothing was seen of it after"
            ),
        }
    }
}

/// Where one machine's hours went: `total` is the sum of `in_lives`, `set_aside`, `after_strike` and
/// `no_edge`. Meter hours.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineHours {
    /// Machine, by name.
    pub machine: String,
    /// From the first to the last record of it.
    pub total: MeterHours,
    /// Part of the lives that the fit stands on.
    pub in_lives: MeterHours,
    /// Part of edges set aside.
    pub set_aside: MeterHours,
    /// On edges that had been struck, until their next grind.
    pub after_strike: MeterHours,
    /// While no row says which edge was at work.
    pub no_edge: MeterHours,
    /// Of `total`: on the meter, but in no run. They count as the usual mix.
    pub unlogged: MeterHours,
    /// Of `total`: before the first record, since an edge was fitted that is known to have been at
    /// work by then. They count as the usual mix and are no part of `unlogged`.
    pub before_log: MeterHours,
    /// Of `total`: in runs with wood or dirt left blank. They count as the usual mix.
    pub blank: MeterHours,
}

/// How often one of the crew's own conditions held.
#[derive(Debug, Clone, PartialEq)]
pub struct ConditionHours {
    /// The column of runs.csv.
    pub name: String,
    /// Runs that say yes.
    pub runs: usize,
    /// Their meter hours, as far as they count.
    pub hours: MeterHours,
}

/// What became of everything in the log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    /// Edge lives found in the log that have any hours.
    pub edges_found: usize,
    /// Edge lives the fit stands on.
    pub edges_used: usize,
    /// The rest, each with its reason: `edges_found == edges_used + set_aside.len()`.
    pub set_aside: Vec<SetAside>,
    /// Edges at work that have not worked an hour yet; they are no part of `edges_found`.
    pub just_fitted: usize,
    /// Of the edges used: those whose end was graded, measured or noticed in the cut.
    pub graded_endings: usize,
    /// Of the edges used: pulled or flipped away with nothing said of how they looked.
    pub ungraded_endings: usize,
    /// Of the edges used: ended by a strike.
    pub struck: usize,
    /// Of the edges used: still at work.
    pub running: usize,
    /// Where the hours went, machine by machine, in order of name.
    pub hours: Vec<MachineHours>,
    /// The crew's own conditions, in the order of their columns.
    pub conditions: Vec<ConditionHours>,
    /// What the crew should know about how their rows were read, in order of file and line.
    pub notes: Vec<Note>,
}

/// What must be seen before any answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alarm {
    /// The knife set that it is about, where it is about one.
    pub set: Option<String>,
    /// What is the matter.
    pub words: String,
}

impl From<String> for Alarm {
    /// About no one set.
    fn from(words: String) -> Self {
        Self { set: None, words }
    }
}

impl fmt::Display for Alarm {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str(&self.words)
    }
}

impl Tally {
    /// Notes that must be seen before any answer: knives that may be unfit, readings that cannot be.
    pub fn alarms(&self) -> Vec<Alarm> {
        let alarms = self.notes.iter().filter(|note| note.matter.is_alarm());
        let alarm = |note: &Note| Alarm {
            set: note.matter.set().map(str::to_owned),
            words: note.to_string(),
        };
        let guessed = self.guessed_wood().map(Alarm::from);
        alarms.map(alarm).chain(guessed).collect()
    }

    /// The sentence about hours of which nobody wrote what went through, where there are many.
    fn guessed_wood(&self) -> Option<String> {
        let sum = |of: fn(&MachineHours) -> MeterHours| -> f64 {
            self.hours.iter().map(|hours| of(hours).get()).sum()
        };
        let total = sum(|hours| hours.total);
        let guessed = sum(|hours| hours.unlogged) + sum(|hours| hours.blank);
        (guessed > MUCH_GUESSED * total).then(|| {
            format!(
                "For {:.0} % of the meter hours ({guessed:.0} of {total:.0}) runs.csv does not tell wood and \
                 dirt: they count as the usual mix, and what wears edges is learned from the rest only",
                100.0 * guessed / total
            )
        })
    }
}

/// Above this share of hours without wood and dirt the crew must be told. Basis: judged.
const MUCH_GUESSED: f64 = 0.2;
