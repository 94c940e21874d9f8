//! What if: two ways side by side.

use crate::decisions::{Tried, WayCosts};
use crate::quantities::{Estimate, Money};
use crate::views::format::{
    hours, hours_with_range, plain_money_with_range, set_in, whole_money, whole_money_range,
    whole_percent,
};
use crate::views::standing::WIDTH;
use serde_json::{Value, json};

/// An alternative beside the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct TriedInterval {
    /// What was tried, as typed: key and value.
    pub changes: Vec<(String, String)>,
    /// The wood it is for, in words.
    pub conditions: String,
    /// Both ways.
    pub tried: Tried,
}

/// A row of the table.
type Row = (
    String,
    Option<Estimate<Money>>,
    Option<Estimate<Money>>,
    Option<Estimate<Money>>,
);

impl TriedInterval {
    pub(super) fn text(&self, currency: &str) -> String {
        let changes: Vec<String> = self
            .changes
            .iter()
            .map(|(key, value)| format!("{key} = {value}"))
            .collect();
        let unit = if currency.is_empty() {
            "cost".to_string()
        } else {
            currency.to_string()
        };
        let heading = format!(
            "what if {}, {}: {unit} per 100 meter hours (90 % bounds)",
            changes.join(", "),
            self.conditions
        );
        let best = |way: &WayCosts| match &way.best {
            Some(best) => hours_with_range(best),
            None => "when the cut calls".to_string(),
        };
        let tried = &self.tried;
        let mut text = set_in(&heading, WIDTH);
        text.push_str(&line("", "as it is", "as tried", "more, as tried"));
        text.push_str(&line(
            "best interval",
            &best(&tried.as_it_is),
            &best(&tried.as_tried),
            "",
        ));
        for (label, now, then, more) in self.rows() {
            let [now, then, more] = [now, then, more]
                .map(|cell| cell.map_or_else(String::new, |cell| plain_money_with_range(&cell)));
            text.push_str(&line(&label, &now, &then, &more));
        }
        if let Some(sentence) = self.sentence(currency) {
            text.push_str(&set_in(&sentence, WIDTH));
        }
        text
    }

    fn rows(&self) -> Vec<Row> {
        let Tried {
            as_it_is: now,
            as_tried: then,
            ..
        } = &self.tried;
        let mut rows = vec![(
            "at the best".to_string(),
            Some(now.at_best),
            Some(then.at_best),
            Some(self.tried.more_at_best),
        )];
        if let Some(rule) = self.tried.rule {
            let label = format!("rule, {} h", hours(rule));
            rows.push((label, now.at_rule, then.at_rule, self.tried.more_at_rule));
        }
        if let Some(interval) = self.tried.interval {
            let label = format!("tried, {} h", hours(interval));
            let more = self.tried.more_at_interval;
            rows.push((label, now.at_interval, then.at_interval, more));
        }
        rows
    }

    /// The interval tried against what is done today.
    fn sentence(&self, currency: &str) -> Option<String> {
        let more = self.tried.more_than_rule?;
        Some(format!(
            "Going from {} hours as it is to {} hours as tried costs {} more per 100 meter hours ({}); chance that it is dearer: {}.",
            hours(self.tried.rule?),
            hours(self.tried.interval?),
            whole_money(more.point, currency),
            whole_money_range(&more, currency),
            whole_percent(self.tried.chance_dearer_than_rule?)
        ))
    }

    pub(super) fn json(&self) -> Value {
        let changes = self.changes.iter();
        let changes: serde_json::Map<String, Value> = changes
            .map(|(key, value)| (key.clone(), json!(value)))
            .collect();
        let mut fields = json!(self.tried);
        if let Value::Object(fields) = &mut fields {
            fields.insert("settings".to_string(), Value::Object(changes));
            fields.insert("conditions".to_string(), json!(self.conditions));
        }
        fields
    }
}

fn line(label: &str, now: &str, then: &str, more: &str) -> String {
    format!("  {label:<14}{now:<21}{then:<21}{more}")
        .trim_end()
        .to_string()
        + "\n"
}
