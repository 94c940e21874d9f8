//! Edges side by side, each column of them in one piece: what draws ask of all edges by the thousand.

use super::EdgeTerms;
use super::one_look::OneLook;
use crate::numerics::lanes::{self, LANES, exp_each, ln_each};
use crate::wear::covariate_rows::Rates;
use crate::wear::wear_sum::log_from;
use std::ops::Range;

/// Parts are taken so many at a time: to guess where each of many short sums ends costs more than to add them.
const STEP: usize = 4;
/// Logs up to this leave room for hours and slopes before their product is no number.
const LARGEST: f64 = 600.0;

/// What a value needs of edges that are known through one look; the rest stands in their terms.
#[derive(Debug, Clone, Default)]
pub struct EdgeColumns {
    /// Row and hours of all parts of all wear sums, each sum filled up to whole steps with no hours in its last row.
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
                all.push(sum.parts());
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

    fn push(&mut self, parts: &[(usize, f64)]) {
        self.parts.extend_from_slice(parts);
        let missing = parts.len().next_multiple_of(STEP) - parts.len();
        let filler = parts.last().map(|(row, _)| (*row, 0.0));
        let filler = filler.into_iter().cycle();
        self.parts.extend(filler.take(missing));
        self.part_ends.push(self.parts.len());
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

    /// The same at each of several points, which are added up side by side.
    pub fn all_logs_at_each(&self, points: &[&Rates]) -> Vec<Vec<f64>> {
        let together = points.chunks(LANES).map(|points| match points {
            [alone] => vec![self.all_logs(alone)],
            points => self.logs_side_by_side(points),
        });
        together.flatten().collect()
    }

    /// At up to [`LANES`] points with the same rows.
    fn logs_side_by_side(&self, points: &[&Rates]) -> Vec<Vec<f64>> {
        let mut shares = vec![[0.0; LANES]; points[0].shares.len()];
        for (lane, point) in points.iter().enumerate() {
            let rows = shares.iter_mut().zip(&point.shares);
            rows.for_each(|(row, share)| row[lane] = *share);
        }
        let mut sums = vec![[0.0; LANES]; self.part_ends.len()];
        lanes::run(SideBySide {
            columns: self,
            shares: &shares,
            sums: &mut sums,
        });
        let own = |(lane, rates): (usize, &&Rates)| {
            let sums = sums.iter().map(|sum| sum[lane]).collect();
            self.logs_from(sums, 0..self.part_ends.len(), rates)
        };
        points.iter().enumerate().map(own).collect()
    }

    fn logs_of(&self, sums: impl Iterator<Item = usize> + Clone, rates: &Rates) -> Vec<f64> {
        let own = sums.clone();
        let shares = own.map(|sum| by_steps(self.parts_of(sum), rates));
        self.logs_from(shares.collect(), sums, rates)
    }

    /// From wear over the rate of the fastest row.
    fn logs_from(
        &self,
        mut logs: Vec<f64>,
        sums: impl Iterator<Item = usize>,
        rates: &Rates,
    ) -> Vec<f64> {
        ln_each(&mut logs);
        for (log, sum) in logs.iter_mut().zip(sums) {
            *log = log_from(*log, self.parts_of(sum), rates);
        }
        logs
    }

    /// From slopes by the logs of all wear sums to slopes by the log rates of the rows that they hold.
    pub fn by_log_rate(&self, by_sum: &[f64], logs: &[f64], rates: &Rates) -> Vec<f64> {
        let mut by_row = rates.zeros();
        // The fastest row's wear over the whole: no number only where no part is near it.
        let mut whole: Vec<f64> = logs.iter().map(|log| rates.log_fastest - log).collect();
        if whole.iter().all(|log| *log < LARGEST) {
            exp_each(&mut whole);
            for (sum, (slope, whole)) in by_sum.iter().zip(&whole).enumerate() {
                let unit = slope * whole;
                for step in self.parts_of(sum).chunks_exact(STEP) {
                    for &(row, hours) in step {
                        by_row[row] += unit * hours;
                    }
                }
            }
            by_row
                .iter_mut()
                .zip(&rates.shares)
                .for_each(|(slope, share)| *slope *= share);
            return by_row;
        }
        for (sum, (slope, log)) in by_sum.iter().zip(logs).enumerate() {
            for &(row, hours) in self.parts_of(sum) {
                by_row[row] += slope * hours * (rates.log_rates[row] - log).exp();
            }
        }
        by_row
    }

    /// The log of each edge's typical life, from that of all, coefficients of its covariates and group effects.
    pub fn locations(&self, of_all: f64, gamma: &[f64], effects: &[f64]) -> Vec<f64> {
        let location = |(features, groups): (&[f64], &[usize])| {
            let features: f64 = features.iter().zip(gamma).map(|(z, g)| z * g).sum();
            let groups: f64 = groups.iter().map(|&effect| effects[effect]).sum();
            of_all + features + groups
        };
        self.shifts().map(location).collect()
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

/// The wear of all sums at several points, over the rate of each one's fastest row.
struct SideBySide<'a> {
    columns: &'a EdgeColumns,
    /// Each row's rate over the fastest's, point by point.
    shares: &'a [[f64; LANES]],
    sums: &'a mut [[f64; LANES]],
}

impl lanes::Fusing for SideBySide<'_> {
    #[inline(always)]
    fn run<const FUSED: bool>(self) {
        let mut start = 0;
        for (sum, &end) in self.sums.iter_mut().zip(&self.columns.part_ends) {
            let mut own = [0.0; LANES];
            for &(row, hours) in &self.columns.parts[start..end] {
                let shares = self.shares[row];
                for lane in 0..LANES {
                    own[lane] += hours * shares[lane];
                }
            }
            *sum = own;
            start = end;
        }
    }
}

/// The wear of whole steps of hours by row over the rate of the fastest row.
fn by_steps(parts: &[(usize, f64)], rates: &Rates) -> f64 {
    let mut sum = 0.0;
    for step in parts.chunks_exact(STEP) {
        for &(row, hours) in step {
            sum += hours * rates.shares[row];
        }
    }
    sum
}
