//! When to change: the owner's answer, to be read at arm's length.

mod sentences;
mod tried;
mod woods;
pub(in crate::views) mod year;

use super::format::{hours, hours_between, money, money_range, per_cent, set_in, wrapped};
use super::standing::{WIDTH, absent};
use super::{Standing, View};
use crate::decisions::{Caveat, IntervalAnswer, Years};
use crate::quantities::Money;
use sentences::{dull_sentence, evidence_sentence, flat_sentence, rule_sentence, service_sentence};
use serde_json::{Map, Value, json};

pub use tried::TriedInterval;
pub use woods::WoodInterval;

/// The answer for one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineInterval {
    /// Machine, by name.
    pub machine: String,
    /// `drum` or `disc`.
    pub rotor: &'static str,
    /// What wood the answer is for, in words.
    pub conditions: String,
    /// Finished edges of this machine that the answer stands on.
    pub edges: usize,
    /// The answer.
    pub answer: Recommended,
    /// Further graded changes expected to bring the 90 % range of life within half again as much from
    /// bottom to top (40 to 60 hours, say); `None` where thousands would not do.
    pub further_changes: Option<usize>,
    /// The same question for plain wood of each kind.
    pub by_wood: Vec<WoodInterval>,
    /// A year of it; `None` where hours per year are not known.
    pub year: Option<Years>,
    /// What was tried beside it.
    pub tried: Option<TriedInterval>,
}

/// What comes out of the question of when to change.
#[derive(Debug, Clone, PartialEq)]
pub enum Recommended {
    /// Change at an interval.
    At(Box<IntervalAnswer>),
    /// At these costs no planned interval beats changing when the cut calls for it.
    WhenCalled {
        /// Expected cost per meter hour of doing so.
        cost_per_hour: Money,
    },
}

impl Recommended {
    pub(in crate::views) fn caveats(&self) -> &[Caveat] {
        match self {
            Recommended::At(answer) => &answer.caveats,
            Recommended::WhenCalled { .. } => &[],
        }
    }
}

/// What `interval` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct IntervalReport {
    /// One answer a machine, in the order of the log.
    pub machines: Vec<MachineInterval>,
    /// What the answers stand on.
    pub standing: Standing,
    /// Whether the rule compared with was typed rather than the one in the log.
    pub rule_was_typed: bool,
}

/// Fields of JSON that are null where no planned interval pays; the last, where one does.
const OF_AN_INTERVAL: [&str; 10] = [
    "interval",
    "cost_per_hour",
    "chance_dull",
    "chance_strike",
    "flat",
    "rule",
    "service",
    "share_from_defaults",
    "chance_until_called_best",
    "cost_per_hour_when_called",
];

impl MachineInterval {
    fn text(&self, report: &IntervalReport) -> String {
        let range = self.range_sentence(&report.standing.currency);
        let mut text = self.headline() + "\n" + &set_in(&range, WIDTH);
        for caveat in self.answer.caveats() {
            text.push_str(&wrapped("!", &format!("{caveat}."), WIDTH));
        }
        text.push('\n');
        if let Recommended::At(answer) = &self.answer {
            for (label, sentence) in self.lines(answer, report) {
                text.push_str(&wrapped(label, &sentence, WIDTH));
            }
            text.push('\n');
        }
        let currency = &report.standing.currency;
        text.push_str(&match &self.year {
            Some(years) => year::table(years, currency, report.rule_was_typed),
            None => wrapped("a year", &year::unknown("interval"), WIDTH),
        });
        text.push('\n');
        if let Some(tried) = &self.tried {
            text.push_str(&tried.text(currency));
            text.push('\n');
        }
        text.push_str(&woods::table(&self.by_wood));
        text
    }

    /// The answer in one line.
    pub(in crate::views) fn headline(&self) -> String {
        match &self.answer {
            Recommended::At(answer) => format!(
                "{}: change the knives every {} hours",
                self.machine,
                hours(answer.interval.point)
            ),
            Recommended::WhenCalled { .. } => {
                format!("{}: no planned interval pays at these costs", self.machine)
            }
        }
    }

    /// Its bounds, and the wood that it is for.
    pub(in crate::views) fn range_sentence(&self, currency: &str) -> String {
        match &self.answer {
            Recommended::At(answer) => format!(
                "likely between {} hours ({} bounds), {}",
                hours_between(&answer.interval),
                per_cent(answer.interval.level.get()),
                self.conditions,
            ),
            Recommended::WhenCalled { cost_per_hour } => format!(
                "changing when the cut calls for it costs about {} per meter hour, {}",
                money(*cost_per_hour, currency),
                self.conditions,
            ),
        }
    }

    /// What goes with it, each sentence under its label.
    pub(in crate::views) fn lines(
        &self,
        answer: &IntervalAnswer,
        report: &IntervalReport,
    ) -> Vec<(&'static str, String)> {
        let currency = &report.standing.currency;
        let mut lines = Vec::new();
        if let Some(rule) = &answer.rule {
            let label = if report.rule_was_typed {
                "this rule"
            } else {
                "today's rule"
            };
            lines.push((label, rule_sentence(rule, &answer.flat, currency)));
        }
        lines.push(("as good", flat_sentence(&answer.flat)));
        if let Some(service) = &answer.service {
            lines.push(("at service", service_sentence(service, currency)));
        }
        lines.push(("dull by then", dull_sentence(&answer.past_dull)));
        let unit = if currency.is_empty() {
            " (in your own currency)"
        } else {
            ""
        };
        lines.push((
            "cost",
            format!(
                "{} per meter hour{unit} ({}) for changes, grinding, knives, extra fuel and waiting",
                money(answer.cost_per_hour.point, currency),
                money_range(&answer.cost_per_hour, currency)
            ),
        ));
        lines.push(("stands on", evidence_sentence(self, answer)));
        lines
    }

    fn json(&self) -> Value {
        let by_wood = self.by_wood.iter().map(WoodInterval::json);
        let tried = self.tried.as_ref().map(TriedInterval::json);
        let mut fields = absent(&OF_AN_INTERVAL, &["curve", "caveats"]);
        fields.extend([
            ("machine".to_string(), json!(self.machine)),
            ("rotor".to_string(), json!(self.rotor)),
            ("conditions".to_string(), json!(self.conditions)),
            ("edges_finished".to_string(), json!(self.edges)),
            ("further_changes".to_string(), json!(self.further_changes)),
            ("by_wood".to_string(), Value::Array(by_wood.collect())),
            ("year".to_string(), json!(self.year)),
            ("tried".to_string(), json!(tried)),
        ]);
        match &self.answer {
            Recommended::At(answer) => {
                if let Value::Object(answer) = json!(answer) {
                    fields.extend(answer);
                }
            }
            Recommended::WhenCalled { cost_per_hour } => {
                fields.insert(
                    "cost_per_hour_when_called".to_string(),
                    json!(cost_per_hour),
                );
            }
        }
        Value::Object(fields)
    }
}

impl View for IntervalReport {
    fn text(&self) -> String {
        let machines = self.machines.iter();
        let machines: String = machines.map(|machine| machine.text(self) + "\n").collect();
        self.standing.head() + &machines + &self.standing.foot()
    }

    fn json(&self) -> Map<String, Value> {
        let machines = self.machines.iter().map(MachineInterval::json);
        self.standing.fields("interval", machines.collect())
    }

    fn warnings(&self) -> Vec<String> {
        let said =
            |machine: &MachineInterval, caveat: &Caveat| format!("{}: {caveat}", machine.machine);
        let caveats = self.machines.iter().flat_map(|machine| {
            machine
                .answer
                .caveats()
                .iter()
                .map(move |caveat| said(machine, caveat))
        });
        self.standing.alarms().into_iter().chain(caveats).collect()
    }
}
