//! Which habit of looking at edges would teach most.

use super::{MachineHabits, WIDTH};
use crate::views::format::{hours, set_in, wrapped};
use crate::wear::{Habit, HabitRanges};
use serde_json::{Value, json};

/// The best habit in a sentence, and then all of them.
pub fn text(machine: &MachineHabits) -> String {
    let place = format!(
        "{}, changed every {} hours {}",
        machine.machine,
        hours(machine.interval),
        machine.conditions
    );
    let Some(ranges) = &machine.ranges else {
        let unknown =
            format!("{place}: what more changes would teach cannot be told from this fit.");
        return set_in(&unknown, WIDTH);
    };
    let now = format!(
        "{place}: the likely range of edge life is now {} from bottom to top.{}",
        fold(ranges.now),
        best(ranges).map_or(String::new(), |sentence| format!(" {sentence}"))
    );
    let mut text = set_in(&now, WIDTH);
    for it in &ranges.after {
        text.push_str(&wrapped(
            "-",
            &format!("{}: {}", does(it.habit), fold(it.range)),
            WIDTH,
        ));
    }
    text
}

/// What the best habit gains over the poorest.
fn best(ranges: &HabitRanges) -> Option<String> {
    let best = ranges.after.first()?;
    let nothing = ranges
        .after
        .iter()
        .find(|it| it.habit == Habit::NothingWritten)?;
    if best.habit == Habit::NothingWritten {
        return None;
    }
    if fold(best.range) == fold(nothing.range) {
        return Some(format!(
            "After {} more changes the range should be {}, whatever is written of them.",
            ranges.changes,
            fold(best.range)
        ));
    }
    Some(format!(
        "{}: after {} more changes the range should be {}, against {} with nothing written.",
        do_it(best.habit),
        ranges.changes,
        fold(best.range),
        fold(nothing.range)
    ))
}

fn do_it(habit: Habit) -> &'static str {
    match habit {
        Habit::NothingWritten => "Write down the change itself",
        Habit::Graded => "Grade every edge when it comes out",
        Habit::GradedAndChecked => "Grade every edge half-way and when it comes out",
        Habit::FlatMeasured => "Measure the bright flat of every edge when it comes out",
    }
}

fn does(habit: Habit) -> &'static str {
    match habit {
        Habit::NothingWritten => "nothing written but the change itself",
        Habit::Graded => "graded when it comes out",
        Habit::GradedAndChecked => "graded half-way and when it comes out",
        Habit::FlatMeasured => "bright flat measured when it comes out",
    }
}

fn fold(range: f64) -> String {
    format!("{range:.2}-fold")
}

/// For programs.
pub fn json(machine: &MachineHabits) -> Value {
    let ranges = machine.ranges.as_ref();
    json!({
        "machine": machine.machine,
        "conditions": machine.conditions,
        "interval": machine.interval,
        "changes": ranges.map(|ranges| ranges.changes),
        "now": ranges.map(|ranges| ranges.now),
        "after": ranges.map(|ranges| &ranges.after),
    })
}
