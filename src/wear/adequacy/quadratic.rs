//! The quadratic model of the log-likelihood on the cells in use, maximised over hazards that are not
//! negative.
//!
//! Source: the active-set method for least squares without negative parts of Lawson and Hanson, Solving
//! Least Squares Problems, 1974, chapter 23, started from the present hazards.

use super::cells::{Differences, Ended};
use super::hazards::RowSums;
use nalgebra::{DMatrix, DVector};

/// Up to this many cells the normal equations are factored, beyond solved by conjugate gradients.
const FACTORED: usize = 120;

/// Rows that bend the model: places of the first and one past the last cell, and the curvature.
struct Bend {
    first: usize,
    end: usize,
    curvature: f64,
}

pub(super) struct Quadratic {
    bends: Vec<Bend>,
    diagonal: Vec<f64>,
    dense: Option<DMatrix<f64>>,
    here: Vec<f64>,
    /// Slope plus curvature times the present hazards: the right-hand side of the normal equations.
    target: Vec<f64>,
}

impl Quadratic {
    pub fn new(hazards: &[f64], rows: &[Ended], working: &[usize], slopes: &[f64]) -> Self {
        let sums = RowSums::new(hazards, rows, working);
        let bends: Vec<Bend> = (rows.iter().zip(&sums.rows))
            .map(|(row, (first, end, x))| Bend {
                first: *first,
                end: *end,
                // -(ln(1 - e^-x))'' = 1/(4 sinh^2(x/2)).
                curvature: row.weight / (2.0 * (0.5 * x).sinh()).powi(2),
            })
            .collect();
        let mut model = Self {
            diagonal: Vec::new(),
            dense: None,
            here: working.iter().map(|k| hazards[*k]).collect(),
            target: Vec::new(),
            bends,
        };
        model.diagonal = model.diagonal_of();
        model.dense = (working.len() <= FACTORED).then(|| model.matrix());
        let bent = model.times(&model.here);
        model.target = (working.iter().zip(bent))
            .map(|(k, bent)| slopes[*k] + bent)
            .collect();
        model
    }

    fn diagonal_of(&self) -> Vec<f64> {
        let mut diagonal = Differences::new(self.here.len());
        for bend in &self.bends {
            diagonal.add(bend.first, bend.end, bend.curvature);
        }
        diagonal.sums()
    }

    /// Entry `(j, k)` is the curvature of the rows that cover both.
    fn matrix(&self) -> DMatrix<f64> {
        let size = self.here.len();
        let mut matrix = DMatrix::zeros(size, size);
        for j in 0..size {
            let mut column = Differences::new(size);
            for bend in &self.bends {
                if bend.first <= j && j < bend.end {
                    column.add(bend.first, bend.end, bend.curvature);
                }
            }
            matrix.set_column(j, &DVector::from_vec(column.sums()));
        }
        matrix
    }

    fn times(&self, vector: &[f64]) -> Vec<f64> {
        if let Some(dense) = &self.dense {
            return (dense * DVector::from_column_slice(vector)).data.into();
        }
        let mut before = Vec::with_capacity(vector.len() + 1);
        before.push(0.0);
        let mut total = 0.0;
        for value in vector {
            total += value;
            before.push(total);
        }
        let mut product = Differences::new(vector.len());
        for bend in &self.bends {
            let sum = match bend.end - bend.first {
                1 => vector[bend.first],
                _ => before[bend.end] - before[bend.first],
            };
            product.add(bend.first, bend.end, bend.curvature * sum);
        }
        product.sums()
    }

    /// The hazards at the top of the model, none negative.
    pub fn maximise(&self) -> Vec<f64> {
        let mut at = self.here.clone();
        let mut free = vec![true; at.len()];
        // Each round but the last holds at least one more cell at zero.
        for _ in 0..=at.len() {
            let top = self.solve(&free, &at);
            let down: Vec<usize> = (0..at.len())
                .filter(|k| free[*k] && top[*k] <= 0.0)
                .collect();
            if down.is_empty() {
                return top;
            }
            let reach = |k: usize| at[k] / (at[k] - top[k]);
            let length = down.iter().map(|k| reach(*k)).fold(1.0, f64::min).max(0.0);
            let gone: Vec<usize> = down.into_iter().filter(|k| reach(*k) <= length).collect();
            for (at, top) in at.iter_mut().zip(&top) {
                *at += length * (top - *at);
            }
            for k in gone {
                (at[k], free[k]) = (0.0, false);
            }
        }
        at
    }

    /// The top of the model with the cells that are not free at zero.
    fn solve(&self, free: &[bool], start: &[f64]) -> Vec<f64> {
        let places: Vec<usize> = (0..free.len()).filter(|k| free[*k]).collect();
        let Some(dense) = &self.dense else {
            return self.by_conjugate_gradients(free, start);
        };
        // Cells that the same rows cover leave the matrix singular; the ridge picks one of the tops.
        let matrix = DMatrix::from_fn(places.len(), places.len(), |i, j| {
            let ridge = if i == j { 1.0 + 1e-11 } else { 1.0 };
            dense[(places[i], places[j])] * ridge
        });
        let target = DVector::from_iterator(places.len(), places.iter().map(|k| self.target[*k]));
        match matrix.cholesky() {
            Some(factor) => {
                let solution = factor.solve(&target);
                let mut all = vec![0.0; free.len()];
                for (i, k) in places.iter().enumerate() {
                    all[*k] = solution[i];
                }
                all
            }
            None => self.by_conjugate_gradients(free, start),
        }
    }

    /// Conjugate gradients, scaled by the diagonal.
    fn by_conjugate_gradients(&self, free: &[bool], start: &[f64]) -> Vec<f64> {
        let masked = |vector: Vec<f64>| -> Vec<f64> {
            let pairs = vector.into_iter().zip(free);
            pairs.map(|(v, free)| if *free { v } else { 0.0 }).collect()
        };
        let scaled =
            |r: &[f64]| -> Vec<f64> { r.iter().zip(&self.diagonal).map(|(r, d)| r / d).collect() };
        let mut x = start.to_vec();
        let bent = self.times(&x);
        let mut residual = masked(self.target.iter().zip(bent).map(|(t, b)| t - b).collect());
        let mut direction = scaled(&residual);
        let mut size = dot(&residual, &direction);
        let enough = 1e-26 * size.max(1e-30);
        for _ in 0..2 * x.len() + 50 {
            let bent = masked(self.times(&direction));
            let curvature = dot(&direction, &bent);
            if size <= enough || curvature <= 0.0 {
                break;
            }
            let length = size / curvature;
            for k in 0..x.len() {
                x[k] += length * direction[k];
                residual[k] -= length * bent[k];
            }
            let next = scaled(&residual);
            let next_size = dot(&residual, &next);
            for (d, n) in direction.iter_mut().zip(&next) {
                *d = n + next_size / size * *d;
            }
            size = next_size;
        }
        x
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
