//! What every decision stands on, and how that is shown: alarms before the answer; costs, log, seed and
//! cautions after it.

use super::format::{rows_set_aside, wrapped};
use crate::lives::Alarm;
use serde_json::{Map, Value, json};

/// Widest line of an answer.
pub(super) const WIDTH: usize = 78;

/// What every decision says beside its own answer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// Sign or letters of the currency; blank shows plain numbers.
    pub currency: String,
    /// Edge lives found in the log.
    pub edges_found: usize,
    /// Edge lives that the fit stands on.
    pub edges_used: usize,
    /// Rows that could not be read, by file.
    pub rows_set_aside: Vec<(String, usize)>,
    /// What the crew must see before anything else: knives that may be unfit, readings that cannot be.
    pub alarms: Vec<Alarm>,
    /// Items of cost that are defaults rather than this shop's, by name.
    pub default_costs: Vec<&'static str>,
    /// Notes on how rows were read.
    pub notes: usize,
    /// Start of the random numbers.
    pub seed: u64,
    /// What is said wherever knives are handled.
    pub cautions: &'static [&'static str],
}

impl Standing {
    /// What must be seen before the answer.
    pub fn alarms(&self) -> Vec<String> {
        let words = self.alarms.iter().map(|alarm| alarm.words.clone());
        words.chain(rows_set_aside(&self.rows_set_aside)).collect()
    }

    /// The same where room is short: those about one set, and all others.
    pub(super) fn alarms_about(&self, set: &str) -> (Vec<String>, Vec<String>) {
        let is_own = |alarm: &&Alarm| alarm.set.as_deref() == Some(set);
        let words = |alarm: &Alarm| alarm.words.clone();
        let own = self.alarms.iter().filter(is_own).map(words);
        let others = self.alarms.iter().filter(|alarm| !is_own(alarm));
        let others = others
            .map(words)
            .chain(rows_set_aside(&self.rows_set_aside));
        (own.collect(), others.collect())
    }

    /// The alarms as lines, and a blank line; nothing without alarms.
    pub(super) fn head(&self) -> String {
        let mut text: String = self
            .alarms()
            .iter()
            .map(|alarm| wrapped("!", alarm, WIDTH))
            .collect();
        if !text.is_empty() {
            text.push('\n');
        }
        text
    }

    /// Costs, log, seed and cautions.
    pub(super) fn foot(&self) -> String {
        wrapped("costs", &self.costs_sentence(), WIDTH) + &self.foot_without_costs()
    }

    /// Log, seed and cautions, where no cost is part of an answer.
    pub(super) fn foot_without_costs(&self) -> String {
        let mut text = wrapped("log", &self.log_sentence(), WIDTH)
            + &wrapped("seed", &self.seed.to_string(), WIDTH);
        if !self.cautions.is_empty() {
            text.push_str("\nBefore hands go near knives:\n");
        }
        for caution in self.cautions {
            text.push_str(&wrapped("-", caution, WIDTH));
        }
        text
    }

    /// Whose costs the answers are at.
    pub(super) fn costs_sentence(&self) -> String {
        match self.default_costs.as_slice() {
            [] => "all your own; how sure an answer is holds at these costs".to_string(),
            defaults => format!(
                "defaults, not yours, for {}; how sure an answer is holds at these costs only. Put yours into costs.csv",
                defaults.join(", ")
            ),
        }
    }

    /// How much of the log the answers stand on.
    pub(super) fn log_sentence(&self) -> String {
        let notes = counted(
            self.notes,
            "note on how rows were read",
            "notes on how rows were read",
        );
        format!(
            "{} in the log, {} used{notes}; keenspan verify shows how it was read",
            edges(self.edges_found),
            self.edges_used,
        )
    }

    /// The fields of JSON that every decision has, with its answers: a list, one for each machine, set, job
    /// or whatever was asked about. `schema.json` defines the answers of each decision by its name.
    pub(super) fn fields(&self, decision: &str, answers: Vec<Value>) -> Map<String, Value> {
        let rows: usize = self.rows_set_aside.iter().map(|(_, rows)| rows).sum();
        Map::from_iter([
            ("decision".to_string(), json!(decision)),
            ("answers".to_string(), Value::Array(answers)),
            ("unit_of_hours".to_string(), json!("meter hours")),
            ("currency".to_string(), json!(self.currency)),
            (
                "edges".to_string(),
                json!({ "found": self.edges_found, "used": self.edges_used }),
            ),
            ("rows_set_aside".to_string(), json!(rows)),
            ("alarms".to_string(), json!(self.alarms())),
            ("default_costs".to_string(), json!(self.default_costs)),
            ("notes".to_string(), json!(self.notes)),
            ("seed".to_string(), json!(self.seed)),
            ("cautions".to_string(), json!(self.cautions)),
        ])
    }
}

/// Fields of JSON where there is no answer: null, and lists without an item. Readers then find the same
/// fields in every answer.
pub(super) fn absent(fields: &[&str], lists: &[&str]) -> Map<String, Value> {
    let nulls = fields.iter().map(|name| (name.to_string(), Value::Null));
    let lists = lists.iter().map(|name| (name.to_string(), json!([])));
    nulls.chain(lists).collect()
}

/// So many edges.
fn edges(count: usize) -> String {
    if count == 1 {
        "1 edge".to_string()
    } else {
        format!("{count} edges")
    }
}

/// A comma and so many of something; nothing where there are none.
fn counted(count: usize, one: &str, many: &str) -> String {
    match count {
        0 => String::new(),
        1 => format!(", 1 {one}"),
        count => format!(", {count} {many}"),
    }
}
