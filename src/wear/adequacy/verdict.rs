//! What to make of it all, in a sentence.

use super::examine::{Adequacy, FamilyFit};
use crate::wear::Family;
use serde::Serialize;
use std::fmt;

/// Fewer edges that tell something than this say too little. Basis: chosen; with fewer, leave-one-out
/// standard errors mean nothing (Sivula, Magnusson, Matamoros and Vehtari, Uncertainty in Bayesian
/// leave-one-out cross-validation based model comparison, 2020) and a misfit of a third of life is missed
/// more often than seen.
pub const FEWEST: usize = 8;
/// A difference of log predictive density below this is small whatever its standard error. Basis:
/// published, Sivula and others (2020), section 3.
const CLEARLY: f64 = 4.0;
/// Standard errors that a difference must reach. Basis: common practice in model comparison.
const STANDARD_ERRORS: f64 = 2.0;
/// An edge is odd whose tail falls below this over the number of edges. Basis: Bonferroni's inequality keeps
/// false alarms below one in twenty.
const ODD_EDGE: f64 = 0.05;
/// A spread of scores is odd whose p-value falls below this. Basis: own simulation. The spread is learned from
/// the same edges, which holds the scores' spread near 1, so that p-values are far too high: of crews of 24
/// edges that obey the model one in twenty had a p-value below 0.25 to 0.38.
const ODD_SPREAD: f64 = 0.2;
/// Scores are odd otherwise whose p-value falls below this. Basis: as above; one in twenty had one below 0.75.
const ODD_SCORES: f64 = 0.3;

/// What to make of how well the model fits. The first that applies, in this order.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
pub enum Verdict {
    /// Too few edges tell something.
    TooFewEdges {
        /// How many do.
        telling: usize,
        /// How many are wanted.
        wanted: usize,
    },
    /// Another law foretells clearly better.
    AnotherLaw {
        /// Which.
        family: Family,
    },
    /// Some edges are too far out to be chance.
    OddEdges {
        /// Their places among the records.
        edges: Vec<usize>,
    },
    /// Lives differ more than the model says.
    ScatterMore {
        /// How many times as much.
        times: f64,
    },
    /// Lives differ less than the model says.
    ScatterLess {
        /// How many times as much.
        times: f64,
    },
    /// Lives are off in some other way.
    Off,
    /// Nothing speaks against the model.
    Fits,
}

impl fmt::Display for Verdict {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Verdict::Fits => write!(to, "Your edges wear as the model says"),
            Verdict::TooFewEdges { wanted, .. } => write!(
                to,
                "Too few edges to tell (fewer than {wanted} graded, measured or noticed dull)"
            ),
            Verdict::AnotherLaw { family } => write!(
                to,
                "Another law of life fits clearly better: {}",
                family.word()
            ),
            Verdict::OddEdges { edges } => {
                // People count from one.
                let numbers: Vec<String> =
                    edges.iter().map(|edge| (edge + 1).to_string()).collect();
                write!(to, "Some edges do not fit: number {}", numbers.join(", "))
            }
            Verdict::ScatterMore { .. } => write!(to, "Lives scatter more than the model says"),
            Verdict::ScatterLess { .. } => write!(to, "Lives scatter less than the model says"),
            Verdict::Off => write!(
                to,
                "Your edges do not wear as the model says, though no single edge stands out"
            ),
        }
    }
}

impl Verdict {
    /// From the numbers.
    pub(super) fn of(adequacy: &Adequacy) -> Self {
        let telling = adequacy
            .edges
            .iter()
            .filter(|edge| edge.seen.tells())
            .count();
        let Some(test) = adequacy.scores_test.filter(|_| telling >= FEWEST) else {
            return Verdict::TooFewEdges {
                telling,
                wanted: FEWEST,
            };
        };
        if let Some(better) = adequacy
            .families
            .iter()
            .filter(|fit| clearly(fit))
            .reduce(best)
        {
            return Verdict::AnotherLaw {
                family: better.family,
            };
        }
        let allowed = ODD_EDGE / adequacy.edges.len() as f64;
        let odd = adequacy.edges.iter().filter(|edge| edge.tail() < allowed);
        let odd: Vec<usize> = odd.map(|edge| edge.edge).collect();
        if !odd.is_empty() {
            return Verdict::OddEdges { edges: odd };
        }
        let times = test.spread;
        match test {
            _ if test.spread_p_value < ODD_SPREAD && times > 1.0 => Verdict::ScatterMore { times },
            _ if test.spread_p_value < ODD_SPREAD => Verdict::ScatterLess { times },
            _ if test.p_value < ODD_SCORES => Verdict::Off,
            _ => Verdict::Fits,
        }
    }
}

fn clearly(fit: &FamilyFit) -> bool {
    fit.better_by > CLEARLY
        && fit.better_by > STANDARD_ERRORS * fit.better_by_error
        && fit.doubts.is_empty()
}

fn best<'a>(a: &'a FamilyFit, b: &'a FamilyFit) -> &'a FamilyFit {
    if b.better_by > a.better_by { b } else { a }
}
