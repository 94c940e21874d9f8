//! The report: one page that says the answer first, then shows it. It needs no network and no script.

mod drift;
mod knives;
mod page;
mod pictures;
mod plots;
mod tables;

pub use pictures::Picture;

use super::{DriftReport, DueReport, IntervalReport, KnivesReport};
use crate::decisions::DullChance;
use crate::quantities::{Grade, MeterHours};
use crate::wear::{Learned, StrikeRate};

/// Everything that the report shows.
#[derive(Debug, Clone)]
pub struct ReportPage {
    /// What the shop calls itself; blank where it does not say.
    pub shop: String,
    /// The day of the log's last record, as year-month-day; blank in an empty log.
    pub last_day: String,
    /// The owner's answer.
    pub interval: IntervalReport,
    /// The operator's answer.
    pub due: DueReport,
    /// Whether edges last as they should.
    pub drift: DriftReport,
    /// The mechanic's answer.
    pub knives: KnivesReport,
    /// What the log has taught.
    pub learned: Vec<Learned>,
    /// Strikes by class of dirt.
    pub strikes: Vec<StrikeRate>,
    /// How likely edges are dull, machine by machine.
    pub dull: Vec<MachineDull>,
    /// Where each machine's edges sat.
    pub lines: Vec<MachineLine>,
}

/// How likely an edge of one machine is dull by some hour.
#[derive(Debug, Clone)]
pub struct MachineDull {
    /// Machine, by name.
    pub machine: String,
    /// The curve for each class of dirt, in green hardwood.
    pub classes: Vec<(&'static str, Vec<DullChance>)>,
}

/// One machine's time line.
#[derive(Debug, Clone)]
pub struct MachineLine {
    /// Machine, by name.
    pub machine: String,
    /// The edges that sat in it, by reading.
    pub stays: Vec<LineStay>,
}

/// One edge on the time line.
#[derive(Debug, Clone)]
pub struct LineStay {
    /// Knife set, by name.
    pub set: String,
    /// Which edge, from 1.
    pub edge: u32,
    /// The reading at which it went in.
    pub from: MeterHours,
    /// The reading at which it came out, or now.
    pub to: MeterHours,
    /// How it ended here.
    pub end: LineEnd,
    /// The reading at which it would have been due by the recommendation, in the wood that it met; `None`
    /// where that is not known, and for the edge at work, which has its mark.
    pub was_due: Option<MeterHours>,
}

/// What is known of the end of a stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineEnd {
    /// Still at work.
    AtWork,
    /// Came out with this grade.
    Graded(Grade),
    /// Noticed dull in the cut.
    Noticed,
    /// Struck.
    Struck,
    /// Nobody said what it looked like.
    NotLooked,
}

impl ReportPage {
    /// The page, self-contained.
    pub fn html(&self) -> String {
        let page = page::page(self).into_string();
        // No line ends between a number and its sign, or between letters of a currency and their number.
        let page = page.replace(" %", "\u{a0}%");
        let currency = &self.interval.standing.currency;
        if currency.chars().any(char::is_alphabetic) {
            return page.replace(&format!("{currency} "), &format!("{currency}\u{a0}"));
        }
        page
    }
}
