//! When lives changed and by how much, if some edges changed from some edge on.

use super::FinishedEdge;
use crate::decisions::DecisionError;
use crate::numerics::lanes::{exp_each, log_sum_exp};
use crate::quantities::{Estimate, Level};
use rayon::prelude::*;
use std::ops::{Range, RangeInclusive};

/// Changes of the log of life are laid out so many steps of 2 % to either side (sevenfold).
const STEPS: usize = 100;
const STEP: f64 = 0.02;
const SIZE: usize = 2 * STEPS + 1;

/// A number for each change of the log of life.
pub(super) type OfChanges = [f64; SIZE];

/// Before anything is seen a change of the log of life is normal around none, with this spread: a third of
/// changes are more than twofold. Basis: judged. It holds back the estimate, which would be too large where it
/// is made only because a sum ran high (Srivastava and Wu, Statistica Sinica 9, 1999).
const SPREAD: f64 = std::f64::consts::LN_2;

/// Shares of a spread that come to less than this are left out.
const NEXT_TO_NONE: f64 = 1e-12;

/// Logs of likelihood beyond this are taken off no sum: what is left would have lost its last six digits.
const LARGE: f64 = 1e6;

/// Starts less likely than this share of the likeliest are left out of the shift's spread.
const UNLIKELY: f64 = 1e-3;

/// For every edge the log of how much likelier what was seen of it is after each change of the log of life.
pub(super) struct Shifts {
    log_prior: OfChanges,
    /// Edge by edge.
    log_ratios: Vec<OfChanges>,
    /// Over all edges that were not left out.
    total: OfChanges,
    /// Edge by edge, whether it was left out.
    left_out: Vec<bool>,
}

/// The posterior of a change: the same shift for some edges from a start on, another for all others.
pub(super) struct Change {
    /// The log of how likely all scores are, averaged over starts and shifts.
    pub log_evidence: f64,
    /// How likely each start is, from the first possible one on.
    pub starts: Vec<f64>,
    /// The share of each difference between the two shifts, in steps from twice the reach below zero.
    differences: Vec<f64>,
}

impl Shifts {
    pub fn new(edges: &[FinishedEdge]) -> Self {
        let shifts: OfChanges = std::array::from_fn(|i| STEP * (i as f64 - STEPS as f64));
        let weights = shifts.map(|shift| -0.5 * (shift / SPREAD).powi(2));
        let whole = log_sum_exp(&weights);
        let of_edge = |edge: &FinishedEdge| {
            let log_ratio = edge.together.log_ratios();
            shifts.map(|shift| log_ratio(shift / edge.log_life_per_score))
        };
        let log_ratios: Vec<OfChanges> = edges.par_iter().map(of_edge).collect();
        let mut total = [0.0; SIZE];
        log_ratios.iter().for_each(|edge| add(&mut total, edge));
        Self {
            log_prior: weights.map(|weight| weight - whole),
            total,
            left_out: vec![false; log_ratios.len()],
            log_ratios,
        }
    }

    /// Counts without these edges from now on, and with all others.
    pub fn leave_out(&mut self, places: impl IntoIterator<Item = usize>) {
        let mut left_out = vec![false; self.log_ratios.len()];
        for place in places {
            if let Some(left_out) = left_out.get_mut(place) {
                *left_out = true;
            }
        }
        let before = std::mem::replace(&mut self.left_out, left_out);
        let edges = self
            .log_ratios
            .iter()
            .zip(before.iter().zip(&self.left_out));
        let moved: Vec<(&OfChanges, bool)> = edges
            .filter(|(_, (before, now))| before != now)
            .map(|(edge, (_, now))| (edge, *now))
            .collect();
        // A sum over thousands of edges is not made anew for a few of them, unless one of those may have swallowed
        // the others.
        if 2 * moved.len() > before.len() || moved.iter().any(|(edge, _)| swallows(edge)) {
            self.total = [0.0; SIZE];
            let edges = self.log_ratios.iter().zip(&self.left_out);
            let counted = edges.filter(|(_, left_out)| !**left_out);
            counted.for_each(|(edge, _)| add(&mut self.total, edge));
            return;
        }
        for (edge, left_out) in moved {
            let sign = if left_out { -1.0 } else { 1.0 };
            let sums = self.total.iter_mut().zip(edge);
            sums.for_each(|(sum, ratio)| *sum += sign * ratio);
        }
    }

    /// If those of the edges up to `last` changed that `changed` names, from one of these starts on.
    pub fn change(
        &self,
        changed: impl Fn(usize) -> bool,
        starts: RangeInclusive<usize>,
        last: usize,
    ) -> Change {
        let logs = self.log_evidences(&changed, &starts, last);
        let weights = normalised(&logs);
        let likeliest = weights.iter().copied().fold(0.0, f64::max);
        let mut differences = vec![0.0; 2 * SIZE - 1];
        self.each_sum(&changed, &starts, last, |inside, alike| {
            let own = &weights[alike];
            if own.first().is_none_or(|own| *own < UNLIKELY * likeliest) {
                return;
            }
            let weight: f64 = own.iter().sum();
            let [inner, mut outer] = self.with_prior(inside).map(|logs| normalised(&logs));
            // The larger the other shift, the smaller the difference.
            outer.reverse();
            let (of_inner, of_outer) = (counted(&inner), counted(&outer));
            let outer = &outer[of_outer.clone()];
            for i in of_inner {
                let places = &mut differences[i + of_outer.start..i + of_outer.end];
                for (difference, outer) in places.iter_mut().zip(outer) {
                    *difference += weight * inner[i] * outer;
                }
            }
        });
        Change {
            log_evidence: log_mean(&logs),
            starts: weights,
            differences,
        }
    }

    /// The log of how likely all scores are then, averaged over starts and shifts.
    pub fn log_evidence(
        &self,
        changed: impl Fn(usize) -> bool,
        starts: RangeInclusive<usize>,
        last: usize,
    ) -> f64 {
        log_mean(&self.log_evidences(&changed, &starts, last))
    }

    /// The same for each start.
    fn log_evidences(
        &self,
        changed: &impl Fn(usize) -> bool,
        starts: &RangeInclusive<usize>,
        last: usize,
    ) -> Vec<f64> {
        let mut logs = vec![f64::NEG_INFINITY; starts.clone().count()];
        self.each_sum(changed, starts, last, |inside, alike| {
            logs[alike].fill(self.evidence(inside));
        });
        logs
    }

    /// The log of how likely all scores are, given the sum over the edges that changed.
    pub(super) fn evidence(&self, inside: &OfChanges) -> f64 {
        let logs = self.with_prior(inside);
        logs.iter().map(|logs| log_sum_exp(logs)).sum()
    }

    /// What an edge adds to the sum over those that changed, if it counts at all.
    pub(super) fn ratios(
        &self,
        changed: &impl Fn(usize) -> bool,
        edge: usize,
    ) -> Option<&OfChanges> {
        let counts = changed(edge) && self.left_out.get(edge) == Some(&false);
        self.log_ratios.get(edge).filter(|_| counts)
    }

    /// Tells the sums over the edges up to `last` that changed, from the latest start back to the earliest, each with
    /// the starts that have it in common, counted from the first: a fleet has many edges between two of one machine.
    pub(super) fn each_sum(
        &self,
        changed: &impl Fn(usize) -> bool,
        starts: &RangeInclusive<usize>,
        last: usize,
        mut tell: impl FnMut(&OfChanges, Range<usize>),
    ) {
        let first = *starts.start();
        let mut inside = [0.0; SIZE];
        // The starts before this one are not told yet.
        let mut untold = (*starts.end()).min(last) + 1;
        for edge in (first..=last).rev() {
            if let Some(ratios) = self.ratios(changed, edge) {
                if edge + 1 < untold {
                    tell(&inside, edge + 1 - first..untold - first);
                    untold = edge + 1;
                }
                add(&mut inside, ratios);
            }
        }
        if first < untold {
            tell(&inside, 0..untold - first);
        }
    }

    /// The logs of both shifts' likelihood and prior: of the edges that changed, and of all others.
    fn with_prior(&self, inside: &OfChanges) -> [OfChanges; 2] {
        let prior = &self.log_prior;
        [
            std::array::from_fn(|i| inside[i] + prior[i]),
            std::array::from_fn(|i| self.total[i] - inside[i] + prior[i]),
        ]
    }
}

impl Change {
    /// How long the changed edges last over how long the others do.
    pub fn ratio(&self, level: Level) -> Result<Estimate<f64>, DecisionError> {
        let at = |share: f64| {
            let place = place_at(&self.differences, share).ok_or(DecisionError::NoDraws)?;
            Ok::<_, DecisionError>((STEP * (place - 2.0 * STEPS as f64)).exp())
        };
        Ok(Estimate {
            point: at(0.5)?,
            lower: at(level.tail())?,
            upper: at(1.0 - level.tail())?,
            level,
        })
    }

    /// The starts between which the change lies, counted from the first possible one, widened where they would
    /// not hold `point`.
    pub fn start(&self, point: usize, level: Level) -> Estimate<usize> {
        let at = |share: f64| {
            place_at(&self.starts, share).map_or(point, |place| place.round() as usize)
        };
        Estimate {
            point,
            lower: at(level.tail()).min(point),
            upper: at(1.0 - level.tail()).max(point),
            level,
        }
    }
}

/// Where so much of the weights lies below, a straight line within each; weights stand at whole places.
fn place_at(weights: &[f64], share: f64) -> Option<f64> {
    let whole: f64 = weights.iter().sum();
    let mut below = 0.0;
    for (place, weight) in weights.iter().enumerate() {
        if *weight > 0.0 && below + weight >= share * whole {
            return Some(place as f64 - 0.5 + (share * whole - below) / weight);
        }
        below += weight;
    }
    None
}

/// Whether others in a sum with these may be lost.
fn swallows(ratios: &OfChanges) -> bool {
    !ratios.iter().all(|ratio| ratio.abs() < LARGE)
}

/// Where the shares stand that are worth counting.
fn counted(shares: &[f64]) -> Range<usize> {
    let counts = |share: &f64| *share > NEXT_TO_NONE;
    let first = shares.iter().position(counts).unwrap_or(0);
    first
        ..shares
            .iter()
            .rposition(counts)
            .map_or(first, |last| last + 1)
}

pub(super) fn add(sum: &mut OfChanges, more: &OfChanges) {
    sum.iter_mut()
        .zip(more)
        .for_each(|(sum, more)| *sum += more);
}

pub(super) fn log_mean(logs: &[f64]) -> f64 {
    log_sum_exp(logs) - (logs.len() as f64).ln()
}

/// Weights that add up to one, from their logs.
pub(super) fn normalised(logs: &[f64]) -> Vec<f64> {
    let whole = log_sum_exp(logs);
    let mut weights: Vec<f64> = logs.iter().map(|log| log - whole).collect();
    exp_each(&mut weights);
    weights
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decisions::ScoreSpan;
    use approx::assert_abs_diff_eq;

    const SCALE: f64 = 0.4;

    fn edges(spans: &[ScoreSpan]) -> Shifts {
        let edge = |span: &ScoreSpan| FinishedEdge {
            ahead: *span,
            together: *span,
            log_life_per_score: SCALE,
            rough: false,
            levels: Vec::new(),
        };
        Shifts::new(&spans.iter().map(edge).collect::<Vec<_>>())
    }

    /// Twenty scores around 0, then twenty around -1.5.
    fn spans() -> Vec<ScoreSpan> {
        let even =
            |i: u32| crate::numerics::normal::quantile((f64::from((7 * i) % 20) + 0.5) / 20.0);
        let before = (0..20).map(even);
        let since = (0..20).map(|i| even(i) - 1.5);
        before.chain(since).map(ScoreSpan::at).collect()
    }

    /// With the start known the two shifts are normal by conjugacy: means `n x / (n + 1 / s^2)`, variances
    /// `1 / (n + 1 / s^2)` for `n` scores of mean `x` and prior spread `s`.
    #[test]
    fn with_a_known_start_the_ratio_is_that_of_conjugate_normal_laws() {
        let shifts = edges(&spans());
        let change = shifts.change(|_| true, 20..=20, 39);
        let ratio = change.ratio(Level::NINETY).unwrap().map(f64::ln);
        let precision = 20.0 + (SCALE / SPREAD).powi(2);
        let (mean, spread) = (-1.5 * 20.0 / precision, (2.0 / precision).sqrt());
        // Half a step of the grid.
        assert_abs_diff_eq!(ratio.point, SCALE * mean, epsilon = 0.01);
        let reach = 1.644_853_6 * spread;
        assert_abs_diff_eq!(ratio.lower, SCALE * (mean - reach), epsilon = 0.01);
        assert_abs_diff_eq!(ratio.upper, SCALE * (mean + reach), epsilon = 0.01);
        assert!(ratio.lower < ratio.point && ratio.point < ratio.upper);
    }

    #[test]
    fn edges_left_out_and_put_back_leave_the_sum_as_it_was() {
        let mut spans = spans();
        // One so far off that its likelihood swallows those of the others.
        spans[7] = ScoreSpan::at(1e9);
        let mut shifts = edges(&spans);
        for places in [
            vec![3, 30],
            vec![7],
            vec![7, 12, 13],
            (0..25).collect(),
            vec![],
        ] {
            shifts.leave_out(places.iter().copied());
            let counted = shifts.log_ratios.iter().enumerate();
            let counted = counted.filter(|(place, _)| !places.contains(place));
            let mut fresh = [0.0; SIZE];
            counted.for_each(|(_, edge)| add(&mut fresh, edge));
            for (sum, fresh) in shifts.total.iter().zip(fresh) {
                assert_abs_diff_eq!(*sum, fresh, epsilon = 1e-12 * (100.0 + fresh.abs()));
            }
        }
    }

    #[test]
    fn the_start_is_found_and_bounded() {
        let change = edges(&spans()).change(|_| true, 0..=35, 39);
        let likeliest = change
            .starts
            .iter()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(b.1));
        let (likeliest, _) = likeliest.unwrap();
        assert!((18..=22).contains(&likeliest), "{likeliest}");
        let start = change.start(20, Level::NINETY);
        assert!(start.lower <= 20 && 20 <= start.upper && start.upper - start.lower < 12);
    }

    #[test]
    fn edges_that_did_not_change_speak_against_all() {
        let every_second = |spans: &[ScoreSpan]| -> Vec<ScoreSpan> {
            let moved = |(i, span): (usize, &ScoreSpan)| match (i, i % 2) {
                (20.., 0) => ScoreSpan::at(span.low + 1.5),
                _ => *span,
            };
            spans.iter().enumerate().map(moved).collect()
        };
        let shifts = edges(&every_second(&spans()));
        let all = shifts.change(|_| true, 0..=39, 39).log_evidence;
        let odd = shifts.change(|edge| edge % 2 == 1, 0..=39, 39).log_evidence;
        let even = shifts.change(|edge| edge % 2 == 0, 0..=39, 39).log_evidence;
        assert!(odd > all + 2.0 && odd > even + 2.0, "{odd} {all} {even}");
    }
}
