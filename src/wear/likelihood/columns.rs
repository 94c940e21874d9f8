//! Edges side by side, each column of them in one piece: what draws ask of all edges by the thousand.

use super::EdgeTerms;
use super::one_look::OneLook;
use crate::numerics::lanes::ln_each;
use crate::wear::wear_sum::{Rates, log_from, over_fastest, shares};
use std::ops::Range;

/// What a value needs of edges that are known through one look; the rest stands in their terms.
#[derive(Debug, Clone, Default)]
pub struct EdgeColumns {
    /// Row and hours of all parts of all wear sums.
    parts: Vec<(usize, f64)>,
    /// Where each sum's parts end.
    part_ends: Vec<usize>,
    /// Covariates of life, edge by edge.
    features: Vec<f64>,
    /// Group effects, edge by edge.
    effects: Vec<usize>,
    edges: Vec<EdgeRow>,
}

/// One edge's places in the columns.
#[derive(Debug, Clone)]
struct EdgeRow {
    sums: Range<usize>,
    features: Range<usize>,
    effects: Range<usize>,
    weight: f64,
    look: Option<OneLook>,
}

impl EdgeColumns {
    pub fn of(edges: &[EdgeTerms]) -> Self {
        let mut all = Self::default();
        for edge in edges {
            let first = (all.part_ends.len(), all.features.len(), all.effects.len());
            for sum in &edge.sums {
                all.parts.extend_from_slice(sum.parts());
                all.part_ends.push(all.parts.len());
            }
            all.features.extend_from_slice(&edge.features);
            all.effects.extend_from_slice(&edge.effects);
            all.edges.push(EdgeRow {
                sums: first.0..all.part_ends.len(),
                features: first.1..all.features.len(),
                effects: first.2..all.effects.len(),
                weight: edge.weight,
                look: OneLook::of(&edge.terms),
            });
        }
        all
    }

    /// The logs of the wear sums of these edges, one after another.
    pub fn logs(&self, edges: &[usize], rates: &Rates) -> Vec<f64> {
        let sums = edges.iter().flat_map(|&edge| self.edges[edge].sums.clone());
        self.logs_of(sums, rates)
    }

    /// The logs of all wear sums.
    pub fn all_logs(&self, rates: &Rates) -> Vec<f64> {
        self.logs_of(0..self.part_ends.len(), rates)
    }

    fn logs_of(&self, sums: impl Iterator<Item = usize> + Clone, rates: &Rates) -> Vec<f64> {
        let own = sums.clone();
        let mut logs: Vec<f64> = own
            .map(|sum| over_fastest(self.parts_of(sum), rates))
            .collect();
        ln_each(&mut logs);
        for (log, sum) in logs.iter_mut().zip(sums) {
            *log = log_from(*log, self.parts_of(sum), rates);
        }
        logs
    }

    /// From slopes by the logs of all wear sums to slopes by the log rates of the rows that they hold.
    pub fn by_log_rate(&self, by_sum: &[f64], logs: &[f64], rates: &Rates) -> Vec<f64> {
        let mut by_row = rates.zeros();
        for (sum, (slope, log)) in by_sum.iter().zip(logs).enumerate() {
            for (row, share) in shares(self.parts_of(sum), rates, *log) {
                by_row[row] += slope * share;
            }
        }
        by_row
    }

    /// The edges with their covariates of life and their group effects.
    pub fn shifts(&self) -> impl Iterator<Item = (&[f64], &[usize])> {
        self.edges.iter().map(|edge| {
            let features = &self.features[edge.features.clone()];
            (features, &self.effects[edge.effects.clone()])
        })
    }

    fn parts_of(&self, sum: usize) -> &[(usize, f64)] {
        let start = if sum == 0 { 0 } else { self.part_ends[sum - 1] };
        &self.parts[start..self.part_ends[sum]]
    }

    /// How many wear sums an edge has.
    pub fn sums(&self, edge: usize) -> usize {
        self.edges[edge].sums.len()
    }

    /// What the covariates of life add to the log of an edge's typical life, with these coefficients.
    pub fn shift_of_features(&self, edge: usize, gamma: &[f64]) -> f64 {
        let features = &self.features[self.edges[edge].features.clone()];
        features.iter().zip(gamma).map(|(z, g)| z * g).sum()
    }

    /// What group effects add to it.
    pub fn shift_of_groups(&self, edge: usize, effects: &[f64]) -> f64 {
        let own = &self.effects[self.edges[edge].effects.clone()];
        own.iter().map(|&effect| effects[effect]).sum()
    }

    /// How many times an edge was seen.
    pub fn weight(&self, edge: usize) -> f64 {
        self.edges[edge].weight
    }

    /// The look through which alone an edge is known.
    pub fn look(&self, edge: usize) -> Option<&OneLook> {
        self.edges[edge].look.as_ref()
    }
}
