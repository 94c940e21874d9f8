//! A knife set as somebody has it before them.

use crate::lives::{SetPlace, SetState};
use crate::quantities::Width;
use crate::wear::AgedDraw;
use serde::{Deserialize, Serialize};

/// What can be done with a knife set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum KnifeAction {
    /// Run on with the edge at work; a set on the bench goes in as it is.
    KeepRunning,
    /// Touch up in place.
    TouchUp,
    /// Turn to a fresh edge.
    Flip,
    /// Grind.
    Regrind,
    /// Put in a new set.
    Replace,
}

impl KnifeAction {
    /// Every action, the least of them first.
    pub const ALL: [KnifeAction; 5] = [
        KnifeAction::KeepRunning,
        KnifeAction::TouchUp,
        KnifeAction::Flip,
        KnifeAction::Regrind,
        KnifeAction::Replace,
    ];

    /// Whether knives turn afterwards that nobody has ground or replaced.
    pub fn runs_as_it_is(self) -> bool {
        !matches!(self, KnifeAction::Regrind | KnifeAction::Replace)
    }
}

/// The edge at work, or the one that would go to work.
#[derive(Debug, Clone, PartialEq)]
pub enum EdgeAtHand {
    /// It has not worked since it was ground or new.
    Fresh,
    /// It has: each draw's view of it.
    Worked(Vec<AgedDraw>),
    /// Nobody can say how far it is worn.
    Unknown,
}

/// A knife set with what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAtHand {
    /// It lies on the bench, out of any machine.
    pub on_bench: bool,
    /// The edge at work.
    pub edge: EdgeAtHand,
    /// Fresh edges beside it.
    pub fresh_edges: u32,
    /// How often its knives have been ground.
    pub regrinds: u32,
    /// Touch-ups of the edge at work since the last grind.
    pub touched_up: u32,
    /// Somebody called the edge at work dull, and it has not been touched up since.
    pub called_dull: bool,
    /// Width of the knives now.
    pub width: Option<Width>,
    /// The widest that they can be.
    pub width_at_most: Option<Width>,
    /// Below this width the machine's manual discards them.
    pub discard_width: Option<Width>,
    /// Stock that a grind typically takes.
    pub stock_per_grind: Option<Width>,
    /// Depth of the deepest nick.
    pub nick: Option<Width>,
    /// It was struck, and not both found sound and ground since.
    pub struck: bool,
    /// No edge of it bears the strike: it was ground since, or no edge is known to have been struck.
    pub ground_since: bool,
    /// Somebody qualified has looked it over since the strike and found it sound.
    pub inspected: bool,
    /// Something speaks of damage to it that may be a crack, and nobody qualified has looked since.
    pub doubted: bool,
    /// It is cracked, or somebody says so.
    pub cracked: bool,
    /// Its knives do not match.
    pub unmatched: bool,
    /// It has another number of knives than the machine carries.
    pub incomplete: bool,
}

impl SetAtHand {
    /// Nothing may be done with it before somebody qualified has looked it over.
    pub(super) fn waits_for_a_look(&self) -> bool {
        self.doubted || (self.struck && !self.inspected)
    }

    /// A set as the log leaves it. How far its edge is worn the log alone does not tell.
    pub fn by_log(set: &SetState) -> Self {
        let number = set.edge_at_hand().map_or(1, |edge| edge.edge);
        // Knives with one edge cannot be turned, whatever rows say of a second.
        let fresh = match set.edges_per_knife {
            0 | 1 => 0,
            _ => set.fresh_beside(number),
        };
        Self {
            on_bench: set.place == SetPlace::Bench,
            edge: EdgeAtHand::Unknown,
            fresh_edges: fresh as u32,
            regrinds: set.regrinds,
            touched_up: 0,
            called_dull: false,
            width: set.width,
            width_at_most: set.width_at_most,
            discard_width: set.discard_width,
            stock_per_grind: set.stock_per_grind,
            nick: set.nick,
            struck: set.is_struck(),
            ground_since: !set.has_struck_edge(),
            inspected: set.inspected,
            doubted: set.doubt.is_some(),
            cracked: set.crack.is_some(),
            unmatched: set.unmatched.is_some(),
            incomplete: set.incomplete,
        }
    }
}
