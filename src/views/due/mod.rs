//! The reading at which each machine's edge is due: the operator's answer.

mod json;

use super::format::{hours, per_cent, reading, set_in, whole_percent, whole_share, wrapped};
use super::last_look::looked_at;
use super::standing::WIDTH;
use super::unfit::quoted;
use super::{Standing, UnfitSet, View};
use crate::decisions::{Caveat, DueAnswer};
use crate::lives::LastLook;
use crate::quantities::{Estimate, MeterHours, WearFraction};
use serde_json::{Map, Value};

/// The answer for one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineDue {
    /// Machine, by name.
    pub machine: String,
    /// What its hour meter reads now, where that is known.
    pub meter: Option<MeterHours>,
    /// The log holds no reading: `meter` is the one typed, and nobody knows what was worked since the log's last
    /// run.
    pub meter_only_typed: bool,
    /// Its meter is read in tenths of an hour.
    pub reads_tenths: bool,
    /// The mark, or why there is none.
    pub mark: DueMark,
}

/// The mark, or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub enum DueMark {
    /// Known.
    Known(Box<EdgeDue>),
    /// The set at work must not be run; the edge comes without a mark.
    MustNotRun(Box<EdgeDue>, UnfitSet),
    /// The edge at work was struck and its set found sound since: how far it is worn nobody can say.
    Struck(Box<EdgeDue>),
    /// No row says which edge is at work, or since when.
    UnknownEdge,
    /// At these costs no planned change pays: change when the cut calls for it.
    WhenCalled,
}

/// The edge at work and when it is due.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeDue {
    /// Knife set, by name.
    pub set: String,
    /// Which edge, from 1.
    pub edge: u32,
    /// Whether the knives have another edge, so that the next change is a flip as a rule.
    pub reversible: bool,
    /// The day it was fitted or flipped to, as year-month-day.
    pub since: String,
    /// What the meter read then.
    pub meter_then: Option<MeterHours>,
    /// Meter hours since.
    pub hours_since: MeterHours,
    /// Of those, hours of which no run tells wood and dirt.
    pub hours_guessed: MeterHours,
    /// Of those, hours on the meter since the log's last record, where a reading was typed.
    pub hours_beyond_log: Option<MeterHours>,
    /// It was struck and has not been ground since.
    pub struck: bool,
    /// What somebody last saw of it.
    pub last_look: Option<LastLook>,
    /// What comes next, and the answer for it. The first is the mark to write on the machine.
    pub ahead: Vec<DueAhead>,
    /// The same in wood of one class of dirt each, `clean` to `gritty`; empty where nobody asked for it.
    pub by_dirt: Vec<(&'static str, DueAnswer)>,
}

/// The answer for one kind of work ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct DueAhead {
    /// What goes through, in words.
    pub conditions: String,
    /// The answer.
    pub answer: DueAnswer,
    /// What the meter read when the edge was due, where that is past.
    pub was_due_at: Option<Estimate<MeterHours>>,
}

/// What `due` answers.
///
/// # Examples
///
/// A machine of which nobody wrote down which edge is in it gets no mark, and is told what to write.
///
/// ```
/// use keenspan::decisions::handling_knives;
/// use keenspan::quantities::MeterHours;
/// use keenspan::views::{DueMark, DueReport, MachineDue, Standing, View};
///
/// let report = DueReport {
///     machines: vec![MachineDue {
///         machine: "big drum".to_string(),
///         meter: Some(MeterHours::new(1250.0)?),
///         meter_only_typed: false,
///         reads_tenths: false,
///         mark: DueMark::UnknownEdge,
///     }],
///     standing: Standing { cautions: handling_knives(), ..Standing::default() },
/// };
/// assert!(report.text().contains("big drum"));
/// assert_eq!(report.json()["answers"][0]["machine"], "big drum");
/// # Ok::<(), keenspan::quantities::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DueReport {
    /// One answer a machine.
    pub machines: Vec<MachineDue>,
    /// What the answers stand on.
    pub standing: Standing,
}

impl MachineDue {
    fn text(&self) -> String {
        match &self.mark {
            DueMark::Known(edge) => self.known(edge),
            DueMark::MustNotRun(edge, unfit) => {
                flush(&self.headline())
                    + &wrapped("edge", &self.history(edge), WIDTH)
                    + &wrapped("do this", &unfit.to_do(), WIDTH)
            }
            DueMark::Struck(edge) => {
                flush(&self.headline()) + &wrapped("edge", &self.history(edge), WIDTH)
            }
            DueMark::UnknownEdge => {
                let look = format!(
                    "look at the edge now. Then write down what is in: keenspan add event fitted --machine {} \
                     --set SET --edge N --meter READING",
                    quoted(&self.machine)
                );
                self.headline() + "\n" + &wrapped("do this", &look, WIDTH)
            }
            DueMark::WhenCalled => self.headline() + "\n",
        }
    }

    /// The answer in one line.
    pub(super) fn headline(&self) -> String {
        let machine = &self.machine;
        match &self.mark {
            DueMark::Known(edge) => match edge.ahead.first() {
                Some(first) => self.heading(&first.answer),
                None => format!("{machine}: no mark"),
            },
            DueMark::MustNotRun(_, unfit) => format!("{machine}: {}", unfit.sentence()),
            DueMark::Struck(edge) => format!(
                "{machine}: no mark; edge {} of {} was struck, and how far it is worn since is not known. \
                 Look at the edge, or change it",
                edge.edge, edge.set
            ),
            DueMark::UnknownEdge => {
                format!("{machine}: no row of the log says which edge is at work, or since when")
            }
            DueMark::WhenCalled => format!(
                "{machine}: no mark; at these costs it is cheapest to change when the cut calls for it"
            ),
        }
    }

    /// What somebody saw of the edge that must stand beside its mark: that it is dull, where the mark is later, or a nick.
    pub(super) fn seen(&self) -> impl Iterator<Item = Caveat> {
        let edge = match &self.mark {
            DueMark::Known(edge) => Some(edge),
            _ => None,
        };
        let first = edge.and_then(|edge| edge.ahead.first());
        let caveats = first
            .into_iter()
            .flat_map(|first| first.answer.caveats.iter().copied());
        caveats.filter(|caveat| matches!(caveat, Caveat::CalledDull | Caveat::NickNotCosted))
    }

    /// The answer in a word or two, for a table of machines.
    pub(super) fn short(&self) -> String {
        match &self.mark {
            DueMark::Known(edge) => match edge.ahead.first().map(|first| &first.answer) {
                Some(answer) if answer.overdue.is_none() && answer.mark.is_some() => {
                    format!("at {}", self.mark_with_bounds(answer))
                }
                Some(answer) => self.mark_of(answer),
                None => "no mark".to_string(),
            },
            DueMark::MustNotRun(_, unfit) => format!("not to be run: {}", unfit.why()),
            DueMark::Struck(_) => "struck: look at the edge".to_string(),
            DueMark::UnknownEdge => "not known: look at the edge".to_string(),
            DueMark::WhenCalled => "when the cut calls".to_string(),
        }
    }

    fn known(&self, edge: &EdgeDue) -> String {
        let Some((ahead, others)) = edge.ahead.split_first() else {
            return String::new();
        };
        let first = &ahead.answer;
        let mut text = self.headline() + "\n";
        text += &set_in(&self.bounds(edge, ahead), WIDTH);
        for caveat in &first.caveats {
            text += &wrapped("!", &format!("{caveat}."), WIDTH);
        }
        text.push('\n');
        for other in others {
            let mark = self.mark_with_bounds(&other.answer);
            let sentence = format!("{}: {mark}", other.conditions);
            text += &wrapped("otherwise", &sentence, WIDTH);
        }
        for (label, sentence) in self.lines(edge, first) {
            text += &wrapped(label, &sentence, WIDTH);
        }
        text
    }

    fn heading(&self, answer: &DueAnswer) -> String {
        let machine = &self.machine;
        match (&answer.overdue, &answer.mark) {
            (Some(by), _) if !is_just_due(answer) => {
                format!(
                    "{machine}: overdue by about {} meter hours. Stop for the knives now",
                    hours(by.point)
                )
            }
            (Some(_), _) => format!("{machine}: due. Stop for the knives now"),
            (None, Some(mark)) => format!(
                "{machine}: write {} on the machine; the knives are due when its hour meter reads that",
                self.reads(mark.point)
            ),
            (None, None) => format!(
                "{machine}: the knives are due after another {} meter hours",
                hours(answer.hours_left.point)
            ),
        }
    }

    fn bounds(&self, edge: &EdgeDue, ahead: &DueAhead) -> String {
        let DueAhead {
            conditions, answer, ..
        } = ahead;
        if let Some(by) = answer.overdue {
            return match ahead.was_due_at {
                _ if is_just_due(answer) => format!("it is due now ({conditions})"),
                _ if by.point > edge.hours_since => format!(
                    "it was due already when it went in, by what the log says of its earlier work ({conditions})"
                ),
                Some(at) => format!(
                    "it was due at about {} on its hour meter ({} to {}); that is past ({conditions})",
                    self.reads(at.point),
                    self.reads(at.lower),
                    self.reads(at.upper)
                ),
                None => format!("when it was due is past ({conditions})"),
            };
        }
        let level = per_cent(answer.hours_left.level.get());
        match &answer.mark {
            Some(mark) => format!(
                "earliest {}, latest {} ({level} bounds), {conditions}",
                self.reads(mark.lower),
                self.reads(mark.upper)
            ),
            None => format!(
                "at the earliest after {}, at the latest after {} meter hours ({level} bounds), {conditions}",
                hours(answer.hours_left.lower),
                hours(answer.hours_left.upper)
            ),
        }
    }

    fn lines(&self, edge: &EdgeDue, answer: &DueAnswer) -> Vec<(&'static str, String)> {
        let left = &answer.hours_left;
        let left = format!(
            "{} hours left ({} to {})",
            hours(left.point),
            hours(left.lower),
            hours(left.upper)
        );
        let now = match self.meter {
            Some(meter) if self.meter_only_typed => format!(
                "{} now, as typed; {left}. The log holds no reading: hours worked since its last run are not known, and \
                 count as none",
                self.reads(meter)
            ),
            Some(meter) => format!("{} now; {left}", self.reads(meter)),
            None => format!("not in the log; {left}"),
        };
        let mut lines = vec![("hour meter", now), ("edge", self.history(edge))];
        if edge.hours_guessed.get() >= 0.05 {
            let guessed = format!(
                "{} of these hours are in no run that tells wood and dirt; they count as its usual wood",
                hours(edge.hours_guessed)
            );
            lines.push(("not logged", guessed));
        }
        let look = edge.last_look.as_ref();
        lines.extend(look.map(|look| ("looked at", looked_at(look))));
        lines.push(("wear", wear(answer)));
        lines.extend(self.by_dirt(edge).map(|marks| ("by dirt", marks)));
        lines.push(("what then", what_then(edge)));
        lines.push(("when done", self.when_done(edge)));
        lines
    }

    /// The mark in wood of each class of dirt, where any was asked for.
    fn by_dirt(&self, edge: &EdgeDue) -> Option<String> {
        let dirt = edge.by_dirt.iter();
        let dirt: Vec<String> = dirt
            .map(|(class, answer)| format!("{class} {}", self.mark_with_bounds(answer)))
            .collect();
        (!dirt.is_empty()).then(|| {
            format!(
                "{}; if all that comes from now on is like that{}",
                dirt.join(", "),
                dirt_wears_out(edge)
            )
        })
    }

    /// The mark as a reading, or the hours left where the meter is not known.
    pub(super) fn mark_of(&self, answer: &DueAnswer) -> String {
        match (&answer.mark, answer.overdue) {
            (_, Some(_)) => "now".to_string(),
            (Some(mark), None) => self.reads(mark.point),
            (None, None) => format!("after {} hours", hours(answer.hours_left.point)),
        }
    }

    /// The same with its bounds.
    fn mark_with_bounds(&self, answer: &DueAnswer) -> String {
        let bounds = match (&answer.mark, answer.overdue) {
            (_, Some(_)) => return self.mark_of(answer),
            (Some(mark), None) => [mark.lower, mark.upper].map(|at| self.reads(at)),
            (None, None) => [answer.hours_left.lower, answer.hours_left.upper].map(hours),
        };
        let [lower, upper] = bounds;
        format!("{} ({lower} to {upper})", self.mark_of(answer))
    }

    pub(super) fn history(&self, edge: &EdgeDue) -> String {
        let then = edge.meter_then.map_or(String::new(), |then| {
            format!(" (meter {})", self.reads(then))
        });
        let beyond = edge.hours_beyond_log.map_or(String::new(), |beyond| {
            format!(
                ", {} of them since the last record in the log, counted as the wood that it chipped lately",
                hours(beyond)
            )
        });
        format!(
            "{}, edge {}, at work since {}{then}: {} hours{beyond}",
            edge.set,
            edge.edge,
            edge.since,
            hours(edge.hours_since)
        )
    }

    fn when_done(&self, edge: &EdgeDue) -> String {
        let kind = if edge.reversible {
            "flipped (or pulled)"
        } else {
            "pulled"
        };
        format!(
            "write it down with what the edge looked like: keenspan add event {kind} --machine {} --meter READING \
             --grade keen|working|dull|overrun",
            quoted(&self.machine)
        )
    }

    pub(super) fn reads(&self, at: MeterHours) -> String {
        reading(at, self.reads_tenths)
    }
}

/// A headline that may be long: its first line flush, its further ones set in.
fn flush(headline: &str) -> String {
    set_in(headline, WIDTH).trim_start().to_string()
}

/// A worn edge has less to lose in dirt than a fresh one: said where a mark for dirtier work is the later one.
fn dirt_wears_out(edge: &EdgeDue) -> &'static str {
    let left = edge.by_dirt.iter().map(|(_, due)| due.hours_left.point);
    let left: Vec<MeterHours> = left.collect();
    let later = |pair: &[MeterHours]| pair[1].get() - pair[0].get() >= 0.05;
    if left.windows(2).any(later) {
        ". Dirty work may go on a little longer with an edge that is nearly due: a fresh one would soon be dull in it"
    } else {
        ""
    }
}

/// The mark says when, and nothing of what is done then: `knives` weighs that, with what the edge looks like.
fn what_then(edge: &EdgeDue) -> String {
    let flip = if edge.reversible { "a flip, " } else { "" };
    let is_due = edge
        .ahead
        .first()
        .is_some_and(|it| it.answer.overdue.is_some());
    let run_on = if is_due {
        ""
    } else {
        ", or whether it may run on for a while"
    };
    let unlogged = edge.hours_beyond_log.map_or(0.0, MeterHours::get);
    let first = if unlogged >= 0.05 {
        "write the hours since the last record into the log first; then "
    } else {
        ""
    };
    format!(
        "the mark is for taking the knives off to be sharpened. Whether a touch-up in place, {flip}a regrind or new \
         knives come next{run_on}: {first}keenspan knives {} says",
        quoted(&edge.set)
    )
}

/// Whether it has come due just now, to the tenth of an hour.
fn is_just_due(answer: &DueAnswer) -> bool {
    answer.overdue.is_some_and(|by| by.point.get() < 0.05)
}

fn wear(answer: &DueAnswer) -> String {
    format!(
        "{} used ({}); at 100 % it is just dull; {} chance that it is dull already",
        whole_share(answer.wear.point),
        shares(&answer.wear),
        whole_percent(answer.past_dull)
    )
}

fn shares(wear: &Estimate<WearFraction>) -> String {
    format!("{} to {}", whole_share(wear.lower), whole_share(wear.upper))
}

impl View for DueReport {
    fn text(&self) -> String {
        let machines = self.machines.iter();
        let machines: String = machines.map(|machine| machine.text() + "\n").collect();
        self.standing.head() + &machines + &self.standing.foot()
    }

    fn json(&self) -> Map<String, Value> {
        let machines = self.machines.iter().map(MachineDue::json);
        self.standing.fields("due", machines.collect())
    }

    fn warnings(&self) -> Vec<String> {
        let caveats = self.machines.iter().flat_map(|machine| {
            let said = move |caveat: &Caveat| format!("{}: {caveat}", machine.machine);
            match &machine.mark {
                DueMark::Known(edge) => {
                    let first = edge.ahead.first().into_iter();
                    first.flat_map(|it| &it.answer.caveats).map(said).collect()
                }
                DueMark::MustNotRun(..) | DueMark::Struck(_) => vec![machine.headline()],
                DueMark::UnknownEdge | DueMark::WhenCalled => Vec::new(),
            }
        });
        self.standing.alarms().into_iter().chain(caveats).collect()
    }
}
