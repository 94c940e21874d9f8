//! What to do with each knife set: the mechanic's answer, to be read with gloves on.

mod sentences;

use super::format::{
    money, money_more, money_range, set_in, steel_beyond, whole_percent, whole_share, width,
    widths_apart, wrapped,
};
use super::last_look::{self, looked_at};
use super::standing::{WIDTH, absent};
use super::{Standing, View};
use crate::decisions::{KnifeAction, KnifeAnswer, MustNot, RankedAction};
use crate::lives::{Doubt, LastLook, Sight};
use crate::quantities::{Estimate, Units, WearFraction};
use sentences::{
    action_words, advice, grind_sentence, left_sentence, look_clause, must_not_sentence,
    stock_sentence,
};
use serde_json::{Map, Value, json};

/// The answer for one set.
#[derive(Debug, Clone, PartialEq)]
pub struct SetKnives {
    /// Knife set, by name.
    pub set: String,
    /// The machine that it is in; `None` on the bench.
    pub machine: Option<String>,
    /// The machine whose edges the answer is for.
    pub answered_for: String,
    /// The edge at work, or the one that would go to work, from 1.
    pub edge: u32,
    /// Whether that edge has worked since it was ground or new.
    pub has_worked: bool,
    /// Fresh edges beside it.
    pub fresh_edges: u32,
    /// Where a note speaks of a crack: which row, in words.
    pub crack_noted: Option<String>,
    /// The row for which it has to be looked at.
    pub doubt: Option<Doubt>,
    /// What was seen of it on the bench, in words, a clause each.
    pub seen: Vec<String>,
    /// What the log has as last seen of that edge.
    pub last_look: Option<LastLook>,
    /// A look that was typed, beside what the log expected; `None` where either is missing.
    pub look: Option<LookAgainstLog>,
    /// What to do; `None` for a set that was thrown away.
    pub answer: Option<KnifeAnswer>,
}

/// A look at an edge, and how far the log took it to be worn without that look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LookAgainstLog {
    /// By its hours, and by what was seen of it before.
    pub by_log: Estimate<WearFraction>,
    /// What was seen.
    pub sight: Sight,
}

/// What `knives` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct KnivesReport {
    /// One answer a set, in order of name.
    pub sets: Vec<SetKnives>,
    /// What the answers stand on.
    pub standing: Standing,
    /// Units of widths in the words; JSON has millimetres.
    pub units: Units,
}

/// What the costs beside the actions are.
pub(super) const WHAT_COSTS_MEAN: &str = "The first line of each set is what is advised, with what knives and dull running cost in the long run, for as much work as wears an edge like 100 hours in clean, green hardwood, if the best is done each time. Every other line says what that choice costs more than the advised one, once, over the knives' life: after it, the best is done ever after.";

/// Fields of JSON that are null for a set that was thrown away, and those that are empty lists then.
const OF_A_SET_KEPT: [&str; 5] = ["best", "advice", "wear", "stock", "share_from_defaults"];
const LISTS_OF_A_SET_KEPT: [&str; 5] = [
    "actions",
    "as_good",
    "must_not",
    "must_not_in_words",
    "caveats",
];

/// Whether a set may be ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Grinding {
    /// Nothing in the log is against it.
    Free,
    /// Not before it is measured; it may run.
    NotYet,
    /// Not again; it may run.
    NoMore,
    /// Neither ground nor run.
    NorRun,
}

impl SetKnives {
    pub(super) fn place(&self) -> String {
        match &self.machine {
            Some(machine) => format!("in {machine}, edge {}", self.edge),
            None => format!("on the bench, for {}", self.answered_for),
        }
    }

    /// What to do, in a clause.
    pub(super) fn advice_words(&self) -> String {
        match &self.answer {
            Some(answer) => advice(self, answer),
            None => "thrown away, by the log".to_string(),
        }
    }

    /// An action, in a few words.
    pub(super) fn action_words(&self, action: KnifeAction) -> String {
        action_words(action, self)
    }

    /// What must not be done, and why, a sentence each.
    pub(super) fn must_not_words(&self, units: Units) -> Vec<String> {
        let answer = self.answer.iter();
        let must_not = answer.flat_map(|answer| &answer.must_not);
        must_not
            .map(|it| format!("must not {}", must_not_sentence(it, self, units)))
            .collect()
    }

    /// Whether it may be ground.
    pub(super) fn grinding(&self) -> Grinding {
        let mut must_not = self
            .answer
            .iter()
            .flat_map(|answer| &answer.must_not)
            .peekable();
        if must_not.peek().is_none() {
            Grinding::Free
        } else if must_not.clone().any(MustNot::forbids_running) {
            Grinding::NorRun
        } else if must_not.any(|it| *it == MustNot::GrindUnmeasured) {
            Grinding::NotYet
        } else {
            Grinding::NoMore
        }
    }

    /// What weakens the answer.
    pub(super) fn caveats(&self) -> Vec<String> {
        let answer = self.answer.iter();
        let caveats = answer.flat_map(|answer| &answer.caveats);
        caveats.map(ToString::to_string).collect()
    }

    /// Wear, steel, grinds left and the next grind, as labels and sentences.
    pub(super) fn figures(&self, units: Units) -> Vec<(&'static str, String)> {
        let answer = self.answer.as_ref();
        answer.map_or(Vec::new(), |answer| self.lines(answer, units))
    }

    fn text(&self, report: &KnivesReport) -> String {
        let Some(answer) = &self.answer else {
            return format!("{}: {}\n", self.set, self.advice_words());
        };
        let mut text = format!("{}, {}: {}\n", self.set, self.place(), advice(self, answer));
        for caveat in &answer.caveats {
            text.push_str(&wrapped("!", &format!("{caveat}."), WIDTH));
        }
        for must_not in &answer.must_not {
            let sentence = must_not_sentence(must_not, self, report.units);
            text.push_str(&wrapped("must not", &sentence, WIDTH));
        }
        text.push('\n');
        text.push_str(&self.table(answer, &report.standing.currency));
        let as_good: Vec<String> = answer
            .as_good()
            .map(|action| action_words(action, self))
            .collect();
        if !as_good.is_empty() {
            let sentence = format!("{}: within 2 % of the least", as_good.join(", "));
            text.push_str(&wrapped("as good", &sentence, WIDTH));
        }
        for (label, sentence) in self.lines(answer, report.units) {
            text.push_str(&wrapped(label, &sentence, WIDTH));
        }
        text
    }

    fn table(&self, answer: &KnifeAnswer, currency: &str) -> String {
        if answer.actions.is_empty() {
            return String::new();
        }
        let head = format!(
            "  {:<22}{:<33} {}\n",
            "", "what it costs", "chance of being best"
        );
        let costs = self.costs(currency);
        let row = |(ranked, cost): (&RankedAction, &String)| {
            format!(
                "  {:<22}{cost:<33} {}\n",
                action_words(ranked.action, self),
                whole_percent(ranked.chance_best)
            )
        };
        let rows = answer.actions.iter().zip(&costs);
        head + &rows.map(row).collect::<String>()
    }

    /// What each action costs: the first per hundred wear hours in the long run, the others what they cost more than it.
    pub(super) fn costs(&self, currency: &str) -> Vec<String> {
        let answer = self.answer.iter();
        let actions = answer.flat_map(|answer| &answer.actions).enumerate();
        let words = |(place, ranked): (usize, &RankedAction)| match place {
            0 => format!(
                "{} ({})",
                money(ranked.cost_per_100_hours.point, currency),
                money_range(&ranked.cost_per_100_hours, currency)
            ),
            _ => money_more(&ranked.more_than_first, currency),
        };
        actions.map(words).collect()
    }

    fn lines(&self, answer: &KnifeAnswer, units: Units) -> Vec<(&'static str, String)> {
        let mut lines = Vec::new();
        if !self.seen.is_empty() {
            lines.push(("seen", self.seen.join(", ")));
        }
        // Knives come to the bench because somebody called them; at work it is news.
        let at_work = self.last_look.filter(|_| self.machine.is_some());
        if let Some(look) = at_work.filter(LastLook::calls_it_dull) {
            lines.push(("looked at", looked_at(&look)));
        }
        if let Some(worn) = answer.worn.filter(|_| self.has_worked) {
            let sentence = format!(
                "edge {} about {} of the way to dull ({} to {}){}",
                self.edge,
                whole_share(worn.point),
                whole_share(worn.lower),
                whole_share(worn.upper),
                self.look.as_ref().map_or(String::new(), look_clause)
            );
            lines.push(("worn", sentence));
        }
        lines.push(("steel", stock_sentence(&answer.stock, units)));
        if answer.is_out() {
            return lines;
        }
        lines.push(("grinds left", left_sentence(&answer.stock)));
        if answer.stock.regrinds_left > 0 {
            lines.push(("this grind", grind_sentence(&answer.stock, units)));
        }
        lines
    }

    fn json(&self, units: Units) -> Value {
        let mut fields = absent(&OF_A_SET_KEPT, &LISTS_OF_A_SET_KEPT);
        fields.extend([
            ("set".to_string(), json!(self.set)),
            ("machine".to_string(), json!(self.machine)),
            ("answered_for".to_string(), json!(self.answered_for)),
            ("edge".to_string(), json!(self.edge)),
            ("fresh_edges".to_string(), json!(self.fresh_edges)),
            ("unit_of_widths".to_string(), json!("millimetres")),
            ("discarded".to_string(), json!(self.answer.is_none())),
            ("seen".to_string(), json!(self.seen)),
            ("last_look".to_string(), last_look::json(self.last_look)),
            (
                "wear_by_log".to_string(),
                json!(self.look.as_ref().map(|look| look.by_log)),
            ),
        ]);
        if let Some(answer) = &self.answer {
            let best = answer.actions.first().map(|ranked| ranked.action);
            fields.insert("best".to_string(), json!(best));
            fields.insert("advice".to_string(), json!(advice(self, answer)));
            let words: Vec<String> = answer
                .must_not
                .iter()
                .map(|must_not| must_not_sentence(must_not, self, units))
                .collect();
            let as_good: Vec<_> = answer.as_good().collect();
            fields.insert("as_good".to_string(), json!(as_good));
            fields.insert("must_not_in_words".to_string(), json!(words));
            if let Value::Object(answer) = json!(answer) {
                fields.extend(answer);
            }
        }
        Value::Object(fields)
    }
}

impl View for KnivesReport {
    fn text(&self) -> String {
        let sets: String = self.sets.iter().map(|set| set.text(self) + "\n").collect();
        self.standing.head()
            + &sets
            + &set_in(WHAT_COSTS_MEAN, WIDTH)
            + "\n"
            + &self.standing.foot()
    }

    fn json(&self) -> Map<String, Value> {
        let sets = self.sets.iter().map(|set| set.json(self.units));
        self.standing.fields("knives", sets.collect())
    }

    fn warnings(&self) -> Vec<String> {
        let said = self.sets.iter().flat_map(|set| {
            let words = set.must_not_words(self.units).into_iter();
            words
                .chain(set.caveats())
                .map(move |words| format!("{}: {words}", set.set))
        });
        self.standing.alarms().into_iter().chain(said).collect()
    }
}
