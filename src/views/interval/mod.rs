//! When to change: the owner's answer, to be read at arm's length.

mod sentences;

use super::format::{
    hours, hours_between, hours_with_range, money, money_range, per_cent, percent_range, set_in,
    whole_percent, wrapped,
};
use super::standing::WIDTH;
use super::{Standing, View};
use crate::decisions::{Caveat, IntervalAnswer};
use crate::quantities::{Estimate, MeterHours, Money, Probability};
use sentences::{evidence_sentence, flat_sentence, rule_sentence, service_sentence};
use serde_json::{Map, Value, json};

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
    fn caveats(&self) -> &[Caveat] {
        match self {
            Recommended::At(answer) => &answer.caveats,
            Recommended::WhenCalled { .. } => &[],
        }
    }
}

/// The interval in one kind of wood.
#[derive(Debug, Clone, PartialEq)]
pub struct WoodInterval {
    /// `hardwood` or `softwood`.
    pub wood: &'static str,
    /// How dirty: `clean`, `dusty`, `dirty` or `gritty`.
    pub contamination: &'static str,
    /// The interval of least expected cost, and the chance that an edge is dull before then; `None` where
    /// no planned interval pays.
    pub interval: Option<(Estimate<MeterHours>, Estimate<Probability>)>,
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

impl MachineInterval {
    fn text(&self, report: &IntervalReport) -> String {
        let mut text = match &self.answer {
            Recommended::At(answer) => self.heading(answer),
            Recommended::WhenCalled { cost_per_hour } => {
                let cost = format!(
                    "changing when the cut calls for it costs about {} per meter hour, {}",
                    money(*cost_per_hour, &report.standing.currency),
                    self.conditions,
                );
                format!(
                    "{}: no planned interval pays at these costs\n{}",
                    self.machine,
                    set_in(&cost, WIDTH)
                )
            }
        };
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
        text.push_str(&self.table());
        text
    }

    fn heading(&self, answer: &IntervalAnswer) -> String {
        let range = format!(
            "likely between {} hours ({} bounds), {}",
            hours_between(&answer.interval),
            per_cent(answer.interval.level.get()),
            self.conditions,
        );
        format!(
            "{}: change the knives every {} hours\n{}",
            self.machine,
            hours(answer.interval.point),
            set_in(&range, WIDTH)
        )
    }

    fn lines(
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
        lines.push((
            "dull by then",
            format!(
                "{} of edges ({})",
                whole_percent(answer.past_dull.point),
                percent_range(&answer.past_dull)
            ),
        ));
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

    /// A row for each class of dirt, a column for each wood, in the order in which they come.
    fn table(&self) -> String {
        let woods = distinct(self.by_wood.iter().map(|row| row.wood));
        let classes = distinct(self.by_wood.iter().map(|row| row.contamination));
        let line = |label: &str, cells: Vec<String>| {
            let cells: String = cells.iter().map(|cell| format!("{cell:<20}")).collect();
            format!("  {label:<12}{cells}").trim_end().to_string() + "\n"
        };
        let mut text = line(
            "green wood",
            woods.iter().map(ToString::to_string).collect(),
        );
        for class in classes {
            let row = self.by_wood.iter().filter(|row| row.contamination == class);
            text.push_str(&line(class, row.map(WoodInterval::cell).collect()));
        }
        text
    }

    fn json(&self) -> Value {
        let by_wood: Vec<Value> = self
            .by_wood
            .iter()
            .map(|row| {
                json!({
                    "wood": row.wood,
                    "contamination": row.contamination,
                    "interval": row.interval.map(|(interval, _)| interval),
                    "past_dull": row.interval.map(|(_, past_dull)| past_dull),
                })
            })
            .collect();
        let mut fields = Map::from_iter([
            ("machine".to_string(), json!(self.machine)),
            ("rotor".to_string(), json!(self.rotor)),
            ("conditions".to_string(), json!(self.conditions)),
            ("edges".to_string(), json!(self.edges)),
            ("further_changes".to_string(), json!(self.further_changes)),
            ("by_wood".to_string(), json!(by_wood)),
        ]);
        match &self.answer {
            Recommended::At(answer) => {
                if let Value::Object(answer) = json!(answer) {
                    fields.extend(answer);
                }
            }
            Recommended::WhenCalled { cost_per_hour } => {
                fields.insert("interval".to_string(), Value::Null);
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
        self.standing.fields(machines.collect())
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

impl WoodInterval {
    fn cell(&self) -> String {
        match &self.interval {
            Some((interval, _)) => hours_with_range(interval),
            None => "when the cut calls".to_string(),
        }
    }
}

/// Each word once, in the order of first appearance.
fn distinct(words: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    words.fold(Vec::new(), |mut known, word| {
        if !known.contains(&word) {
            known.push(word);
        }
        known
    })
}
