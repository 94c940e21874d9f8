//! What somebody last saw of the edge at work, in words and for programs.

use super::format::hours;
use crate::lives::{LastLook, Saw};
use crate::quantities::Grade;
use serde_json::{Value, json};

/// What it was, and after how much work.
pub(super) fn looked_at(look: &LastLook) -> String {
    let saw = match look.saw {
        Saw::NoticedDull => "noticed dull in the cut".to_string(),
        Saw::Graded(grade) => format!("graded {}", grade.word()),
        Saw::Flat => "its bright flat measured".to_string(),
    };
    format!("{saw} after {} hours of its work", hours(look.at))
}

/// Whether somebody took it to be dull.
pub(super) fn called(look: &LastLook) -> bool {
    matches!(
        look.saw,
        Saw::NoticedDull | Saw::Graded(Grade::Dull | Grade::Overrun)
    )
}

pub(super) fn json(look: Option<LastLook>) -> Value {
    let Some(look) = look else {
        return Value::Null;
    };
    let saw = match look.saw {
        Saw::NoticedDull => "noticed dull",
        Saw::Graded(grade) => grade.word(),
        Saw::Flat => "flat",
    };
    json!({ "at_hours": look.at, "saw": saw })
}
