//! The operator's answer for programs.

use super::{DueMark, EdgeDue, MachineDue};
use crate::views::last_look;
use crate::views::standing::absent;
use serde_json::{Map, Value, json};

/// Fields of JSON that are null where no edge is known.
const OF_AN_EDGE: [&str; 9] = [
    "set",
    "edge",
    "since",
    "meter_then",
    "hours_since",
    "hours_guessed",
    "hours_beyond_log",
    "struck",
    "last_look",
];

impl MachineDue {
    pub(super) fn json(&self) -> Value {
        let lists = ["ahead", "by_dirt", "must_not_run", "must_not_run_in_words"];
        let mut fields = absent(&OF_AN_EDGE, &lists);
        fields.extend([
            ("machine".to_string(), json!(self.machine)),
            ("meter".to_string(), json!(self.meter)),
            ("meter_only_typed".to_string(), json!(self.meter_only_typed)),
        ]);
        let why = match &self.mark {
            DueMark::Known(edge) => {
                fields.extend(edge.json());
                None
            }
            DueMark::MustNotRun(edge, unfit) => {
                fields.extend(edge.json());
                fields.insert("must_not_run".to_string(), json!(unfit.must_not));
                let words = json!(unfit.reasons());
                fields.insert("must_not_run_in_words".to_string(), words);
                Some(unfit.sentence())
            }
            DueMark::Struck(edge) => {
                fields.extend(edge.json());
                Some("it was struck: how far it is worn is not known".to_string())
            }
            DueMark::UnknownEdge => {
                Some("no row says which edge is at work, or since when".to_string())
            }
            DueMark::WhenCalled => Some("at these costs no planned change pays".to_string()),
        };
        fields.insert("no_mark_because".to_string(), json!(why));
        Value::Object(fields)
    }
}

impl EdgeDue {
    fn json(&self) -> Map<String, Value> {
        let ahead = self.ahead.iter();
        let ahead = ahead.map(|it| {
            json!({ "conditions": it.conditions, "due": it.answer, "was_due_at": it.was_due_at })
        });
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
            ("last_look".to_string(), last_look::json(self.last_look)),
            ("ahead".to_string(), ahead.collect()),
            ("by_dirt".to_string(), by_dirt.collect()),
        ])
    }
}
