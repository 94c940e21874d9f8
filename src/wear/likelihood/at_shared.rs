//! The likelihood edge by edge at one point of what all edges share, for as many sets of group effects as are wanted:
//! wear sums hang on none of those.

use super::{Common, EdgeTerms, Likelihood, Order, Workspace, of_terms, shift_of_groups};
use crate::numerics::lanes::ln_each;
use crate::wear::life_nodes::Precision;

/// Some edges at one point, to the precision that sampling needs.
pub struct AtShared<'a> {
    common: Common<'a>,
    /// Each with the log of its typical life but for its groups.
    edges: Vec<(&'a EdgeTerms, f64)>,
    /// The logs of all wear sums, edge by edge.
    logs: Vec<f64>,
}

impl Likelihood {
    /// All edges at one point.
    pub fn at_shared<'a>(&'a self, theta: &'a [f64]) -> AtShared<'a> {
        AtShared::new(self, theta, self.edges.iter())
    }
}

impl<'a> AtShared<'a> {
    /// Some edges of a likelihood.
    pub(super) fn new(
        likelihood: &'a Likelihood,
        theta: &'a [f64],
        edges: impl Iterator<Item = &'a EdgeTerms>,
    ) -> Self {
        let common = likelihood.common(theta, Order::Value, Precision::Sampling);
        let located = edges.map(|edge| (edge, likelihood.shared_location(edge, theta)));
        let edges: Vec<(&EdgeTerms, f64)> = located.collect();
        let count = edges.iter().map(|(edge, _)| edge.sums.len()).sum();
        let mut logs: Vec<f64> = Vec::with_capacity(count);
        for (edge, _) in &edges {
            let sums = edge.sums.iter();
            logs.extend(sums.map(|sum| sum.over_fastest(&common.rates)));
        }
        ln_each(&mut logs);
        let sums = edges.iter().flat_map(|(edge, _)| &edge.sums);
        for (log, sum) in logs.iter_mut().zip(sums) {
            *log = sum.log_from(*log, &common.rates);
        }
        Self {
            common,
            edges,
            logs,
        }
    }

    /// Each edge's log-likelihood, groups having these effects and the log of typical life being longer by `longer`.
    pub fn values<'b>(&'b self, effects: &'b [f64], longer: f64) -> impl Iterator<Item = f64> + 'b {
        let mut work = Workspace::default();
        let mut logs = self.logs.as_slice();
        self.edges.iter().map(move |(edge, location)| {
            let (own, rest) = logs.split_at(edge.sums.len());
            logs = rest;
            let location = location + shift_of_groups(edge, effects) + longer;
            edge.weight * of_terms(edge, &self.common, own, location, &mut work)
        })
    }
}
