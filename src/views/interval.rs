//! When to change: the owner's answer, to be read at arm's length.

use super::View;
use super::format::{
    hours, hours_between, hours_with_range, money, money_range, per_cent, percent_range,
    whole_money, whole_money_range, whole_percent, wrapped,
};
use crate::decisions::{Caveat, FlatPart, IntervalAnswer, RuleComparison, ServiceInterval};
use crate::quantities::{Estimate, MeterHours, Probability};
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
    pub answer: IntervalAnswer,
    /// Further graded changes expected to bring the 90 % range of life within half again as much from
    /// bottom to top (40 to 60 hours, say); `None` where thousands would not do.
    pub further_changes: Option<usize>,
    /// The same question for plain wood of each kind.
    pub by_wood: Vec<WoodInterval>,
}

/// The interval in one kind of wood.
#[derive(Debug, Clone, PartialEq)]
pub struct WoodInterval {
    /// `hardwood` or `softwood`.
    pub wood: &'static str,
    /// How dirty: `clean`, `dusty`, `dirty` or `gritty`.
    pub contamination: &'static str,
    /// The interval of least expected cost.
    pub interval: Estimate<MeterHours>,
    /// Chance that an edge is dull before then.
    pub past_dull: Estimate<Probability>,
}

/// What `interval` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct IntervalReport {
    /// One answer a machine, in the order of the log.
    pub machines: Vec<MachineInterval>,
    /// Sign or letters of the currency; blank shows plain numbers.
    pub currency: String,
    /// Edge lives found in the log.
    pub edges_found: usize,
    /// Edge lives that the fit stands on.
    pub edges_used: usize,
    /// Rows that could not be read.
    pub rows_set_aside: usize,
    /// Notes on how rows were read.
    pub notes: usize,
    /// Start of the random numbers.
    pub seed: u64,
    /// What is said wherever knives are handled.
    pub cautions: &'static [&'static str],
}

/// Widest line of the answer.
const WIDTH: usize = 78;

impl MachineInterval {
    fn text(&self, currency: &str) -> String {
        let answer = &self.answer;
        let interval = &answer.interval;
        let mut text = format!(
            "{}: change the knives every {} hours\n  likely between {} hours ({} bounds), {}\n",
            self.machine,
            hours(interval.point),
            hours_between(interval),
            per_cent(interval.level.get()),
            self.conditions,
        );
        for caveat in &answer.caveats {
            text.push_str(&wrapped("!", &format!("{caveat}."), WIDTH));
        }
        text.push('\n');
        for (label, sentence) in self.lines(currency) {
            text.push_str(&wrapped(label, &sentence, WIDTH));
        }
        text.push('\n');
        text.push_str(&self.table());
        text
    }

    fn lines(&self, currency: &str) -> Vec<(&'static str, String)> {
        let answer = &self.answer;
        let mut lines = Vec::new();
        if let Some(rule) = &answer.rule {
            lines.push(("today's rule", rule_sentence(rule, &answer.flat, currency)));
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
        lines.push((
            "cost",
            format!(
                "{} per meter hour ({}) for changes, grinding, knives, extra fuel and waiting",
                money(answer.cost_per_hour.point, currency),
                money_range(&answer.cost_per_hour, currency)
            ),
        ));
        lines.push(("stands on", self.evidence_sentence()));
        lines
    }

    fn evidence_sentence(&self) -> String {
        let edges = match self.edges {
            0 => "No finished edge of this machine is in the log yet".to_string(),
            1 => "One finished edge of this machine".to_string(),
            many => format!("{many} finished edges of this machine"),
        };
        let defaults = format!(
            "{edges}. {} of what is known of edge life is still the default",
            whole_percent(self.answer.share_from_defaults)
        );
        let further = match self.further_changes {
            Some(0) => "its likely range is already narrow".to_string(),
            Some(1) => "one more graded change should narrow its likely range until the upper end is half again the lower".to_string(),
            Some(count) => format!(
                "about {count} more graded changes should narrow its likely range until the upper end is half again the lower"
            ),
            None => "more grades would narrow its likely range only slowly".to_string(),
        };
        format!("{defaults}; {further}.")
    }

    /// A row for each class of dirt, a column for each wood, in the order in which they come.
    fn table(&self) -> String {
        let woods = distinct(self.by_wood.iter().map(|row| row.wood));
        let classes = distinct(self.by_wood.iter().map(|row| row.contamination));
        let line = |label: &str, cells: Vec<String>| {
            let cells: String = cells.iter().map(|cell| format!("{cell:<20}")).collect();
            format!("  {label:<12}{cells}").trim_end().to_string() + "\n"
        };
        let mut text = line("hours", woods.iter().map(ToString::to_string).collect());
        for class in classes {
            let row = self.by_wood.iter().filter(|row| row.contamination == class);
            text.push_str(&line(
                class,
                row.map(|row| hours_with_range(&row.interval)).collect(),
            ));
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
                    "interval": row.interval,
                    "past_dull": row.past_dull,
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
        if let Value::Object(answer) = json!(self.answer) {
            fields.extend(answer);
        }
        Value::Object(fields)
    }
}

/// A rule is called dear only where the posterior is nearly sure of it.
fn rule_sentence(rule: &RuleComparison, flat: &FlatPart, currency: &str) -> String {
    let extra = &rule.extra_per_100_hours;
    let cost = format!(
        "every {} hours costs {} more per 100 meter hours than the best ({})",
        hours(rule.rule),
        whole_money(extra.point, currency),
        whole_money_range(extra, currency),
    );
    let cost = match &rule.extra_per_year {
        Some(year) => format!(
            "{cost}, {} a year at this machine's pace ({})",
            whole_money(year.point, currency),
            whole_money_range(year, currency)
        ),
        None => cost,
    };
    let dearer = whole_percent(rule.chance_dearer);
    if flat.holds(rule.rule) {
        format!("{cost}: as good as the best")
    } else if rule.is_surely_dearer() {
        format!("{cost}: worth changing, {dearer} sure")
    } else {
        format!("{cost}: perhaps worth changing, {dearer} chance that it is dearer")
    }
}

fn flat_sentence(flat: &FlatPart) -> String {
    match flat.to {
        Some(to) => format!(
            "any interval from {} to {} hours costs within 2 % of the least",
            hours(flat.from),
            hours(to)
        ),
        None => format!(
            "any interval from {} hours up, and running until the cut calls for a change, costs within 2 % of the least",
            hours(flat.from)
        ),
    }
}

fn service_sentence(service: &ServiceInterval, currency: &str) -> String {
    let stops = match service.every_stops {
        1 => "every stop".to_string(),
        2 => "every second stop".to_string(),
        3 => "every third stop".to_string(),
        many => format!("one stop in {many}"),
    };
    format!(
        "{stops}, {} hours, costs {} more per 100 meter hours ({})",
        hours(service.interval),
        whole_money(service.extra_per_100_hours.point, currency),
        whole_money_range(&service.extra_per_100_hours, currency)
    )
}

impl View for IntervalReport {
    fn text(&self) -> String {
        let mut text = String::new();
        for machine in &self.machines {
            text.push_str(&machine.text(&self.currency));
            text.push('\n');
        }
        text.push_str(&format!(
            "{} in the log, {} used{}{}. Seed {}.\n",
            edges(self.edges_found),
            self.edges_used,
            counted(
                self.rows_set_aside,
                "row could not be read",
                "rows could not be read"
            ),
            counted(
                self.notes,
                "note on how rows were read",
                "notes on how rows were read"
            ),
            self.seed,
        ));
        if self.rows_set_aside + self.notes > 0 {
            text.push_str("keenspan verify shows them.\n");
        }
        text.push_str("\nWhen you change knives:\n");
        for caution in self.cautions {
            text.push_str(&wrapped("-", caution, WIDTH));
        }
        text
    }

    fn json(&self) -> Map<String, Value> {
        let machines: Vec<Value> = self.machines.iter().map(MachineInterval::json).collect();
        Map::from_iter([
            ("machines".to_string(), json!(machines)),
            ("unit_of_hours".to_string(), json!("meter hours")),
            ("currency".to_string(), json!(self.currency)),
            (
                "edges".to_string(),
                json!({ "found": self.edges_found, "used": self.edges_used }),
            ),
            ("rows_set_aside".to_string(), json!(self.rows_set_aside)),
            ("notes".to_string(), json!(self.notes)),
            ("seed".to_string(), json!(self.seed)),
            ("cautions".to_string(), json!(self.cautions)),
        ])
    }

    fn warnings(&self) -> Vec<String> {
        let said =
            |machine: &MachineInterval, caveat: &Caveat| format!("{}: {caveat}", machine.machine);
        self.machines
            .iter()
            .flat_map(|machine| {
                machine
                    .answer
                    .caveats
                    .iter()
                    .map(move |caveat| said(machine, caveat))
            })
            .collect()
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

fn edges(count: usize) -> String {
    if count == 1 {
        "1 edge".to_string()
    } else {
        format!("{count} edges")
    }
}

fn counted(count: usize, one: &str, many: &str) -> String {
    match count {
        0 => String::new(),
        1 => format!(", 1 {one}"),
        count => format!(", {count} {many}"),
    }
}
