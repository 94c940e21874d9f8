//! The most likely hazards of the cells.
//!
//! Let `g_k >= 0` be the cumulative hazard of cell `k`. A life that outlasted cells adds minus their
//! hazards to the log-likelihood; one that ended in a run of cells adds `ln(1 - exp(-x))`, `x` being
//! the sum of the run. Late entry only takes cells out of the first sum:
//!
//! ```text
//! l(g) = - sum_k passed_k g_k + sum_i weight_i ln(1 - exp(-x_i))
//! ```
//!
//! Each term is concave, so that any point that meets the Kuhn-Tucker conditions is a maximum, late
//! entry or not (in the masses themselves that fails with late entry). The search is a constrained
//! Newton method (Wang, Journal of the Royal Statistical Society B 69, 2007): cells whose slope is
//! highest between those in use join them, a quadratic programme drops those that are not wanted.

use super::AdequacyError;
use super::cells::{Cells, Differences, Ended};
use super::quadratic::Quadratic;
use crate::numerics::elementary::log_one_minus_exp_minus;

/// Conditions of a maximum are met to this share of all lives.
const SETTLED: f64 = 1e-8;
/// The search goes on until they are met to this.
const AIMED_AT: f64 = 1e-12;
const STEPS: usize = 300;

/// Cumulative hazards of the cells; infinite where nobody outlasts a cell.
#[derive(Debug, Clone)]
pub(super) struct Hazards {
    pub by_cell: Vec<f64>,
    pub log_likelihood: f64,
    /// How far the conditions of a maximum are missed, in shares of all lives.
    pub off: f64,
}

impl Hazards {
    pub fn new(cells: &Cells) -> Result<Self, AdequacyError> {
        let mut search = Search::new(cells);
        let rows: Vec<Ended> = search.rows.clone();
        let mut iterations = 0;
        if rows.iter().all(|row| row.first == row.last) {
            // Kaplan and Meier (1958): deaths over those at risk.
            for row in &rows {
                search.hazards[row.first] = (row.weight / cells.passed[row.first]).ln_1p();
            }
        } else {
            search.start();
            iterations = search.climb();
        }
        let at = search.slopes();
        if !at.off.is_finite() || at.off > SETTLED {
            return Err(AdequacyError::NotSettled {
                off: at.off,
                iterations,
            });
        }
        let log_likelihood = search.value(&search.hazards);
        let mut by_cell = search.hazards;
        for (hazard, last) in by_cell.iter_mut().zip(&search.is_final) {
            if *last {
                *hazard = f64::INFINITY;
            }
        }
        Ok(Self {
            by_cell,
            log_likelihood,
            off: at.off,
        })
    }
}

/// Slopes of the log-likelihood at the present hazards.
struct Slopes {
    by_cell: Vec<f64>,
    off: f64,
}

struct Search<'a> {
    cells: &'a Cells,
    /// Lives that ended, without those that a final cell takes up.
    rows: Vec<Ended>,
    /// Cells in which all that are left end: nobody outlasts them.
    is_final: Vec<bool>,
    hazards: Vec<f64>,
}

impl<'a> Search<'a> {
    /// A cell that nobody outlasts has no price: the latest of them takes up every life that may have
    /// ended in it, then the one before takes up what is left. Without late entry there is at most one.
    fn new(cells: &'a Cells) -> Self {
        let mut rows = cells.ended.clone();
        let mut is_final = vec![false; cells.cells.len()];
        for k in (0..cells.cells.len()).rev() {
            if cells.passed[k] == 0.0 {
                let before = rows.len();
                rows.retain(|row| row.last < k || row.first > k);
                is_final[k] = rows.len() < before;
            }
        }
        Self {
            cells,
            rows,
            is_final,
            hazards: vec![0.0; cells.cells.len()],
        }
    }

    /// Few cells to begin with: each exact age, and the last cell of a run that holds none in use yet.
    fn start(&mut self) {
        let mut deaths = vec![0.0; self.hazards.len()];
        let mut order: Vec<&Ended> = self.rows.iter().collect();
        order.sort_by_key(|row| (row.first != row.last, row.last));
        let mut used = std::collections::BTreeSet::new();
        for row in order {
            let found = used.range(row.first..=row.last).next_back().copied();
            let cell = found.unwrap_or(row.last);
            used.insert(cell);
            deaths[cell] += row.weight;
        }
        for (k, deaths) in deaths.into_iter().enumerate() {
            if deaths > 0.0 {
                self.hazards[k] = (deaths / self.cells.passed[k]).ln_1p();
            }
        }
        for _ in 0..20 {
            self.share_out();
        }
    }

    /// One step of minorisation: `ln(1 - e^-x) = ln x + ln((1 - e^-x)/x)`, the second part convex and
    /// so above its tangent; the sum of logs is then shared out as in an EM step. Never goes down.
    fn share_out(&mut self) {
        let used = self.used();
        let sums = RowSums::new(&self.hazards, &self.rows, &used);
        let mut shares = Differences::new(used.len());
        let mut prices = Differences::new(used.len());
        for (row, (first, end, x)) in self.rows.iter().zip(&sums.rows) {
            shares.add(*first, *end, row.weight / x);
            prices.add(*first, *end, -row.weight * tangent(*x));
        }
        let (shares, prices) = (shares.sums(), prices.sums());
        for (j, k) in used.iter().enumerate() {
            self.hazards[*k] *= shares[j] / (self.cells.passed[*k] + prices[j]);
        }
    }

    fn used(&self) -> Vec<usize> {
        let cells = 0..self.hazards.len();
        cells.filter(|k| self.hazards[*k] > 0.0).collect()
    }

    fn slopes(&self) -> Slopes {
        let used = self.used();
        let sums = RowSums::new(&self.hazards, &self.rows, &used);
        let mut gain = Differences::new(self.hazards.len());
        for (row, (_, _, x)) in self.rows.iter().zip(&sums.rows) {
            gain.add(row.first, row.last + 1, row.weight / x.exp_m1());
        }
        let gain = gain.sums();
        let by_cell: Vec<f64> = (gain.iter().zip(&self.cells.passed))
            .map(|(gain, price)| gain - price)
            .collect();
        let off = self.off(&by_cell);
        Slopes { by_cell, off }
    }

    /// In the masses the slope is that in the hazard over the survival after the cell; a maximum has
    /// none above zero and none below where there is mass (Gentleman and Geyer, Biometrika 81, 1994).
    fn off(&self, slopes: &[f64]) -> f64 {
        let (mut survival, mut worst) = (1.0, 0.0_f64);
        for (k, slope) in slopes.iter().enumerate() {
            if self.is_final[k] {
                survival = 1.0;
                continue;
            }
            survival *= (-self.hazards[k]).exp();
            let free = self.hazards[k] > 0.0;
            let miss = if free { slope.abs() } else { slope.max(0.0) };
            if self.cells.passed[k] > 0.0 {
                worst = worst.max(miss / (survival * self.cells.weight));
            }
        }
        worst
    }

    fn value(&self, hazards: &[f64]) -> f64 {
        let used: Vec<usize> = (0..hazards.len()).filter(|k| hazards[*k] > 0.0).collect();
        let sums = RowSums::new(hazards, &self.rows, &used);
        let price: f64 = (used.iter().map(|k| hazards[*k] * self.cells.passed[*k])).sum();
        let ended: f64 = (self.rows.iter().zip(&sums.rows))
            .map(|(row, (_, _, x))| row.weight * log_one_minus_exp_minus(x.ln()).0)
            .sum();
        ended - price
    }

    /// Steps taken.
    fn climb(&mut self) -> usize {
        let mut best = (f64::INFINITY, self.hazards.clone());
        let mut idle = 0;
        for step in 0..STEPS {
            let at = self.slopes();
            idle = if at.off < best.0 { 0 } else { idle + 1 };
            if at.off < best.0 {
                best = (at.off, self.hazards.clone());
            }
            if at.off <= AIMED_AT || (best.0 <= SETTLED && idle > 3) {
                self.hazards = best.1;
                return step;
            }
            self.newton(&at.by_cell);
        }
        self.hazards = best.1;
        STEPS
    }

    fn newton(&mut self, slopes: &[f64]) {
        let working = self.working(slopes);
        let quadratic = Quadratic::new(&self.hazards, &self.rows, &working, slopes);
        let wanted = quadratic.maximise();
        let step: Vec<f64> = (working.iter().zip(&wanted))
            .map(|(k, wanted)| wanted - self.hazards[*k])
            .collect();
        let rise: f64 = (working.iter().zip(&step))
            .map(|(k, s)| slopes[*k] * s)
            .sum();
        if !self.take(&working, &wanted, &step, rise) {
            self.share_out();
        }
    }

    /// Cells in use, and between each two of them the one where the slope is highest, if it rises.
    fn working(&self, slopes: &[f64]) -> Vec<usize> {
        let mut working = Vec::new();
        let mut best: Option<usize> = None;
        for (k, slope) in slopes.iter().enumerate() {
            if self.hazards[k] > 0.0 {
                working.extend(best.take());
                working.push(k);
            } else if *slope > 0.0
                && self.cells.passed[k] > 0.0
                && best.is_none_or(|b| *slope > slopes[b])
            {
                best = Some(k);
            }
        }
        working.extend(best);
        working
    }

    /// The longest of the step, its half, its quarter... that rises enough.
    fn take(&mut self, working: &[usize], wanted: &[f64], step: &[f64], rise: f64) -> bool {
        let here = self.value(&self.hazards);
        // Below this the value cannot tell a rise from rounding.
        let rounding = 1e-12 * here.abs().max(self.cells.weight);
        let mut length = 1.0;
        for _ in 0..40 {
            let mut tried = self.hazards.clone();
            for ((k, wanted), step) in working.iter().zip(wanted).zip(step) {
                tried[*k] = if length == 1.0 {
                    *wanted
                } else {
                    self.hazards[*k] + length * step
                };
            }
            let there = self.value(&tried);
            if there.is_finite() && there >= here + 1e-4 * length * rise - rounding {
                self.hazards = tried;
                return true;
            }
            length *= 0.5;
        }
        false
    }
}

/// Slope of `ln((1 - e^-x)/x)`.
fn tangent(x: f64) -> f64 {
    if x < 1e-3 {
        -0.5 + x / 12.0
    } else {
        1.0 / x.exp_m1() - 1.0 / x
    }
}

/// For each row the places among the cells in use that it covers, and the sum of their hazards.
pub(super) struct RowSums {
    pub rows: Vec<(usize, usize, f64)>,
}

impl RowSums {
    pub fn new(hazards: &[f64], rows: &[Ended], used: &[usize]) -> Self {
        let places = places(hazards.len(), used);
        let mut before = Vec::with_capacity(used.len() + 1);
        before.push(0.0);
        let mut total = 0.0;
        for k in used {
            total += hazards[*k];
            before.push(total);
        }
        let sums = rows.iter().map(|row| {
            let (first, end) = (places[row.first], places[row.last + 1]);
            // A short run is added up by itself: the difference of two totals would round.
            let x = if end - first <= 32 {
                used[first..end].iter().map(|k| hazards[*k]).sum()
            } else {
                before[end] - before[first]
            };
            (first, end, x)
        });
        Self {
            rows: sums.collect(),
        }
    }
}

/// How many of the cells in use lie before each cell, and before the end.
fn places(cells: usize, used: &[usize]) -> Vec<usize> {
    let mut places = vec![0; cells + 1];
    for k in used {
        places[k + 1] = 1;
    }
    for k in 0..cells {
        places[k + 1] += places[k];
    }
    places
}
