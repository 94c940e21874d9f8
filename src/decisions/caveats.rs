//! The answer stands, weakly: what every view must show beside it.

use crate::quantities::{Probability, QuantityError};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Above this share of defaults nothing of the log can be seen in an answer.
const ALL: f64 = 0.995;
/// Above this share of defaults an answer is mostly not the crew's own. Basis: half.
const MOSTLY: f64 = 0.5;
/// Fewer finished edges than this say little of how much edges differ. Basis: common practice in
/// this program: a dozen changes on a schedule narrow the range of median life from 3.7-fold to about
/// 1.6-fold (own simulation), half a dozen not yet to 2-fold.
const FEW_EDGES: usize = 6;
/// Above this share of draws "run until called" is worth a word. Basis: judged.
const OFTEN: f64 = 0.05;

/// What the answer stands on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// Edges that have finished their work: dull, pulled or struck.
    pub edges_finished: usize,
    /// Edges that somebody graded, measured or noticed dull.
    pub edges_graded: usize,
    /// Variance of the log of median life before any data.
    pub prior_variance: f64,
    /// Variance of the log of median life with them.
    pub posterior_variance: f64,
}

impl Evidence {
    /// The share of the answer that is still the defaults: what is left of the prior variance of log
    /// median life. 1 before any data; 0 when the log has said all.
    ///
    /// # Errors
    ///
    /// None: the share is held between 0 and 1, and variances that are no numbers count as no data.
    pub fn share_from_defaults(&self) -> Result<Probability, QuantityError> {
        let share = self.posterior_variance / self.prior_variance;
        Probability::new(if share.is_nan() {
            1.0
        } else {
            share.clamp(0.0, 1.0)
        })
    }
}

/// A reservation under an answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "caveat", rename_all = "kebab-case")]
pub enum Caveat {
    /// The answer is more the defaults than the log.
    MostlyDefaults {
        /// What is left of the prior variance of log median life.
        share: Probability,
    },
    /// Few edges have finished.
    FewEdges {
        /// How many.
        finished: usize,
    },
    /// Edges have finished and nobody graded one.
    NoGrades {
        /// How many have finished.
        finished: usize,
    },
    /// Today's rule was not given, so that nothing can be said of what it costs.
    RuleNotKnown,
    /// In some draws no planned change pays: those count at the hours by which nearly every edge
    /// would have been called.
    OftenBestUntilCalled {
        /// In which share of draws.
        share: Probability,
    },
    /// Worn further than crews let an edge go.
    WornBeyondCalling,
    /// Somebody called the edge dull, and by all that the log says it may run on.
    CalledDull,
    /// Nobody can say how far the edge is worn.
    EdgeNotSeen,
    /// The width of the knives is not known.
    WidthNotKnown,
    /// The width at which the machine's manual discards knives is not known.
    DiscardWidthNotKnown,
    /// A set was struck, and nobody noted how deep the nick is.
    NickNotMeasured,
    /// Knives with a nick may still run, and what the nick costs is not in the figures.
    NickNotCosted,
    /// No grind says what it removed: common practice stands in.
    GrindIsDefault,
    /// The log does not tell what the edge at work has gone through: it is taken for fresh.
    PresentEdgeUnknown,
    /// Too few edges have finished to tell whether lives have changed.
    TooFewToTell {
        /// How many.
        finished: usize,
    },
    /// The scores of some lives are rough: what the other edges foretell for them is not known well.
    RoughScores {
        /// Of how many.
        edges: usize,
    },
}

impl fmt::Display for Caveat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Caveat::MostlyDefaults { share } if share.get() > ALL => write!(
                f,
                "this is the default: common practice, with no finished edge of your own in it yet"
            ),
            Caveat::MostlyDefaults { share } => write!(
                f,
                "{:.0} % of this answer is the default, common practice, not yet your own log",
                100.0 * share.get()
            ),
            Caveat::FewEdges { finished: 0 } => {
                write!(f, "no edge of this machine has finished yet")
            }
            Caveat::FewEdges { finished: 1 } => {
                write!(f, "only one edge of this machine has finished")
            }
            Caveat::FewEdges { finished } => {
                write!(f, "only {finished} edges of this machine have finished")
            }
            Caveat::NoGrades { finished: 1 } => write!(
                f,
                "one edge of this machine has finished and was not graded; a grade at each change teaches far more"
            ),
            Caveat::NoGrades { finished } => write!(
                f,
                "{finished} edges of this machine have finished and none was graded; a grade at each change teaches far more"
            ),
            Caveat::RuleNotKnown => write!(
                f,
                "today's rule is not in the log, so this cannot say what it costs"
            ),
            Caveat::OftenBestUntilCalled { share } => write!(
                f,
                "there is a {:.0} % chance that no planned change pays at all",
                100.0 * share.get()
            ),
            Caveat::WornBeyondCalling => write!(
                f,
                "no crew runs an edge so far: a change, or hours, may be missing in the log. Look at the edge and write down what is in"
            ),
            Caveat::CalledDull => write!(
                f,
                "somebody has called this edge dull. An eye may be off, so the answer weighs that with all else in the log; \
                 where it cuts badly, do not run on"
            ),
            Caveat::EdgeNotSeen => write!(
                f,
                "how far this edge is worn is not in the log: look at it and give its --grade"
            ),
            Caveat::WidthNotKnown => write!(
                f,
                "the width of these knives is not in the log: measure them before any grind"
            ),
            Caveat::DiscardWidthNotKnown => write!(
                f,
                "the discard width is not in machines.csv: look it up in the machine's manual before it runs or is ground"
            ),
            Caveat::NickNotMeasured => write!(
                f,
                "nobody noted how deep the strike's nick is: measure it, the grind may take more"
            ),
            Caveat::NickNotCosted => write!(
                f,
                "a nick: look for cracks before it runs; what it costs in chips and feed is not counted here"
            ),
            Caveat::GrindIsDefault => write!(
                f,
                "what a grind takes is the default, as no grind in the log says"
            ),
            Caveat::PresentEdgeUnknown => write!(
                f,
                "the log does not tell what the edge at work has gone through, so it is taken for fresh"
            ),
            Caveat::TooFewToTell { finished } => {
                let edges = match finished {
                    0 => "no edge has".to_string(),
                    1 => "only one edge has".to_string(),
                    many => format!("only {many} edges have"),
                };
                write!(
                    f,
                    "{edges} finished, too few to tell whether lives have changed"
                )
            }
            Caveat::RoughScores { edges: 1 } => {
                write!(
                    f,
                    "how long it should have lasted is only roughly known for 1 edge"
                )
            }
            Caveat::RoughScores { edges } => write!(
                f,
                "how long they should have lasted is only roughly known for {edges} edges"
            ),
        }
    }
}

/// What must be said of what any answer stands on.
pub(super) fn of_evidence(evidence: &Evidence) -> Result<Vec<Caveat>, QuantityError> {
    let share = evidence.share_from_defaults()?;
    let finished = evidence.edges_finished;
    let applies = [
        (share.get() > MOSTLY, Caveat::MostlyDefaults { share }),
        (finished < FEW_EDGES, Caveat::FewEdges { finished }),
        (
            finished > 0 && evidence.edges_graded == 0,
            Caveat::NoGrades { finished },
        ),
    ];
    let said = applies.into_iter();
    Ok(said
        .filter_map(|(applies, caveat)| applies.then_some(caveat))
        .collect())
}

/// What must be said under an interval.
pub(super) fn of_interval(
    evidence: &Evidence,
    rule_known: bool,
    until_called: Probability,
) -> Result<Vec<Caveat>, QuantityError> {
    let applies = [
        (!rule_known, Caveat::RuleNotKnown),
        (
            until_called.get() > OFTEN,
            Caveat::OftenBestUntilCalled {
                share: until_called,
            },
        ),
    ];
    let mut said = of_evidence(evidence)?;
    said.extend(
        applies
            .into_iter()
            .filter_map(|(applies, caveat)| applies.then_some(caveat)),
    );
    Ok(said)
}

/// What must be said under a plan of jobs: of the job whose answer is most the defaults.
pub(super) fn of_jobs(evidence: &[Evidence]) -> Result<Vec<Caveat>, QuantityError> {
    let share = |evidence: &Evidence| evidence.posterior_variance / evidence.prior_variance;
    let most = evidence.iter().max_by(|a, b| share(a).total_cmp(&share(b)));
    most.map_or(Ok(Vec::new()), |most| {
        of_interval(most, true, Probability::new(0.0)?)
    })
}
