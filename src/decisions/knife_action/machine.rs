//! A machine's knives under every posterior draw.

use super::knife_costs::KnifeCosts;
use super::process::{KnifeProcess, Likeness};
use super::solved::SolvedProcess;
use crate::decisions::{DecisionError, Evidence};
use crate::quantities::{Level, WearHours};
use crate::wear::{DrawUnderConditions, LifeLaw};

/// Steps in a typical life: a decision is looked at again as often.
const STEPS_IN_A_LIFE: f64 = 40.0;
/// Touch-ups that an edge takes between two grinds. Basis: common practice, judged; published (manuals of
/// chippers): touching up in place eases the loss and does not stand in for a grind.
const TOUCH_UPS: u32 = 2;

/// What the draws say of a machine's edges. Each list has one entry a draw, in one order.
#[derive(Debug, Clone, Copy)]
pub struct KnifeDraws<'d> {
    /// Life of new steel in wear hours: under [`Blend::reference`](crate::wood::Blend::reference).
    pub new: &'d [DrawUnderConditions],
    /// Life of reground edges, likewise.
    pub reground: &'d [DrawUnderConditions],
    /// Wear hours in a meter hour of what the machine chips.
    pub wear_rates: &'d [f64],
    /// Strikes in a meter hour of it.
    pub strike_rates: &'d [f64],
    /// Share of the wear so far that a touch-up takes back.
    pub touch_up_shares: &'d [f64],
}

/// A machine's knives: what each draw makes of them, ready to be asked about any set.
///
/// # Examples
///
/// A set on the bench with a fresh edge may go to work. The same set cracked is refused, whatever it would save.
///
/// ```
/// use keenspan::decisions::{
///     EdgeAtHand, Evidence, KnifeAction, KnifeCosts, KnifeDraws, KnifeLayout, KnifeQuestion,
///     MachineKnives, MustNot, SetAtHand, ShopCosts,
/// };
/// use keenspan::quantities::Level;
/// # use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
/// # let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
/// #     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
/// #     strikes_per_hour: 0.002,
/// # });
/// # let evidence = Evidence {
/// #     edges_finished: 12,
/// #     edges_graded: 10,
/// #     prior_variance: 0.16,
/// #     posterior_variance: 0.02,
/// # };
/// let shop = ShopCosts::common_practice()?;
/// let question = KnifeQuestion {
///     costs: KnifeCosts::of(&shop, KnifeLayout { knives: 4, edges_per_knife: 2 })?,
///     edges: 2,
///     regrinds: shop.whole_regrinds(),
///     level: Level::NINETY,
///     evidence,
/// };
/// let knives = MachineKnives::new(
///     &KnifeDraws {
///         new: &draws,
///         reground: &draws,
///         wear_rates: &[1.0; 3],
///         strike_rates: &[0.002; 3],
///         touch_up_shares: &[0.25; 3],
///     },
///     &question,
/// )?;
/// let set = SetAtHand {
///     on_bench: true,
///     edge: EdgeAtHand::Fresh,
///     fresh_edges: 1,
///     regrinds: 2,
///     touched_up: 0,
///     called_dull: false,
///     width: None,
///     width_at_most: None,
///     discard_width: None,
///     stock_per_grind: None,
///     nick: None,
///     struck: false,
///     ground_since: false,
///     inspected: false,
///     doubted: false,
///     cracked: false,
///     unmatched: false,
///     incomplete: false,
/// };
/// let offered = |set: &SetAtHand| -> Result<Vec<KnifeAction>, keenspan::decisions::DecisionError> {
///     Ok(knives.answer(set)?.actions.iter().map(|ranked| ranked.action).collect())
/// };
/// assert_eq!(offered(&set)?.first(), Some(&KnifeAction::KeepRunning));
/// let cracked = SetAtHand { cracked: true, ..set };
/// assert!(!offered(&cracked)?.contains(&KnifeAction::KeepRunning));
/// assert!(knives.answer(&cracked)?.must_not.contains(&MustNot::RunCracked));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct MachineKnives {
    solved: Vec<SolvedProcess>,
    edges: u32,
    regrinds: u32,
    level: Level,
    evidence: Evidence,
}

/// What a machine's knives are like, beside the draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnifeQuestion {
    /// What things cost, running costs per meter hour.
    pub costs: KnifeCosts,
    /// Cutting edges on a knife.
    pub edges: u32,
    /// Grinds that new knives last.
    pub regrinds: u32,
    /// The level of every bound in the answers.
    pub level: Level,
    /// What the draws stand on.
    pub evidence: Evidence,
}

impl MachineKnives {
    /// Solves each draw's process.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`] without draws or with lists of different lengths; otherwise as
    /// [`KnifeProcess::solve`].
    pub fn new(draws: &KnifeDraws<'_>, question: &KnifeQuestion) -> Result<Self, DecisionError> {
        let count = draws.reground.len();
        let lengths = [
            draws.new.len(),
            draws.wear_rates.len(),
            draws.strike_rates.len(),
            draws.touch_up_shares.len(),
        ];
        if count == 0 || lengths.iter().any(|length| *length != count) {
            return Err(DecisionError::NoDraws);
        }
        let laws = draws.new.iter().zip(draws.reground);
        let rates = draws.wear_rates.iter().zip(draws.strike_rates);
        let mut last = Likeness::default();
        let solved = laws.zip(rates).zip(draws.touch_up_shares).map(
            |(((new, reground), (wear, strikes)), share)| {
                let laws = (new.law, reground.law);
                process(question, laws, (*wear, *strikes), *share)?.solve_like(&mut last)
            },
        );
        Ok(Self {
            solved: solved.collect::<Result<_, _>>()?,
            edges: question.edges,
            regrinds: question.regrinds,
            level: question.level,
            evidence: question.evidence,
        })
    }

    pub(super) fn solved(&self) -> &[SolvedProcess] {
        &self.solved
    }

    /// Fresh edges that knives of this machine can have beside the one at work.
    pub(super) fn most_beside(&self) -> u32 {
        self.edges.saturating_sub(1)
    }

    pub(super) fn regrinds_of_new(&self) -> u32 {
        self.regrinds
    }

    pub(super) fn level(&self) -> Level {
        self.level
    }

    pub(super) fn evidence(&self) -> &Evidence {
        &self.evidence
    }
}

/// One draw's process, in wear hours; `wear` and `strikes` are per meter hour.
fn process(
    question: &KnifeQuestion,
    (new, reground): (LifeLaw, LifeLaw),
    (wear, strikes): (f64, f64),
    touch_up_share: f64,
) -> Result<KnifeProcess, DecisionError> {
    Ok(KnifeProcess {
        new,
        reground,
        strikes_per_hour: strikes / wear,
        touch_up_share,
        costs: question.costs.per_wear_hour(wear)?,
        edges: question.edges,
        regrinds: question.regrinds,
        touch_ups: TOUCH_UPS,
        step: WearHours::new(reground.log_median.exp() / STEPS_IN_A_LIFE)?,
    })
}
