//! Wear hours as a function of the wear-rate coefficients.
//!
//! ```text
//! u(beta) = sum over rows of hours x exp(row . beta)
//! ```
//!
//! The likelihood sees only `ln u`. Its gradient is the mean of the covariate rows weighted by their
//! wear, its Hessian their weighted covariance.

use super::covariate_rows::{CovariateRows, Rates};
use super::likelihood::Order;

/// Hours by covariate row; at least one row with hours above zero.
#[derive(Debug, Clone, PartialEq)]
pub struct WearSum {
    parts: Vec<(usize, f64)>,
}

/// Value and derivatives of the log of a [`WearSum`].
#[derive(Debug, Clone, Default)]
pub struct WearSumAt {
    /// `ln u`.
    pub value: f64,
    /// `d ln u / d beta`.
    pub mean: Vec<f64>,
    /// Second derivatives, row by row.
    pub covariance: Vec<f64>,
}

impl WearSum {
    /// Gathers hours by row, in order of row; `None` where there are no hours at all.
    pub fn new(parts: impl IntoIterator<Item = (usize, f64)>) -> Option<Self> {
        let mut gathered: Vec<(usize, f64)> = Vec::new();
        for (row, hours) in parts.into_iter().filter(|(_, hours)| *hours > 0.0) {
            match gathered.iter_mut().find(|(known, _)| *known == row) {
                Some((_, sum)) => *sum += hours,
                None => gathered.push((row, hours)),
            }
        }
        gathered.sort_unstable_by_key(|(row, _)| *row);
        (!gathered.is_empty()).then_some(Self { parts: gathered })
    }

    /// The same, to be numbered anew.
    pub(super) fn parts_mut(&mut self) -> &mut [(usize, f64)] {
        &mut self.parts
    }

    /// Hours by covariate row.
    pub fn parts(&self) -> &[(usize, f64)] {
        &self.parts
    }

    /// Evaluates the log of the sum into `at`, up to the derivatives asked for.
    pub fn evaluate(&self, rows: &CovariateRows, rates: &Rates, order: Order, at: &mut WearSumAt) {
        at.value = log_from(over_fastest(&self.parts, rates).ln(), &self.parts, rates);
        if order >= Order::Gradient {
            self.differentiate(rows, rates, at);
        }
        if order >= Order::Hessian {
            self.differentiate_twice(rows, rates, at);
        }
    }

    fn differentiate(&self, rows: &CovariateRows, rates: &Rates, at: &mut WearSumAt) {
        at.mean.clear();
        at.mean.resize(rows.columns(), 0.0);
        for (row, share) in shares(&self.parts, rates, at.value) {
            for &(column, x) in rows.row(row) {
                at.mean[column] += share * x;
            }
        }
    }

    /// The mean square of the rows less the square of their mean: rows hold few numbers that are not zero.
    fn differentiate_twice(&self, rows: &CovariateRows, rates: &Rates, at: &mut WearSumAt) {
        let columns = rows.columns();
        at.covariance.clear();
        for mean in &at.mean {
            at.covariance
                .extend(at.mean.iter().map(|other| -mean * other));
        }
        for (row, share) in shares(&self.parts, rates, at.value) {
            let row = rows.row(row);
            for &(own, x) in row {
                let cells = &mut at.covariance[own * columns..][..columns];
                for &(column, other) in row {
                    cells[column] += share * x * other;
                }
            }
        }
    }
}

/// Each part's row with its share of the wear, whose log is `log`.
fn shares<'a>(
    parts: &'a [(usize, f64)],
    rates: &'a Rates,
    log: f64,
) -> impl Iterator<Item = (usize, f64)> + 'a {
    // The fastest row's wear over the whole: too small for a number only where no part is near it.
    let whole = (rates.log_fastest - log).exp();
    parts.iter().map(move |&(row, hours)| {
        let share = if whole.is_finite() {
            hours * rates.shares[row] * whole
        } else {
            hours * (rates.log_rates[row] - log).exp()
        };
        (row, share)
    })
}

/// The wear of hours by row over the rate of the fastest row.
fn over_fastest(parts: &[(usize, f64)], rates: &Rates) -> f64 {
    let parts = parts.iter();
    parts.map(|&(row, hours)| hours * rates.shares[row]).sum()
}

/// The log of the wear, from that of its wear over the rate of the fastest row.
pub fn log_from(log: f64, parts: &[(usize, f64)], rates: &Rates) -> f64 {
    if log >= f64::MIN_POSITIVE.ln() || log.is_nan() {
        return rates.log_fastest + log;
    }
    // Every row wears so much more slowly than the fastest that the shares have run out of digits.
    let own = |&(row, _): &(usize, f64)| rates.log_rates[row];
    let log_unit = parts.iter().map(own).fold(f64::NEG_INFINITY, f64::max);
    let parts = parts.iter();
    let sum: f64 = parts
        .map(|part| part.1 * (own(part) - log_unit).exp())
        .sum();
    log_unit + sum.ln()
}
