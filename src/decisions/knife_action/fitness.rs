//! What must not be done with a set, whatever it would save.

use super::set_at_hand::{EdgeAtHand, KnifeAction, SetAtHand};
use super::stock::StockLeft;
use crate::decisions::DecisionError;
use crate::lives::SetState;
use crate::quantities::Width;
use serde::{Deserialize, Serialize};

/// Knives with nicks deeper than this are discarded, millimetres. Basis: published: 1/8 in (3.2 mm), two
/// operators' manuals of small and mid-size chippers.
const DEEPEST_NICK: f64 = 3.2;

/// Something that must not be done, and why. No cost overrides it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "must_not", rename_all = "kebab-case")]
pub enum MustNot {
    /// Run cracked knives.
    RunCracked,
    /// Run knives below the discard width.
    RunUnderWidth {
        /// Their width, or the most that it can be.
        width: Width,
        /// The discard width.
        discard: Width,
    },
    /// Run knives that do not match.
    RunUnmatched,
    /// Run a set with another number of knives than the machine carries.
    RunIncomplete,
    /// Run or grind knives with a nick deeper than the steel left above the discard width.
    NickDeeperThanStock {
        /// The nick.
        nick: Width,
        /// The steel left.
        stock: Width,
    },
    /// Run or grind knives with a nick deeper than manuals allow.
    NickTooDeep {
        /// The nick.
        nick: Width,
        /// The deepest that manuals allow.
        limit: Width,
    },
    /// Run or grind: they need a grind, and it would take them below the discard width.
    NoSteelForTheGrind {
        /// What the grind takes.
        takes: Width,
    },
    /// Grind: it would take the knives below the discard width.
    GrindUnderWidth {
        /// What the grind takes.
        takes: Width,
    },
    /// Run, flip or grind after a strike before somebody qualified has looked for cracks.
    RunUninspected,
    /// Run, flip or grind after a word of damage before somebody qualified has looked at it.
    RunDoubted,
    /// Grind before the knives are measured.
    GrindUnmeasured,
    /// Run knives that were thrown away.
    RunDiscarded,
}

impl MustNot {
    /// Whether it forbids to run the set as it is.
    pub fn forbids_running(&self) -> bool {
        !matches!(self, Self::GrindUnderWidth { .. } | Self::GrindUnmeasured)
    }

    /// Whether it leaves nothing but new knives; an inspection or a grind may mend the rest.
    pub fn is_for_good(&self) -> bool {
        self.forbids_running() && !self.waits_for_a_look() && *self != Self::RunUnmatched
    }

    /// Whether the set waits for somebody qualified to look it over, which may end this.
    pub fn waits_for_a_look(&self) -> bool {
        matches!(self, Self::RunUninspected | Self::RunDoubted)
    }
}

/// Why a set must not be run as the log leaves it; empty where nothing in the log forbids it, which does not
/// say that the set is sound. `regrinds_of_new`: grinds that new knives last, where widths are not known.
///
/// # Errors
///
/// [`DecisionError::Quantity`] for a width that comes out as no number.
pub fn must_not_run(set: &SetState, regrinds_of_new: u32) -> Result<Vec<MustNot>, DecisionError> {
    if set.discarded {
        return Ok(vec![MustNot::RunDiscarded]);
    }
    let set = SetAtHand::by_log(set);
    let stock = StockLeft::of(&set, regrinds_of_new)?;
    let mut must_not = Fitness::of(&set, &stock).must_not;
    must_not.retain(MustNot::forbids_running);
    Ok(must_not)
}

/// What must not be done with a set as somebody has it before them, whatever anything costs; as for
/// [`must_not_run`].
///
/// # Errors
///
/// [`DecisionError::Quantity`] for a width that comes out as no number.
pub fn must_not_do(set: &SetAtHand, regrinds_of_new: u32) -> Result<Vec<MustNot>, DecisionError> {
    let stock = StockLeft::of(set, regrinds_of_new)?;
    Ok(Fitness::of(set, &stock).must_not)
}

/// What may be done with a set.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fitness {
    /// Nothing where it waits for a look.
    pub allowed: Vec<KnifeAction>,
    pub must_not: Vec<MustNot>,
}

impl Fitness {
    pub(super) fn of(set: &SetAtHand, stock: &StockLeft) -> Self {
        let out = reasons_to_discard(set);
        let can_grind = stock.regrinds_left > 0;
        let needs_grind = set.unmatched
            || (set.struck && !set.ground_since)
            || set.nick.is_some_and(|nick| nick > Width::ZERO);
        let takes = stock.this_grind;
        let is_out = !out.is_empty() || (needs_grind && !can_grind);
        let short_of_steel = needs_grind && !can_grind && out.is_empty();
        // What is to be thrown away need not be told to keep from the grinder.
        let discarded = !out.is_empty();
        let mut must_not = out;
        let applies = [
            (set.unmatched, MustNot::RunUnmatched),
            (set.struck && !set.inspected, MustNot::RunUninspected),
            (set.doubted, MustNot::RunDoubted),
            (short_of_steel, MustNot::NoSteelForTheGrind { takes }),
            (
                !needs_grind && !can_grind && !discarded,
                MustNot::GrindUnderWidth { takes },
            ),
            (
                can_grind && !is_out && stock.regrinds_are_default,
                MustNot::GrindUnmeasured,
            ),
        ];
        must_not.extend(applies.iter().filter(|it| it.0).map(|it| it.1));
        let may = |action: &KnifeAction| match action {
            // What is to be done with it only the look can tell.
            _ if set.waits_for_a_look() && !is_out => false,
            KnifeAction::Replace => true,
            _ if is_out => false,
            KnifeAction::Regrind => can_grind,
            _ if set.unmatched => false,
            KnifeAction::Flip => set.fresh_edges > 0 && set.edge != EdgeAtHand::Fresh,
            KnifeAction::KeepRunning => true,
            KnifeAction::TouchUp => !set.on_bench,
        };
        Self {
            allowed: KnifeAction::ALL.into_iter().filter(may).collect(),
            must_not,
        }
    }
}

/// Reasons that leave nothing but new knives.
fn reasons_to_discard(set: &SetAtHand) -> Vec<MustNot> {
    let mut out = Vec::new();
    if set.cracked {
        out.push(MustNot::RunCracked);
    }
    if set.incomplete {
        out.push(MustNot::RunIncomplete);
    }
    let widest = set.width.or(set.width_at_most);
    if let Some((width, discard)) = widest.zip(set.discard_width)
        && width < discard
    {
        out.push(MustNot::RunUnderWidth { width, discard });
    }
    let left = widest
        .zip(set.discard_width)
        .map(|(width, discard)| width.saturating_sub(discard));
    if let Some((nick, stock)) = set.nick.zip(left)
        && nick > stock
    {
        out.push(MustNot::NickDeeperThanStock { nick, stock });
    }
    if let (Some(nick), Ok(limit)) = (set.nick, Width::new(DEEPEST_NICK))
        && nick > limit
    {
        out.push(MustNot::NickTooDeep { nick, limit });
    }
    out
}
