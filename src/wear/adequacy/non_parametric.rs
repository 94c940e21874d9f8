//! The nonparametric maximum-likelihood estimate of the law of life.

use super::AdequacyError;
use super::cells::{Cell, Cells};
use super::hazards::Hazards;
use crate::wear::Lifetime;

/// A share of all lives that ended within `(from, to]`, or at the age `from == to`; where within, the
/// data do not say. `to` is infinite for the share that nobody saw the end of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Age, in the unit of the lives.
    pub from: f64,
    /// Age, in the unit of the lives.
    pub to: f64,
    /// Share of all lives.
    pub mass: f64,
}

/// Turnbull's estimate of the law of life from exact, right-, left- and interval-censored lives, each
/// perhaps in view only from some age on. With exact and right-censored lives it is the estimate of
/// Kaplan and Meier (1958), with late entry the product limit.
///
/// Ages mean what they mean in [`Lifetime`]: a life ended within `(lower, upper]`; one that came into
/// view at `entry` ended after it, and one still going at an age where others ended outlasted them.
/// Without late entry the masses add up to one. Two sets of masses may be equally likely where only
/// intervals are known; then this is one of them.
///
/// Sources: Turnbull, Journal of the Royal Statistical Society B 38, 1976; Frydman, same journal 56,
/// 1994, for late entry.
#[derive(Debug, Clone, PartialEq)]
pub struct NonParametric {
    steps: Vec<Step>,
    /// Survival after each step.
    survival: Vec<f64>,
    /// Greenwood's sum after each step, where every life that ended did so in one cell.
    greenwood: Option<Vec<f64>>,
    log_likelihood: f64,
    off: f64,
    emptied_at: Option<f64>,
}

impl NonParametric {
    /// The estimate for these lives. Lives with weight zero, and lives last seen no later than they
    /// came into view, do not count. Where no life was seen to end, survival is 1 as far as was looked.
    ///
    /// # Errors
    ///
    /// [`AdequacyError::Life`] for numbers that cannot be ages, [`AdequacyError::NothingCounts`] where
    /// no life is left, [`AdequacyError::NotSettled`] if the conditions of a maximum are not met to
    /// 1e-8.
    pub fn new(lives: &[Lifetime]) -> Result<Self, AdequacyError> {
        let cells = Cells::new(lives)?;
        let hazards = Hazards::new(&cells)?;
        let mut estimate = Self {
            steps: Vec::new(),
            survival: Vec::new(),
            greenwood: greenwood(&cells, &hazards),
            log_likelihood: hazards.log_likelihood,
            off: hazards.off,
            emptied_at: None,
        };
        let mut survival = 1.0;
        for (cell, hazard) in cells.cells.iter().zip(&hazards.by_cell) {
            if *hazard > 0.0 {
                estimate.push(cell, survival * -(-hazard).exp_m1());
                survival *= (-hazard).exp();
                estimate.survival.push(survival);
            }
            if *hazard == f64::INFINITY && estimate.emptied_at.is_none() {
                estimate.emptied_at = (cells.last_start > cell.to).then_some(cell.to);
            }
        }
        if survival > 0.0 {
            let rest = Cell {
                from: cells.last_going,
                to: f64::INFINITY,
            };
            estimate.push(&rest, survival);
            estimate.survival.push(0.0);
        }
        Ok(estimate)
    }

    fn push(&mut self, cell: &Cell, mass: f64) {
        self.steps.push(Step {
            from: cell.from,
            to: cell.to,
            mass,
        });
    }

    /// Where lives ended, in rising order; the last one may have no end. A step of mass zero follows
    /// only where the risk set ran empty: see [`NonParametric::emptied_at`].
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Survival just before and just after step `i`.
    pub(super) fn around(&self, i: usize) -> (f64, f64) {
        let before = i.checked_sub(1).map_or(1.0, |before| self.survival[before]);
        (before, self.survival[i])
    }

    /// The share of lives longer than `age`, as its lowest and its highest value: they differ only
    /// within a step, where the data leave open how the mass lies.
    pub fn survival(&self, age: f64) -> (f64, f64) {
        let done = self.steps.partition_point(|step| step.to <= age);
        let high = done.checked_sub(1).map_or(1.0, |last| self.survival[last]);
        match self.steps.get(done) {
            Some(step) if step.from < age => (self.survival[done], high),
            _ => (high, high),
        }
    }

    /// Standard error of the survival at `age` (Greenwood, 1926), with weights as counts of lives.
    /// `None` within a step, where survival is zero, and where some life is known only to have ended
    /// in one of several steps: no standard error is settled there.
    pub fn standard_error(&self, age: f64) -> Option<f64> {
        let (low, high) = self.survival(age);
        let done = self.steps.partition_point(|step| step.to <= age);
        let sum = match done.checked_sub(1) {
            Some(last) => *self.greenwood.as_ref()?.get(last)?,
            None => self.greenwood.as_ref().map(|_| 0.0)?,
        };
        (low == high && high > 0.0).then(|| high * sum.sqrt())
    }

    /// Greenwood's sum after each step that leaves some survival.
    pub(super) fn greenwood(&self) -> Option<&[f64]> {
        self.greenwood.as_deref()
    }

    /// The log-likelihood at its maximum. Exact lives count with the mass at their age.
    pub fn log_likelihood(&self) -> f64 {
        self.log_likelihood
    }

    /// How far the Kuhn-Tucker conditions of the maximum are missed, as a share of all lives; never
    /// above 1e-8. Source: Gentleman and Geyer, Biometrika 81, 1994.
    pub fn off_maximum(&self) -> f64 {
        self.off
    }

    /// With late entry all lives in view may have ended before others come into view. The product
    /// limit is then zero from this age on and tells nothing of later ages.
    pub fn emptied_at(&self) -> Option<f64> {
        self.emptied_at
    }
}

/// `sum d / (n (n - d))` over the steps with mass, `n` in view and `d` ended, where every life that
/// ended did so in one cell; it stops before a step that leaves no survival.
fn greenwood(cells: &Cells, hazards: &Hazards) -> Option<Vec<f64>> {
    if cells.ended.iter().any(|row| row.first != row.last) {
        return None;
    }
    let mut sum = 0.0;
    let mut sums = Vec::new();
    for row in &cells.ended {
        if hazards.by_cell[row.first] == f64::INFINITY {
            break;
        }
        let outlasted = cells.passed[row.first];
        sum += row.weight / (outlasted * (outlasted + row.weight));
        sums.push(sum);
    }
    Some(sums)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn life(lower: f64, upper: f64, entry: f64) -> Lifetime {
        Lifetime {
            lower,
            upper,
            weight: 1.0,
            entry,
        }
    }

    fn estimate(lives: &[(f64, f64, f64)]) -> NonParametric {
        let lives: Vec<Lifetime> = lives.iter().map(|(l, u, e)| life(*l, *u, *e)).collect();
        NonParametric::new(&lives).expect("an estimate")
    }

    const NOT_SEEN: f64 = f64::INFINITY;

    #[test]
    fn nothing_ended_is_survival_one_as_far_as_was_looked() {
        let estimate = estimate(&[(3.0, NOT_SEEN, 0.0), (7.0, NOT_SEEN, 0.0)]);
        assert_eq!(estimate.survival(7.0), (1.0, 1.0));
        assert_eq!(estimate.survival(7.1), (0.0, 1.0));
        assert_eq!(estimate.standard_error(5.0), Some(0.0));
        assert_eq!(estimate.log_likelihood(), 0.0);
    }

    #[test]
    fn one_exact_life_is_one_step() {
        let estimate = estimate(&[(3.0, 3.0, 0.0)]);
        assert_eq!(estimate.survival(2.9), (1.0, 1.0));
        assert_eq!(estimate.survival(3.0), (0.0, 0.0));
        assert_eq!(estimate.emptied_at(), None);
        assert_eq!(estimate.standard_error(3.0), None);
    }

    #[test]
    fn current_status_is_the_pooled_share_of_isotonic_regression() {
        // Looks at 1, 2, 3, 4 of which ended: yes, no, yes, yes. Pooled by hand: 1/2, 1/2, 1, 1
        // (Ayer and others, Annals of Mathematical Statistics 26, 1955).
        let rows = [
            (0.0, 1.0, 0.0),
            (2.0, NOT_SEEN, 0.0),
            (0.0, 3.0, 0.0),
            (0.0, 4.0, 0.0),
        ];
        let estimate = estimate(&rows);
        assert_relative_eq!(estimate.survival(1.0).1, 0.5, epsilon = 1e-10);
        assert_relative_eq!(estimate.survival(2.0).0, 0.5, epsilon = 1e-10);
        assert_relative_eq!(estimate.survival(3.0).1, 0.0, epsilon = 1e-10);
        assert_eq!(estimate.standard_error(1.0), None);
    }

    #[test]
    fn a_risk_set_that_runs_empty_is_told() {
        let estimate = estimate(&[(3.0, 3.0, 0.0), (6.0, 6.0, 5.0), (8.0, NOT_SEEN, 5.0)]);
        assert_eq!(estimate.emptied_at(), Some(3.0));
        assert_eq!(estimate.survival(4.0), (0.0, 0.0));
        // Conditional on each entry the likelihood is still 1 (all in view) times 1/2 times 1/2.
        assert_relative_eq!(estimate.log_likelihood(), 0.25_f64.ln(), epsilon = 1e-14);
    }

    #[test]
    fn a_life_last_seen_at_its_entry_changes_nothing() {
        let told = [(3.0, 3.0, 0.0), (4.0, 4.0, 0.0), (2.0, 9.0, 1.0)];
        let mut with = told.to_vec();
        with.push((2.5, NOT_SEEN, 2.5));
        assert_eq!(estimate(&told), estimate(&with));
    }

    #[test]
    fn rows_that_cannot_be_are_refused() {
        let refused = |l, u, e| NonParametric::new(&[life(1.0, 2.0, 0.0), life(l, u, e)]);
        for (l, u, e) in [
            (f64::NAN, 2.0, 0.0),
            (-1.0, 2.0, 0.0),
            (3.0, 2.0, 0.0),
            (0.0, 0.0, 0.0),
            (1.0, 2.0, 2.0),
            (1.0, f64::NAN, 0.0),
            (f64::INFINITY, f64::INFINITY, 0.0),
        ] {
            let error = refused(l, u, e).expect_err("a refusal");
            assert!(
                matches!(error, AdequacyError::Life { row: 1, .. }),
                "{error}"
            );
        }
        assert_eq!(NonParametric::new(&[]), Err(AdequacyError::NothingCounts));
    }
}
