//! From the fit to a machine's knives and to a set at hand.

use super::bench::SeenOnBench;
use crate::failure::Failure;
use crate::fitting::Fitted;
use keenspan::decisions::{
    EdgeAtHand, KnifeCosts, KnifeDraws, KnifeLayout, KnifeQuestion, MachineKnives, SetAtHand,
};
use keenspan::lives::{EdgeCondition, EdgeState, SetState, Sight};
use keenspan::logbook::Machine;
use keenspan::quantities::Level;
use keenspan::wear::{Asked, Draws};
use keenspan::wood::Blend;

/// A fit and its draws.
pub struct Drawn<'f> {
    fitted: &'f Fitted,
    draws: Draws,
}

impl<'f> Drawn<'f> {
    pub fn new(fitted: &'f Fitted, seed: u64) -> Self {
        Self {
            draws: fitted.draws_for_knives(seed),
            fitted,
        }
    }

    /// Edges of this machine in wear hours.
    fn asked(&self, machine: &Machine, reground: bool) -> Asked {
        self.fitted.asked_of(machine, Blend::reference(), reground)
    }

    pub fn machine(&self, machine: &Machine) -> Result<MachineKnives, Failure> {
        let fitted = self.fitted;
        let usual = fitted.usual(machine).blend;
        let layout = KnifeLayout {
            knives: machine.knives,
            edges_per_knife: machine.edges_per_knife,
        };
        let question = KnifeQuestion {
            costs: KnifeCosts::of(&fitted.costs, layout)?,
            edges: machine.edges_per_knife,
            regrinds: fitted.costs.whole_regrinds(),
            level: Level::NINETY,
            evidence: fitted.evidence(machine, &fitted.asked(machine, Blend::reference())),
        };
        let draws = KnifeDraws {
            new: &self.draws.under(&self.asked(machine, false)),
            reground: &self.draws.under(&self.asked(machine, true)),
            wear_rates: &self.draws.wear_rates(&usual),
            strike_rates: &self.draws.strike_rates(&usual),
            touch_up_shares: &self.draws.touch_up_shares(),
        };
        Ok(MachineKnives::new(&draws, &question)?)
    }

    /// Whether the edge at hand has worked, by the log or by what somebody sees.
    pub fn has_worked(&self, set: &SetState, seen: &SeenOnBench) -> bool {
        let edge = set.edge_at_hand();
        let fresh = edge.is_none_or(|edge| edge.condition == EdgeCondition::Fresh);
        seen.sight.is_some() || !fresh
    }

    /// A set, as the log has it and as somebody sees it.
    pub fn at_hand(
        &self,
        set: &SetState,
        machine: &Machine,
        seen: &SeenOnBench,
    ) -> Result<SetAtHand, Failure> {
        let edge = set.edge_at_hand();
        let life = edge.and_then(life_of);
        let touched_up = life.map_or(0, |life| {
            self.fitted.lives.lives[life].exposure.touch_ups.len()
        });
        Ok(SetAtHand {
            edge: self.edge(set, machine, seen)?,
            touched_up: touched_up as u32,
            called_dull: seen.sight.is_none()
                && life.is_some_and(|life| self.fitted.is_called_dull(life)),
            ..as_seen(set, seen)
        })
    }

    /// The same without the look that somebody took, where the log knows what the edge has been through.
    pub fn by_log(
        &self,
        set: &SetState,
        machine: &Machine,
        seen: &SeenOnBench,
    ) -> Result<Option<SetAtHand>, Failure> {
        let has_life = set.edge_at_hand().and_then(life_of).is_some();
        if seen.sight.is_none() || !has_life {
            return Ok(None);
        }
        let unseen = SeenOnBench {
            sight: None,
            ..seen.clone()
        };
        self.at_hand(set, machine, &unseen).map(Some)
    }

    /// The edge at hand: by its life, and by what somebody sees or saw last.
    fn edge(
        &self,
        set: &SetState,
        machine: &Machine,
        seen: &SeenOnBench,
    ) -> Result<EdgeAtHand, Failure> {
        let Some(edge) = set.edge_at_hand() else {
            return Ok(EdgeAtHand::Fresh);
        };
        let struck = edge.condition == EdgeCondition::Struck;
        let aged = match (life_of(edge), seen.sight) {
            (Some(life), None) if !struck => self.fitted.aged(life)?,
            (Some(life), Some(sight)) if !struck => self.fitted.aged_as_seen(life, sight)?,
            (_, Some(sight)) => self.by_look(machine, set, sight)?,
            (_, None) if edge.condition == EdgeCondition::Fresh => return Ok(EdgeAtHand::Fresh),
            (_, None) => match edge.grade.filter(|_| !struck) {
                Some(grade) => self.by_look(machine, set, Sight::Graded(grade))?,
                None => return Ok(EdgeAtHand::Unknown),
            },
        };
        Ok(EdgeAtHand::Worked(self.draws.aged(&aged)))
    }

    fn by_look(
        &self,
        machine: &Machine,
        set: &SetState,
        sight: Sight,
    ) -> Result<keenspan::wear::AgedEdge, Failure> {
        let asked = self.asked(machine, set.regrinds > 0);
        Ok(self.fitted.posterior.aged_by_look(&asked, sight)?)
    }
}

/// A set, as the log has it and as somebody sees it, but for the wear of its edge.
pub fn as_seen(set: &SetState, seen: &SeenOnBench) -> SetAtHand {
    let log = SetAtHand::by_log(set);
    SetAtHand {
        fresh_edges: seen.edges_left.unwrap_or(log.fresh_edges),
        width: seen.width.or(log.width),
        width_at_most: seen.width.or(log.width_at_most),
        nick: seen.nick.or(log.nick),
        inspected: seen.inspected || log.inspected,
        doubted: log.doubted && !seen.inspected,
        cracked: seen.cracked || log.cracked,
        unmatched: seen.unmatched || log.unmatched,
        ..log
    }
}

/// Which of the log's lives it is, if it has worked.
pub fn life_of(edge: &EdgeState) -> Option<usize> {
    match edge.condition {
        EdgeCondition::Worked { life } => life,
        EdgeCondition::Fresh | EdgeCondition::Struck => None,
    }
}
