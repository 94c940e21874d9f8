//! What was done to an edge, or seen of it.

use super::Line;
use super::files::is_same_name;
use crate::quantities::{Grade, MeterHours, Width};
use jiff::civil::Date;

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EventKind {
    /// A set was bolted in.
    Fitted,
    /// Somebody looked at the edge: a grade, a measured flat, or both.
    Checked,
    /// The operator felt in the cut that the edge has gone dull.
    NoticedDull,
    /// Honed or dry-sharpened on the rotor.
    TouchedUp,
    /// Turned to the other edge on the machine.
    Flipped,
    /// Taken out.
    Pulled,
    /// Ground fresh on the bench.
    Reground,
    /// Hit metal or stone.
    Struck,
    /// Thrown away.
    Discarded,
    /// The bed knife was turned to a fresh edge.
    BedKnifeTurned,
    /// The gap to the bed knife was set again.
    BedKnifeReset,
    /// The hour meter was replaced.
    MeterReplaced,
}

impl EventKind {
    /// Every kind.
    pub const ALL: [EventKind; 12] = [
        EventKind::Fitted,
        EventKind::Checked,
        EventKind::NoticedDull,
        EventKind::TouchedUp,
        EventKind::Flipped,
        EventKind::Pulled,
        EventKind::Reground,
        EventKind::Struck,
        EventKind::Discarded,
        EventKind::BedKnifeTurned,
        EventKind::BedKnifeReset,
        EventKind::MeterReplaced,
    ];

    /// The words the crew uses.
    pub fn words(self) -> &'static str {
        match self {
            EventKind::Fitted => "fitted",
            EventKind::Checked => "checked",
            EventKind::NoticedDull => "noticed dull",
            EventKind::TouchedUp => "touched up",
            EventKind::Flipped => "flipped",
            EventKind::Pulled => "pulled",
            EventKind::Reground => "reground",
            EventKind::Struck => "struck",
            EventKind::Discarded => "discarded",
            EventKind::BedKnifeTurned => "bed knife turned",
            EventKind::BedKnifeReset => "bed knife reset",
            EventKind::MeterReplaced => "meter replaced",
        }
    }

    /// The kind that goes by these words; case, spaces, hyphens and underscores do not count.
    pub fn from_words(words: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|kind| is_same_name(kind.words(), words))
    }

    /// Whether somebody's hands are on knives or near the rotor for it.
    pub fn handles_knives(self) -> bool {
        !matches!(self, EventKind::NoticedDull | EventKind::MeterReplaced)
    }

    /// Whether an edge's work ends here in somebody's hands, so that a grade can be given for the
    /// asking and teaches more of wear than anything else in the log.
    pub fn ends_in_hand(self) -> bool {
        matches!(self, EventKind::Pulled | EventKind::Flipped)
    }
}

/// One event, as written.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeEvent {
    /// Line in events.csv.
    pub line: Line,
    /// The day.
    pub date: Date,
    /// What happened.
    pub kind: EventKind,
    /// On which machine; blank for bench work.
    pub machine: Option<String>,
    /// Hour-meter reading at the time.
    pub meter: Option<MeterHours>,
    /// Which set. Blank where the machine tells: the set that is in it.
    pub set: Option<String>,
    /// Which edge of a reversible knife, from 1; blank is the one that is working (or edge 1 when fitted).
    pub edge: Option<u32>,
    /// What it looked like.
    pub grade: Option<Grade>,
    /// Width of the bright flat along the edge.
    pub flat: Option<Width>,
    /// Stock ground off.
    pub stock_removed: Option<Width>,
    /// Depth of the deepest nick.
    pub nick: Option<Width>,
    /// For a replaced hour meter: what the new one reads.
    pub new_meter: Option<MeterHours>,
    /// By whom: operator or grinder.
    pub by: String,
    /// Whatever else.
    pub note: String,
}

impl EdgeEvent {
    /// An event with every other cell blank. Its line is 0 until it stands in a file.
    pub fn on(date: Date, kind: EventKind) -> Self {
        Self {
            line: Line(0),
            date,
            kind,
            machine: None,
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
}
