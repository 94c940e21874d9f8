//! The sentences of the mechanic's answer.

use super::{LookAgainstLog, SetKnives};
use super::{steel_beyond, whole_share, width, widths_apart};
use crate::decisions::{KnifeAction, KnifeAnswer, MustNot, StockLeft};
use crate::lives::Sight;
use crate::quantities::Units;

/// What comes before anything else of a set whose knives differ.
const UNMATCHED: &str = "not to be run until its knives match";

/// What to do, in a clause.
pub fn advice(set: &SetKnives, answer: &KnifeAnswer) -> String {
    let must_not = &answer.must_not;
    let waits = must_not.iter().any(MustNot::waits_for_a_look);
    let words = match answer.actions.first().map(|best| best.action) {
        None if waits => "have it inspected before anything".to_string(),
        None => "look at the edge first".to_string(),
        Some(KnifeAction::Replace) if answer.is_out() => {
            return "not to be run; replace the set".to_string();
        }
        Some(KnifeAction::KeepRunning) if set.machine.is_none() && !set.has_worked => {
            format!("ready to fit, edge {}", set.edge)
        }
        Some(action) => action_words(action, set),
    };
    match must_not.contains(&MustNot::RunUnmatched) {
        true => format!("{UNMATCHED}: {words}"),
        false => words,
    }
}

/// An action, in a few words.
pub fn action_words(action: KnifeAction, set: &SetKnives) -> String {
    let bench = set.machine.is_none();
    match action {
        KnifeAction::KeepRunning if bench => format!("fit as it is, edge {}", set.edge),
        KnifeAction::KeepRunning => "keep running".to_string(),
        KnifeAction::TouchUp => "touch up in place".to_string(),
        KnifeAction::Flip if bench => "fit on a fresh edge".to_string(),
        KnifeAction::Flip => "flip".to_string(),
        KnifeAction::Regrind => "regrind".to_string(),
        KnifeAction::Replace => "replace".to_string(),
    }
}

/// Why a look alone does not decide: it goes on from how far the edge is worn.
pub fn look_clause(look: &LookAgainstLog) -> String {
    let LookAgainstLog { by_log, sight } = look;
    let says = match sight {
        Sight::Graded(grade) => {
            let whole = |cut: f64| format!("{:.0}", 100.0 * cut);
            let band = match grade.band() {
                (None, Some(most)) => format!("under {} %", whole(most)),
                (Some(least), None) => format!("over {} %", whole(least)),
                (Some(least), Some(most)) => format!("{} to {} %", whole(least), whole(most)),
                (None, None) => return String::new(),
            };
            format!("{} stands for {band}", grade.word())
        }
        Sight::Measured(flat) => format!("the flat measures {}", whole_share(*flat)),
        Sight::NotCalled => return String::new(),
    };
    format!(
        ". The log alone has it at {} ({} to {}), and {says}; this weighs the one against the other, as an eye may be \
         off and edges differ",
        whole_share(by_log.point),
        whole_share(by_log.lower),
        whole_share(by_log.upper)
    )
}

/// Width and the steel above the discard width.
pub fn stock_sentence(stock: &StockLeft, units: Units) -> String {
    match (stock.width, stock.discard_width) {
        (Some(now), Some(discard)) => {
            let (wide, least) = widths_apart(now, discard, units);
            let beyond = steel_beyond(now, discard, units);
            format!("{wide} wide, {beyond} the discard width of {least}")
        }
        (Some(now), None) => format!("{} wide; discard width not known", width(now, units)),
        (None, Some(discard)) => {
            format!("width not known; discard width {}", width(discard, units))
        }
        (None, None) => "neither width nor discard width is known".to_string(),
    }
}

/// How many grinds are left.
pub fn left_sentence(stock: &StockLeft) -> String {
    if stock.regrinds_are_default {
        format!(
            "{}, by what knives last at the costs in use; measure before grinding",
            stock.regrinds_left
        )
    } else {
        stock.regrinds_left.to_string()
    }
}

/// What the next grind takes.
pub fn grind_sentence(stock: &StockLeft, units: Units) -> String {
    let takes = format!("takes about {}", width(stock.this_grind, units));
    match stock.width_after {
        Some(after) => format!("{takes} and leaves {}", width(after, units)),
        None => takes,
    }
}

/// What must not be done, and why; it goes on from "must not".
pub fn must_not_sentence(must_not: &MustNot, set: &SetKnives, units: Units) -> String {
    let width = |of| width(of, units);
    match must_not {
        MustNot::RunCracked => match &set.crack_noted {
            Some(row) => format!("be run: {row} speaks of a crack"),
            None => "be run: cracked".to_string(),
        },
        MustNot::RunUnderWidth {
            width: now,
            discard,
        } => {
            let (wide, least) = widths_apart(*now, *discard, units);
            format!("be run or ground: {wide} wide, below the discard width of {least}")
        }
        MustNot::RunUnmatched => {
            "be run until its knives match; a grind that matches them follows the narrowest".to_string()
        }
        MustNot::RunIncomplete => format!(
            "be run in {}: it carries another number of knives",
            set.answered_for
        ),
        MustNot::NickDeeperThanStock { nick, stock } => {
            let (deep, left) = widths_apart(*nick, *stock, units);
            format!("be run or ground: a nick of {deep} is deeper than the {left} of steel left")
        }
        MustNot::NickTooDeep { nick, limit } => {
            let (deep, most) = widths_apart(*nick, *limit, units);
            format!(
                "be run or ground: a nick of {deep}; manuals discard knives with nicks deeper than {most}, if yours does not say less"
            )
        }
        MustNot::NoSteelForTheGrind { takes } => format!(
            "be run: it needs a grind of about {}, and has not the steel left for it",
            width(*takes)
        ),
        MustNot::GrindUnderWidth { takes } => format!(
            "be ground again: another {} would take it below the discard width",
            width(*takes)
        ),
        MustNot::RunUninspected => {
            "be run, flipped or ground after the strike before a qualified person has looked for cracks"
                .to_string()
        }
        MustNot::RunDoubted => match &set.doubt {
            Some(doubt) => format!(
                "be run, flipped or ground before a qualified person has looked at it: {doubt}"
            ),
            None => "be run, flipped or ground before a qualified person has looked at it".to_string(),
        },
        MustNot::RunDiscarded => "be run: it was thrown away".to_string(),
        MustNot::GrindUnmeasured => {
            "be ground before it is measured against the manual's discard width".to_string()
        }
    }
}
