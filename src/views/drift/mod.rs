//! Whether edges last as long as they should: the answer in words, with its sums.

mod sentences;

use super::format::wrapped;
use super::standing::WIDTH;
use super::{Standing, View};
use crate::decisions::{Caveat, DriftAnswer, DriftVerdict, Shift};
use crate::quantities::MeterHours;
use sentences::{
    carried_sentence, how_much_sentence, notice_sentence, shift_words, since_sentence,
    stands_on_sentence, suspects_sentence, verdict_words,
};
use serde_json::{Map, Value, json};

/// Which edge a place in the sums stands for.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeLabel {
    /// Machine, by name.
    pub machine: String,
    /// Knife set, by name.
    pub set: String,
    /// Which edge of the knives, from 1.
    pub edge: u32,
    /// The day on which it came out.
    pub came_out: Option<String>,
    /// What the machine's present hour meter read then.
    pub meter: Option<MeterHours>,
    /// Hours that it worked.
    pub hours: MeterHours,
}

/// The finished edges of one machine, or of all.
#[derive(Debug, Clone, PartialEq)]
pub struct DriftChart {
    /// The machine, by name; `None` for all of them together.
    pub machine: Option<String>,
    /// The answer; its places are those of `edges`.
    pub answer: DriftAnswer,
    /// The edges, in order of time.
    pub edges: Vec<EdgeLabel>,
}

/// What `drift` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct DriftReport {
    /// All machines together where there are several, then each one.
    pub charts: Vec<DriftChart>,
    /// What the answers stand on.
    pub standing: Standing,
}

/// Figures of the sums in one line.
const IN_A_LINE: usize = 60;

impl DriftChart {
    pub(super) fn name(&self) -> &str {
        self.machine.as_deref().unwrap_or("All machines")
    }

    /// The answer in a line.
    pub(super) fn headline(&self) -> String {
        format!("{}: {}", self.name(), verdict_words(self))
    }

    /// Whether there are too few edges to tell anything.
    pub(super) fn is_short(&self) -> bool {
        let few = |caveat: &Caveat| matches!(caveat, Caveat::TooFewToTell { .. });
        self.answer.caveats.iter().any(few)
    }

    /// Whether something goes on now.
    pub(super) fn runs(&self) -> bool {
        matches!(self.answer.verdict, DriftVerdict::Runs(_))
    }

    /// One shift in a clause.
    pub(super) fn shift_words(&self, shift: &Shift) -> String {
        shift_words(self, shift)
    }

    /// What the answer stands on, and what it would notice.
    pub(super) fn grounds(&self) -> [(&'static str, String); 2] {
        [
            ("stands on", stands_on_sentence(&self.answer)),
            ("would notice", notice_sentence(&self.answer.scheme)),
        ]
    }

    fn text(&self) -> String {
        let mut text = self.headline() + "\n";
        for caveat in &self.answer.caveats {
            text.push_str(&wrapped("!", &format!("{caveat}."), WIDTH));
        }
        if let Some(shift) = self.shown() {
            for (label, sentence) in self.lines(shift) {
                text.push_str(&wrapped(label, &sentence, WIDTH));
            }
            text.push_str("  Look at, in this order:\n");
            for item in &shift.look_at {
                text.push_str(&wrapped("-", &item.to_string(), WIDTH));
            }
        }
        for (label, sentence) in self.grounds() {
            text.push_str(&wrapped(label, &sentence, WIDTH));
        }
        text + &self.sums()
    }

    /// What goes on now; where nothing does, what went on last.
    pub(super) fn shown(&self) -> Option<&Shift> {
        let shifts = &self.answer.shifts;
        match self.answer.verdict {
            DriftVerdict::NoSign => None,
            DriftVerdict::Runs(_) => shifts.iter().rev().find(|shift| shift.last.is_none()),
            DriftVerdict::Ran(_) => shifts.last(),
        }
    }

    pub(super) fn lines(&self, shift: &Shift) -> Vec<(&'static str, String)> {
        let mut lines = vec![
            ("since", since_sentence(self, shift)),
            ("how much", how_much_sentence(shift)),
            ("carried by", carried_sentence(shift)),
        ];
        lines.extend(suspects_sentence(shift).map(|sentence| ("may be", sentence)));
        lines
    }

    /// Both sums, one figure an edge: their whole part, 9 for more.
    fn sums(&self) -> String {
        let chart = &self.answer.chart;
        let shown = &chart[chart.len().saturating_sub(IN_A_LINE)..];
        if shown.is_empty() {
            return String::new();
        }
        let figure = |sum: f64| match sum as u32 {
            0 => '.',
            whole => char::from_digit(whole.min(9), 10).unwrap_or('9'),
        };
        let shorter: String = shown.iter().map(|edge| figure(edge.shorter)).collect();
        let longer: String = shown.iter().map(|edge| figure(edge.longer)).collect();
        let decision = self.answer.scheme.decision;
        let explained = format!(
            "one figure for each edge, the latest to the right; above {decision} is a sign, and a dot is less than 1"
        );
        wrapped("sum, short", &shorter, WIDTH)
            + &wrapped("sum, long", &longer, WIDTH)
            + &wrapped("", &explained, WIDTH)
    }

    fn label(&self, place: usize) -> Option<&EdgeLabel> {
        self.edges.get(place)
    }

    fn json(&self) -> Value {
        let mut fields = match json!(self.answer) {
            Value::Object(fields) => fields,
            _ => Map::new(),
        };
        fields.insert("machine".to_string(), json!(self.machine));
        let day = |place: usize| self.label(place).and_then(|label| label.came_out.clone());
        if let Some(Value::Array(shifts)) = fields.get_mut("shifts") {
            for (fields, shift) in shifts.iter_mut().zip(&self.answer.shifts) {
                fields["since"] = json!(shift.first.map(day));
                fields["noticed_on"] = json!(day(shift.noticed));
                fields["until"] = json!(shift.last.and_then(day));
            }
        }
        if let Some(Value::Array(chart)) = fields.get_mut("chart") {
            for (fields, label) in chart.iter_mut().zip(&self.edges) {
                for (key, value) in label.fields() {
                    fields[key] = value;
                }
            }
        }
        Value::Object(fields)
    }
}

impl EdgeLabel {
    fn fields(&self) -> [(&'static str, Value); 6] {
        [
            ("machine", json!(self.machine)),
            ("set", json!(self.set)),
            ("edge", json!(self.edge)),
            ("came_out", json!(self.came_out)),
            ("meter", json!(self.meter)),
            ("hours", json!(self.hours)),
        ]
    }
}

impl View for DriftReport {
    fn text(&self) -> String {
        let charts = self.charts.iter();
        let charts: String = charts.map(|chart| chart.text() + "\n").collect();
        // No cost goes into it.
        self.standing.head() + &charts + &self.standing.foot_without_costs()
    }

    fn json(&self) -> Map<String, Value> {
        let charts = self.charts.iter().map(DriftChart::json);
        self.standing.fields("drift", charts.collect())
    }

    fn warnings(&self) -> Vec<String> {
        let said = |chart: &DriftChart, caveat: &Caveat| format!("{}: {caveat}", chart.name());
        let caveats = self.charts.iter().flat_map(|chart| {
            let own = chart.answer.caveats.iter();
            own.map(move |caveat| said(chart, caveat))
        });
        self.standing.alarms().into_iter().chain(caveats).collect()
    }
}
