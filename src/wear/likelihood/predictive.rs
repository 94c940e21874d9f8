//! How surprising what was last seen of each edge is: chances under the law, at fixed parameters.
//!
//! An eye sees `X = ln u - ln T + error` at wear age `u`. A bound is a log wear fraction `c`; its chance is
//! `P(X <= c)`, small where the edge lasted far longer than it had to. For moments known without error
//! the chance is that of not being dull yet, `P(T > u)`. Either is given that the edge came into view.
//!
//! Each bound is compiled to the terms of an edge whose log-likelihood is the log of that chance, so that
//! the integrals over life stand in one place only. A bound that is one look and nothing else, as nearly all are,
//! has a quicker way beside it (`chances`).

mod builder;
mod chances;
#[cfg(test)]
mod tests;

use super::local::{Local, LocalPoint};
use super::looked::looked_at;
use super::{Likelihood, LikelihoodSettings, Order, Workspace, of_terms};
use crate::quantities::Grade;
use crate::wear::eye::Glance;
use crate::wear::life_distribution::LifeDistribution;
use crate::wear::life_nodes::Precision;
pub use builder::PredictiveBuilder;
use chances::{Eyes, LookBelow};
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// What was last seen of an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LastSeen {
    /// Given this grade.
    Graded(Grade),
    /// Its bright flat was measured.
    Measured,
    /// Noticed in the cut as it went dull.
    NoticedDull,
    /// Noticed in the cut only when it was overrun.
    NoticedOverrun,
    /// Nobody had called it.
    NotCalled,
    /// The moment at which it went dull, or a stretch that holds it, known without error.
    Timed,
    /// Not dull yet, known without error.
    NotDull,
    /// Nothing.
    Nothing,
}

impl LastSeen {
    /// Whether it tells where the edge stood, and not only that nobody had called it.
    pub fn tells(self) -> bool {
        !matches!(
            self,
            LastSeen::NotCalled | LastSeen::NotDull | LastSeen::Nothing
        )
    }
}

/// The bounds of one edge, by their place among all bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastLook {
    /// What was seen.
    pub seen: LastSeen,
    /// The bound with the smaller chance; `None` where the chance is 0.
    pub low: Option<usize>,
    /// The bound with the larger chance, the same as `low` for what was seen at one point; `None` where the
    /// chance is 1.
    pub high: Option<usize>,
    /// The cuts between the four grades, where it was graded.
    pub cuts: Option<[usize; 3]>,
    /// The wear fraction at which an edge is noticed dull, at the age of the last look.
    pub noticed: Option<usize>,
    /// The bound at its entry, for an edge that came into view late.
    pub entry: Option<usize>,
}

/// One bound: what the chance is of, apart from the terms.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bound {
    /// Which sum of the edge is the age.
    age: usize,
    /// Log wear fraction.
    cut: f64,
    /// The look, where the chance is that of one look and nothing else.
    look: Option<LookBelow>,
}

/// The last looks of a set of edges.
#[derive(Debug)]
pub struct Predictive {
    /// One "edge" for each bound, put together when somebody first asks: most answers do not.
    likelihood: LazyLock<Likelihood, Box<dyn FnOnce() -> Likelihood + Send>>,
    bounds: Vec<Bound>,
    looks: Vec<LastLook>,
}

impl Predictive {
    /// The last look of each edge, in the order of the edges.
    pub fn looks(&self) -> &[LastLook] {
        &self.looks
    }

    /// The log of the chance of these bounds.
    pub fn log_chances(&self, theta: &[f64], effects: &[f64], bounds: &[usize]) -> Vec<f64> {
        let values = self.likelihood.of_edges(theta, effects, bounds).into_iter();
        // Rounding of the integral may leave a hair above one.
        values.map(|value| value.min(0.0)).collect()
    }

    /// The chance of these bounds, to some eight digits after the point: several times as quick as its log.
    pub fn chances(&self, theta: &[f64], effects: &[f64], bounds: &[usize]) -> Vec<f64> {
        let likelihood = &*self.likelihood;
        let common = likelihood.common(theta, Order::Value, Precision::Sampling);
        let columns = &likelihood.columns;
        let logs = columns.logs(bounds, &common.rates);
        let (mut work, mut rest) = (Workspace::default(), logs.as_slice());
        let mut eyes = Eyes::new(&common, bounds.len());
        let chance = |&bound: &usize| {
            let (own, others) = rest.split_at(columns.sums(bound));
            rest = others;
            let location = likelihood.location_of(bound, theta, effects);
            let look = self.bounds[bound].look;
            let seen = look.and_then(|look| eyes.chance(&look, own[look.age] - location));
            seen.unwrap_or_else(|| {
                let terms = &likelihood.edges[bound];
                let at = (&common, Precision::Sampling);
                of_terms(terms, at, own, location, &mut work).exp().min(1.0)
            })
        };
        bounds.iter().map(chance).collect()
    }

    /// For every bound the log of life over typical life of this very edge with which it would have been
    /// seen at exactly the bound, by an eye without error.
    pub fn log_lives(&self, theta: &[f64], effects: &[f64]) -> Vec<f64> {
        let bounds = self.bounds.iter();
        let ages = self
            .likelihood
            .log_ages(theta, effects, bounds.clone().map(|bound| bound.age));
        ages.into_iter()
            .zip(bounds)
            .map(|(age, bound)| age - bound.cut)
            .collect()
    }
}

/// The chance that an eye with log error `eye` sees a wear fraction below 1 on an edge of this age: `log_age`
/// is the log of its wear age over its typical life, `sigma` the spread of log life. Without an eye it is the
/// chance that the edge is not dull yet.
pub fn chance_going(
    settings: LikelihoodSettings,
    log_age: f64,
    sigma: f64,
    eye: Option<f64>,
) -> f64 {
    let LikelihoodSettings { family, anchor } = settings;
    let Some(eye) = eye else {
        return family.log_survival(log_age / sigma + anchor).exp();
    };
    let point = LocalPoint {
        ages: vec![log_age],
        sigma,
        eye,
        anchor,
    };
    let mut local = Local::zero(1, Order::Value);
    let looks = [(0, Glance::below(0.0))];
    looked_at(&mut local, &point, family, &looks, 1.0, Precision::Sampling);
    local.value.exp().min(1.0)
}
