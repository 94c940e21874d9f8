//! Lives whose dulling is known without error, all together in columns: what tables of lives are made of. One pass of
//! vector instructions gives every edge's log-likelihood with its slopes; term by term, the general way is the check.
//!
//! Weibull lives alone, whose log hazard is the standardised log age `w` itself. With `H = exp(w)` at the start of a
//! phase that is `gap` wide on that scale, the hazard gathered is `D = H (exp(gap) - 1)`; from fresh on it is `H` at the
//! end.
//!
//! | known | log-likelihood | slope by `w` | bend by `w` |
//! | --- | --- | --- | --- |
//! | not dull over a phase | `-D` | `-D` | `-D` |
//! | dull within a phase | `ln(1 - exp(-D))` | `q = D / (exp(D) - 1)` | `q (1 - D - q)` |
//! | dull at this age | `w - ln sigma` | `1` | `0` |
//!
//! A slope by the gap is the slope by `w` over `1 - exp(-gap)`.

mod phases;
mod slope;
#[cfg(test)]
mod tests;

use super::{EdgeTerms, Phase, Term};
use crate::wear::life_distribution::{Curve, Family};
use phases::Phases;

/// A log age this many sigmas from a typical one is left to the general way, which works with the logs of hazards.
const FAR: f64 = 600.0;

/// Edges that are known so, and how: sums are counted through all edges.
#[derive(Debug, Clone, Default)]
pub struct KnownLives {
    not_dull: Phases,
    dull_within: Phases,
    /// Edges with the sums at which they went dull.
    dull_at: Vec<(usize, usize)>,
    /// Edges with sums whose logs count, and how many times.
    log_sums: Vec<(usize, usize, f64)>,
    weights: Vec<f64>,
    sums: usize,
}

/// Where log ages are taken to their standardised scale.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    /// The spread of log life.
    pub sigma: f64,
    /// The standardised log life of the location.
    pub anchor: f64,
}

/// The log-likelihood of all edges.
#[derive(Debug)]
pub struct Seen {
    /// Of each edge, with slope and bend by the log of its typical life.
    pub edges: Vec<Curve>,
    /// The slope of the whole by the log of each wear sum, typical lives staying as they are.
    pub by_sum: Vec<f64>,
    /// The slope of the whole by the log of sigma.
    pub by_log_sigma: f64,
}

impl KnownLives {
    /// `None` where any edge is known otherwise, such as dull within one of several phases, or by another law.
    pub fn of(edges: &[EdgeTerms], family: Family) -> Option<Self> {
        let mut known = Self::default();
        if family != Family::Weibull {
            return None;
        }
        for (edge, terms) in edges.iter().enumerate() {
            for term in &terms.terms {
                known.add(edge, term)?;
            }
            known.weights.push(terms.weight);
            known.sums += terms.sums.len();
        }
        Some(known)
    }

    fn add(&mut self, edge: usize, term: &Term) -> Option<()> {
        let first = self.sums;
        match term {
            Term::NotDull(phase) => self.not_dull.push(edge, counted(*phase, first)),
            Term::DullWithin(phases) => {
                let [phase] = phases.as_slice() else {
                    return None;
                };
                self.dull_within.push(edge, counted(*phase, first));
            }
            Term::DullAt(age) => self.dull_at.push((edge, first + age)),
            Term::LogSum { sum, factor } => self.log_sums.push((edge, first + sum, *factor)),
            Term::LookedAt { .. } => return None,
        }
        Some(())
    }

    /// All edges, from the logs of all wear sums and of each edge's typical life. `None` where a number is too large or
    /// too small for this way.
    pub fn seen(&self, logs: &[f64], locations: &[f64], scale: Scale) -> Option<Seen> {
        let nothing = Curve {
            value: 0.0,
            first: 0.0,
            second: 0.0,
        };
        let mut seen = Seen {
            edges: vec![nothing; self.weights.len()],
            by_sum: vec![0.0; self.sums],
            by_log_sigma: 0.0,
        };
        self.not_dull.see::<false>(logs, locations, scale)?.add(
            &self.not_dull,
            scale,
            &mut seen,
            &self.weights,
        );
        self.dull_within.see::<true>(logs, locations, scale)?.add(
            &self.dull_within,
            scale,
            &mut seen,
            &self.weights,
        );
        let log_sigma = scale.sigma.ln();
        for &(edge, sum) in &self.dull_at {
            let (weight, age) = (self.weights[edge], logs[sum] - locations[edge]);
            let w = age / scale.sigma + scale.anchor;
            seen.edges[edge].value += weight * (w - log_sigma);
            seen.edges[edge].first -= weight / scale.sigma;
            seen.by_sum[sum] += weight / scale.sigma;
            seen.by_log_sigma -= weight * (age / scale.sigma + 1.0);
        }
        for &(edge, sum, factor) in &self.log_sums {
            seen.edges[edge].value += self.weights[edge] * factor * logs[sum];
            seen.by_sum[sum] += self.weights[edge] * factor;
        }
        Some(seen)
    }
}

/// The same phase where the edge's own sums begin with this one.
fn counted(phase: Phase, first: usize) -> Phase {
    match phase {
        Phase::FromFresh(age) => Phase::FromFresh(first + age),
        Phase::From(start, gained) => Phase::From(first + start, first + gained),
    }
}
