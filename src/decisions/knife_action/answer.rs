//! What to do with one knife set: the actions ranked over posterior draws.

use super::fitness::{Fitness, MustNot};
use super::machine::MachineKnives;
use super::set_at_hand::{EdgeAtHand, KnifeAction, SetAtHand};
use super::solved::{ActionCosts, EdgeNow, SetNow};
use super::stock::StockLeft;
use crate::decisions::spread::{estimate, mean};
use crate::decisions::worn::worn;
use crate::decisions::{Caveat, DecisionError, caveats};
use crate::quantities::{Estimate, Money, Probability, WearFraction, Width};
use serde::{Deserialize, Serialize};

/// The hours that costs are quoted for.
const HUNDRED_HOURS: f64 = 100.0;

/// What to do with one knife set. Bounds are spreads over the posterior draws.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KnifeAnswer {
    /// What is allowed, what is advised first and the rest by expected cost. That is the cheapest, but where
    /// the edge at work is likelier dull than not, anything as good comes before running on: an even choice
    /// falls to the sharp edge. Empty where the edge, or after a strike the set, has to be looked at first.
    pub actions: Vec<RankedAction>,
    /// How far the edge at work is worn; absent where nobody can say.
    #[serde(rename = "wear")]
    pub worn: Option<Estimate<WearFraction>>,
    /// Steel left.
    pub stock: StockLeft,
    /// What must not be done, whatever it would save.
    pub must_not: Vec<MustNot>,
    /// How much of what is known of edge life is still the defaults.
    pub share_from_defaults: Probability,
    /// What must be said beside the answer.
    pub caveats: Vec<Caveat>,
}

/// One action, taken now, with the best done ever after.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RankedAction {
    /// What is done.
    pub action: KnifeAction,
    /// 100 wear hours at the least long-run cost rate, and what the action wastes against the best that is allowed now.
    pub cost_per_100_hours: Estimate<Money>,
    /// What it wastes, once.
    pub waste: Estimate<Money>,
    /// What it costs more than the action that is advised first, once; nothing for that one. Below zero where
    /// the sharp edge goes first and is not the cheapest.
    pub more_than_first: Estimate<Money>,
    /// Share of draws in which it is the cheapest of those allowed.
    pub chance_best: Probability,
}

/// An action that costs at most this share more than the cheapest is as good: the share by which
/// [`FlatPart`](crate::decisions::FlatPart) of an interval is measured too.
const AS_GOOD: f64 = 0.02;

impl KnifeAnswer {
    /// The actions that cost next to nothing more than the best, without it.
    pub fn as_good(&self) -> impl Iterator<Item = KnifeAction> {
        let as_good = as_good(&self.actions);
        let others = self.actions.iter().skip(1);
        others
            .filter(move |ranked| as_good(ranked))
            .map(|ranked| ranked.action)
    }

    /// Whether nothing is left to do with these knives but to replace them.
    pub fn is_out(&self) -> bool {
        let only = |ranked: &RankedAction| ranked.action == KnifeAction::Replace;
        !self.actions.is_empty() && self.actions.iter().all(only)
    }
}

impl MachineKnives {
    /// Ranks what may be done with a set.
    ///
    /// Each draw knows its own law of life, and follows its own best policy after the action; what they
    /// disagree on is the doubt that the bounds show.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`] where an edge comes with another number of draws than the machine's, and
    /// [`DecisionError::Quantity`] for a figure that came out as no number.
    pub fn answer(&self, set: &SetAtHand) -> Result<KnifeAnswer, DecisionError> {
        let set = &SetAtHand {
            fresh_edges: set.fresh_edges.min(self.most_beside()),
            ..set.clone()
        };
        let stock = StockLeft::of(set, self.regrinds_of_new())?;
        let fitness = Fitness::of(set, &stock);
        let look_first =
            set.edge == EdgeAtHand::Unknown && fitness.allowed.contains(&KnifeAction::KeepRunning);
        let worn = self.worn(set)?;
        let is_dull = worn.is_some_and(|worn| worn.point.get() >= 1.0);
        let actions = if look_first {
            Vec::new()
        } else {
            self.ranked(set, &stock, &fitness.allowed, is_dull)?
        };
        let evidence = self.evidence();
        let mut said = caveats::of_evidence(evidence)?;
        said.extend(of_set(set, &stock, &actions, look_first));
        Ok(KnifeAnswer {
            actions,
            worn,
            stock,
            must_not: fitness.must_not,
            share_from_defaults: evidence.share_from_defaults()?,
            caveats: said,
        })
    }

    fn ranked(
        &self,
        set: &SetAtHand,
        stock: &StockLeft,
        allowed: &[KnifeAction],
        is_dull: bool,
    ) -> Result<Vec<RankedAction>, DecisionError> {
        let costs = self.action_costs(set, stock)?;
        let known = |action: &KnifeAction| costs.iter().all(|it| of(it, *action).is_some());
        let allowed: Vec<KnifeAction> = allowed.iter().copied().filter(known).collect();
        let least: Vec<f64> = costs
            .iter()
            .map(|costs| {
                let each = allowed.iter().filter_map(|action| of(costs, *action));
                each.fold(f64::INFINITY, f64::min)
            })
            .collect();
        let wasted = |action: KnifeAction| -> Vec<f64> {
            let own = costs.iter().filter_map(|costs| of(costs, action));
            own.zip(&least).map(|(cost, least)| cost - least).collect()
        };
        let mut ranked = allowed
            .iter()
            .map(|action| self.rank(*action, &wasted(*action)))
            .collect::<Result<Vec<_>, _>>()?;
        ranked.sort_by(|a, b| a.waste.point.get().total_cmp(&b.waste.point.get()));
        if is_dull {
            sharp_edge_first(&mut ranked);
        }
        let first = ranked.first().map_or(Vec::new(), |it| wasted(it.action));
        for it in &mut ranked {
            let own = wasted(it.action);
            let more: Vec<f64> = own
                .iter()
                .zip(&first)
                .map(|(own, first)| own - first)
                .collect();
            it.more_than_first = estimate(mean(&more), &more, self.level(), Money::new)?;
        }
        Ok(ranked)
    }

    fn rank(&self, action: KnifeAction, waste: &[f64]) -> Result<RankedAction, DecisionError> {
        let rates = self.solved().iter().map(|solved| solved.rate);
        let costs: Vec<f64> = rates
            .zip(waste)
            .map(|(rate, waste)| HUNDRED_HOURS * rate + waste)
            .collect();
        let best = waste.iter().filter(|waste| **waste <= 0.0).count();
        let waste_of_it = estimate(mean(waste), waste, self.level(), Money::new)?;
        Ok(RankedAction {
            action,
            cost_per_100_hours: estimate(mean(&costs), &costs, self.level(), Money::new)?,
            waste: waste_of_it,
            // Until it is known which goes first.
            more_than_first: waste_of_it,
            chance_best: Probability::new(best as f64 / waste.len().max(1) as f64)?,
        })
    }

    /// Each draw's costs of each action.
    fn action_costs(
        &self,
        set: &SetAtHand,
        stock: &StockLeft,
    ) -> Result<Vec<ActionCosts>, DecisionError> {
        let edges: Vec<EdgeNow<'_>> = match &set.edge {
            EdgeAtHand::Fresh => vec![EdgeNow::Fresh; self.solved().len()],
            EdgeAtHand::Unknown => vec![EdgeNow::Unknown; self.solved().len()],
            EdgeAtHand::Worked(draws) => draws.iter().map(EdgeNow::Worked).collect(),
        };
        if edges.len() != self.solved().len() || edges.is_empty() {
            return Err(DecisionError::NoDraws);
        }
        let now = |edge| SetNow {
            on_bench: set.on_bench,
            reground: set.regrinds > 0,
            fresh_edges: set.fresh_edges,
            grinds_after_next: stock.regrinds_left.checked_sub(1),
            touched_up: set.touched_up,
            edge,
        };
        let solved = self.solved().iter().zip(edges);
        Ok(solved
            .map(|(solved, edge)| solved.actions(&now(edge)))
            .collect())
    }

    /// Wear over life, where it is known.
    fn worn(&self, set: &SetAtHand) -> Result<Option<Estimate<WearFraction>>, DecisionError> {
        match &set.edge {
            EdgeAtHand::Worked(draws) => worn(draws, self.level()).map(Some),
            EdgeAtHand::Fresh => Ok(Some(Estimate {
                point: WearFraction::ZERO,
                lower: WearFraction::ZERO,
                upper: WearFraction::ZERO,
                level: self.level(),
            })),
            EdgeAtHand::Unknown => Ok(None),
        }
    }
}

/// Whether an action costs next to nothing more than the cheapest of all.
fn as_good(actions: &[RankedAction]) -> impl Fn(&RankedAction) -> bool + use<> {
    let costs = actions.iter().map(|it| it.cost_per_100_hours.point.get());
    let least = costs.fold(f64::INFINITY, f64::min);
    move |ranked| ranked.cost_per_100_hours.point.get() <= least * (1.0 + AS_GOOD)
}

/// Puts the cheapest action that ends the edge's work first, where it is as good as running on.
fn sharp_edge_first(actions: &mut [RankedAction]) {
    let runs_on = |ranked: &RankedAction| ranked.action == KnifeAction::KeepRunning;
    let as_good = as_good(actions);
    let sharp = actions
        .iter()
        .position(|ranked| !runs_on(ranked) && as_good(ranked));
    if let (true, Some(sharp)) = (actions.first().is_some_and(runs_on), sharp) {
        actions[..=sharp].rotate_right(1);
    }
}

fn of(costs: &ActionCosts, action: KnifeAction) -> Option<f64> {
    match action {
        KnifeAction::KeepRunning => costs.keep_running,
        KnifeAction::TouchUp => costs.touch_up,
        KnifeAction::Flip => costs.flip,
        KnifeAction::Regrind => costs.regrind,
        KnifeAction::Replace => costs.replace,
    }
}

/// What must be said of what is not known of the set itself.
fn of_set(
    set: &SetAtHand,
    stock: &StockLeft,
    actions: &[RankedAction],
    look_first: bool,
) -> Vec<Caveat> {
    let nicked = set.nick.is_some_and(|nick| nick > Width::ZERO);
    let may_run = look_first || actions.iter().any(|it| it.action.runs_as_it_is());
    let first = actions.first().map(|first| first.action);
    let runs_on = first == Some(KnifeAction::KeepRunning);
    let applies = [
        (set.called_dull && runs_on, Caveat::CalledDull),
        (look_first, Caveat::EdgeNotSeen),
        (set.width.is_none(), Caveat::WidthNotKnown),
        (set.discard_width.is_none(), Caveat::DiscardWidthNotKnown),
        (set.struck && set.nick.is_none(), Caveat::NickNotMeasured),
        (nicked && may_run, Caveat::NickNotCosted),
        (stock.grind_is_default, Caveat::GrindIsDefault),
    ];
    applies
        .into_iter()
        .filter_map(|(applies, caveat)| applies.then_some(caveat))
        .collect()
}
