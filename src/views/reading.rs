//! How the rows of a log were read: what became of every edge and every hour.

use super::View;
use super::format::{hours, wrapped};
use crate::lives::{ConditionHours, MachineHours, Tally};
use serde_json::{Map, Value, json};

/// What became of the edges and hours of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingReport {
    /// The tally that the fit stands on.
    pub tally: Tally,
}

/// Widest line of the answer.
const WIDTH: usize = 78;

impl View for ReadingReport {
    fn text(&self) -> String {
        let tally = &self.tally;
        let mut text = format!(
            "Edges: {} in the log, {} used",
            tally.edges_found, tally.edges_used
        );
        if tally.edges_used > 0 {
            text.push_str(&format!(
                " ({} seen at their end, {} pulled without a grade, {} struck, {} still at work)",
                tally.graded_endings, tally.ungraded_endings, tally.struck, tally.running
            ));
        }
        match tally.just_fitted {
            0 => {}
            1 => text.push_str("; 1 more was just fitted and has not worked yet"),
            many => text.push_str(&format!(
                "; {many} more were just fitted and have not worked yet"
            )),
        }
        text.push('\n');
        for aside in &tally.set_aside {
            text.push_str(&wrapped("-", &format!("set aside: {aside}."), WIDTH));
        }
        for machine in &tally.hours {
            text.push_str(&hours_line(machine));
        }
        for condition in &tally.conditions {
            text.push_str(&condition_line(condition));
        }
        if !tally.notes.is_empty() {
            text.push_str("How rows were read:\n");
        }
        for note in &tally.notes {
            text.push_str(&wrapped("-", &note.to_string(), WIDTH));
        }
        text
    }

    fn json(&self) -> Map<String, Value> {
        let tally = &self.tally;
        let set_aside: Vec<Value> = tally
            .set_aside
            .iter()
            .map(|aside| json!({ "edge": aside.edge.to_string(), "reason": aside.reason.to_string() }))
            .collect();
        let machines: Vec<Value> = tally.hours.iter().map(machine_json).collect();
        let conditions: Vec<Value> = tally.conditions.iter().map(condition_json).collect();
        let notes: Vec<String> = tally.notes.iter().map(ToString::to_string).collect();
        Map::from_iter([
            (
                "edges".to_string(),
                json!({
                    "found": tally.edges_found,
                    "used": tally.edges_used,
                    "set_aside": set_aside,
                    "graded_endings": tally.graded_endings,
                    "ungraded_endings": tally.ungraded_endings,
                    "struck": tally.struck,
                    "running": tally.running,
                }),
            ),
            ("machines".to_string(), json!(machines)),
            ("conditions".to_string(), json!(conditions)),
            ("notes".to_string(), json!(notes)),
        ])
    }

    fn warnings(&self) -> Vec<String> {
        self.tally
            .set_aside
            .iter()
            .map(|aside| format!("set aside: {aside}"))
            .collect()
    }
}

fn hours_line(machine: &MachineHours) -> String {
    let mut sentence = format!("{} meter hours", hours(machine.total));
    let parts = [
        (machine.unlogged, "in no run, counted as the usual mix"),
        (
            machine.blank,
            "in runs with wood or dirt left blank, counted as the usual mix",
        ),
        (
            machine.before_log,
            "before the log began, counted as the usual mix",
        ),
        (machine.set_aside, "on edges set aside"),
        (machine.after_strike, "on struck edges"),
        (machine.no_edge, "while no row says which edge was at work"),
    ];
    for (amount, words) in parts.into_iter().filter(|(amount, _)| amount.get() > 0.0) {
        sentence.push_str(&format!("; {} {words}", hours(amount)));
    }
    wrapped("-", &format!("{}: {sentence}.", machine.machine), WIDTH)
}

fn condition_line(condition: &ConditionHours) -> String {
    let ConditionHours { name, runs, hours } = condition;
    let runs = match runs {
        1 => "1 run says".to_string(),
        many => format!("{many} runs say"),
    };
    let sentence = format!(
        "runs.csv: column \"{name}\" is read as a condition of your own: {runs} yes, {} meter hours.",
        super::format::hours(*hours)
    );
    wrapped("-", &sentence, WIDTH)
}

fn condition_json(condition: &ConditionHours) -> Value {
    json!({
        "column": condition.name,
        "runs": condition.runs,
        "hours": condition.hours,
    })
}

fn machine_json(machine: &MachineHours) -> Value {
    json!({
        "machine": machine.machine,
        "total_hours": machine.total,
        "in_lives_hours": machine.in_lives,
        "set_aside_hours": machine.set_aside,
        "after_strike_hours": machine.after_strike,
        "no_edge_hours": machine.no_edge,
        "unlogged_hours": machine.unlogged,
        "before_log_hours": machine.before_log,
        "blank_hours": machine.blank,
    })
}
