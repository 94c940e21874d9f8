//! What somebody last saw of the edge at work, in words and for programs.

use super::format::{hours, whole_share};
use crate::lives::{LastLook, Saw};
use serde_json::{Value, json};

/// What it was, and after how much work.
pub(super) fn looked_at(look: &LastLook) -> String {
    let saw = match look.saw {
        Saw::NoticedDull => "noticed dull in the cut".to_string(),
        Saw::Graded(grade) => format!("graded {}", grade.word()),
        Saw::Flat(share) => format!(
            "its bright flat measured, {} of the width at which it is called dull,",
            whole_share(share)
        ),
    };
    let since = if look.touched_up_since {
        "; touched up since"
    } else {
        ""
    };
    format!(
        "{saw} after {} hours on this edge in all{since}",
        hours(look.at)
    )
}

pub(super) fn json(look: Option<LastLook>) -> Value {
    let Some(look) = look else {
        return Value::Null;
    };
    let (saw, flat) = match look.saw {
        Saw::NoticedDull => ("noticed dull", None),
        Saw::Graded(grade) => (grade.word(), None),
        Saw::Flat(share) => ("flat", Some(share)),
    };
    json!({
        "at_hours": look.at,
        "saw": saw,
        "flat_of_dull": flat,
        "touched_up_since": look.touched_up_since,
    })
}
