//! The reading at which each machine's edge is due: the operator's answer.

use super::format::{hours, per_cent, reading, set_in, whole_percent, wrapped};
use super::standing::{WIDTH, absent};
use super::{Standing, View};
use crate::decisions::{Caveat, DueAnswer};
use crate::quantities::{Estimate, MeterHours, WearFraction};
use serde_json::{Map, Value, json};

/// The answer for one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineDue {
    /// Machine, by name.
    pub machine: String,
    /// What its hour meter reads now, where that is known.
    pub meter: Option<MeterHours>,
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
    /// What comes next, in words, and the answer for it. The first is the mark to write on the machine.
    pub ahead: Vec<(String, DueAnswer)>,
    /// The same in wood of one class of dirt each: `clean` to `gritty`.
    pub by_dirt: Vec<(&'static str, DueAnswer)>,
}

/// What `due` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct DueReport {
    /// One answer a machine.
    pub machines: Vec<MachineDue>,
    /// What the answers stand on.
    pub standing: Standing,
}

/// Fields of JSON that are null where no edge has a mark.
const OF_AN_EDGE: [&str; 8] = [
    "set",
    "edge",
    "since",
    "meter_then",
    "hours_since",
    "hours_guessed",
    "hours_beyond_log",
    "struck",
];

impl MachineDue {
    fn text(&self) -> String {
        match &self.mark {
            DueMark::Known(edge) => self.known(edge),
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
                Some((_, first)) => self.heading(edge, first),
                None => format!("{machine}: no mark"),
            },
            DueMark::UnknownEdge => {
                format!("{machine}: no row of the log says which edge is at work, or since when")
            }
            DueMark::WhenCalled => format!(
                "{machine}: no mark; at these costs it is cheapest to change when the cut calls for it"
            ),
        }
    }

    /// The answer in a word or two, for a table of machines.
    pub(super) fn short(&self) -> String {
        let DueMark::Known(edge) = &self.mark else {
            return match self.mark {
                DueMark::WhenCalled => "when the cut calls".to_string(),
                _ => "not known: look at the edge".to_string(),
            };
        };
        match edge.ahead.first() {
            _ if edge.struck => "struck: look at the knives first".to_string(),
            Some((_, answer)) if answer.overdue.is_none() && answer.mark.is_some() => {
                format!("at {}", self.mark_of(answer))
            }
            Some((_, answer)) => self.mark_of(answer),
            None => "no mark".to_string(),
        }
    }

    fn known(&self, edge: &EdgeDue) -> String {
        let Some((conditions, first)) = edge.ahead.first() else {
            return String::new();
        };
        let mut text = self.headline() + "\n";
        text += &set_in(&self.bounds(conditions, first), WIDTH);
        for caveat in &first.caveats {
            text += &wrapped("!", &format!("{caveat}."), WIDTH);
        }
        text.push('\n');
        for (conditions, answer) in &edge.ahead[1..] {
            text += &wrapped(
                "planned",
                &format!("{}: {}", conditions, self.mark_of(answer)),
                WIDTH,
            );
        }
        for (label, sentence) in self.lines(edge, first) {
            text += &wrapped(label, &sentence, WIDTH);
        }
        text
    }

    fn heading(&self, edge: &EdgeDue, answer: &DueAnswer) -> String {
        let machine = &self.machine;
        if edge.struck {
            return format!(
                "{machine}: struck and not ground since. Stop and look at the knives first"
            );
        }
        match (&answer.overdue, &answer.mark) {
            (Some(by), _) if by.get() >= 0.05 => {
                format!(
                    "{machine}: overdue by about {} meter hours. Change the knives now",
                    hours(*by)
                )
            }
            (Some(_), _) => format!("{machine}: due. Change the knives now"),
            (None, Some(mark)) => format!(
                "{machine}: write {} on the machine; change the knives when its hour meter reads that",
                self.reads(mark.point)
            ),
            (None, None) => format!(
                "{machine}: change the knives after another {} meter hours",
                hours(answer.hours_left.point)
            ),
        }
    }

    fn bounds(&self, conditions: &str, answer: &DueAnswer) -> String {
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
        lines.push(("wear", wear(answer)));
        let dirt = edge.by_dirt.iter();
        let dirt: Vec<String> = dirt
            .map(|(class, answer)| format!("{class} {}", self.mark_of(answer)))
            .collect();
        lines.push(("all of it", dirt.join(", ")));
        lines.push(("when done", self.when_done(edge)));
        lines
    }

    /// The mark as a reading, or the hours left where the meter is not known.
    pub(super) fn mark_of(&self, answer: &DueAnswer) -> String {
        match (&answer.mark, answer.overdue) {
            (_, Some(_)) => "now".to_string(),
            (Some(mark), None) => self.reads(mark.point),
            (None, None) => format!("after {} hours", hours(answer.hours_left.point)),
        }
    }

    pub(super) fn history(&self, edge: &EdgeDue) -> String {
        let then = edge.meter_then.map_or(String::new(), |then| {
            format!(" (meter {})", self.reads(then))
        });
        let beyond = edge.hours_beyond_log.map_or(String::new(), |beyond| {
            format!(
                ", {} of them since the last record in the log",
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

    fn json(&self) -> Value {
        let mut fields = absent(&OF_AN_EDGE, &["ahead", "by_dirt"]);
        fields.extend([
            ("machine".to_string(), json!(self.machine)),
            ("meter".to_string(), json!(self.meter)),
        ]);
        let why = match &self.mark {
            DueMark::Known(edge) => {
                fields.extend(edge.json());
                None
            }
            DueMark::UnknownEdge => Some("no row says which edge is at work, or since when"),
            DueMark::WhenCalled => Some("at these costs no planned change pays"),
        };
        fields.insert("no_mark_because".to_string(), json!(why));
        Value::Object(fields)
    }
}

impl EdgeDue {
    fn json(&self) -> Map<String, Value> {
        let ahead = self.ahead.iter();
        let ahead = ahead.map(|(words, answer)| json!({ "conditions": words, "due": answer }));
        let by_dirt = self.by_dirt.iter();
        let by_dirt =
            by_dirt.map(|(class, answer)| json!({ "contamination": class, "due": answer }));
        Map::from_iter([
            ("set".to_string(), json!(self.set)),
            ("edge".to_string(), json!(self.edge)),
            ("since".to_string(), json!(self.since)),
            ("meter_then".to_string(), json!(self.meter_then)),
            ("hours_since".to_string(), json!(self.hours_since)),
            ("hours_guessed".to_string(), json!(self.hours_guessed)),
            ("hours_beyond_log".to_string(), json!(self.hours_beyond_log)),
            ("struck".to_string(), json!(self.struck)),
            ("ahead".to_string(), ahead.collect()),
            ("by_dirt".to_string(), by_dirt.collect()),
        ])
    }
}

fn wear(answer: &DueAnswer) -> String {
    format!(
        "{} used ({}); at 100 % it is just dull; {} chance that it is dull already",
        share(answer.wear.point),
        shares(&answer.wear),
        whole_percent(answer.past_dull)
    )
}

fn share(wear: WearFraction) -> String {
    format!("{:.0} %", 100.0 * wear.get())
}

fn shares(wear: &Estimate<WearFraction>) -> String {
    format!("{} to {}", share(wear.lower), share(wear.upper))
}

/// A name as it must be typed.
fn quoted(name: &str) -> String {
    if name.contains(' ') {
        format!("\"{name}\"")
    } else {
        name.to_string()
    }
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
            let first = match &machine.mark {
                DueMark::Known(edge) => edge.ahead.first().map(|(_, answer)| &answer.caveats),
                _ => None,
            };
            first.into_iter().flatten().map(said).collect::<Vec<_>>()
        });
        self.standing.alarms().into_iter().chain(caveats).collect()
    }
}
