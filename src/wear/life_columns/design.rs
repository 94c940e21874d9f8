//! How the covariates of a life table lie to one another.

use super::super::standardise::Standardisation;
use super::{LARGE, LifeColumns, Section};
use nalgebra::{DMatrix, DVector};

/// Rows that a large table's covariates are first judged by.
const JUDGED_BY: usize = 4096;
/// A sample of the rows settles that covariates are independent where its smallest eigenvalue is above this.
const PLAINLY_INDEPENDENT: f64 = 1e-6;

/// Centres, spreads and correlations of the covariates over the rows that say something.
#[derive(Debug, Clone)]
pub struct Design {
    pub standardisation: Standardisation,
    /// Smallest eigenvalue of the correlations, and its direction; a constant column counts as zeros.
    smallest: Option<(f64, DVector<f64>)>,
}

impl Design {
    /// Of a table to be fitted.
    ///
    /// Of a large table a sample is looked at first. Along any direction the rows left out can only add to the sum of
    /// squares about the mean, so that covariates which are independent in the sample are so in the table. Where the
    /// sample leaves a doubt, all rows are gone through.
    pub fn for_fit(columns: &LifeColumns) -> Self {
        let counted = columns.counted();
        if counted > LARGE {
            let sample = Self::of(&columns.thinned(counted / JUDGED_BY));
            let smallest = sample.smallest.as_ref();
            if smallest.is_none_or(|(value, _)| *value > PLAINLY_INDEPENDENT) {
                return sample;
            }
        }
        Self::of(columns)
    }

    /// From all rows.
    fn of(columns: &LifeColumns) -> Self {
        let width = columns.names().len();
        let count = columns.counted().max(1) as f64;
        let rows = || columns.sections().filter(|section| section.kind.is_row());
        let of_column = |j: usize, figure: fn(&[f64]) -> f64| {
            rows().map(move |section| figure(&section.covariates[j]))
        };
        let means: Vec<f64> = (0..width)
            .map(|j| of_column(j, |column| column.iter().sum()).sum::<f64>() / count)
            .collect();
        let largest = |j: usize| {
            let sizes = of_column(j, |column| {
                column.iter().fold(0.0, |most, x| most.max(x.abs()))
            });
            sizes.fold(0.0, f64::max)
        };
        let mut products = DMatrix::zeros(width, width);
        for i in 0..width {
            for j in 0..=i {
                let of_section = |section: &Section| {
                    centred_product(
                        &section.covariates[i],
                        means[i],
                        &section.covariates[j],
                        means[j],
                    )
                };
                products[(i, j)] = rows().map(of_section).sum::<f64>() / count;
                products[(j, i)] = products[(i, j)];
            }
        }
        let scales: Vec<f64> = (0..width).map(|j| products[(j, j)].sqrt()).collect();
        let per_scale: Vec<f64> = (0..width)
            .map(|j| {
                if scales[j] > 1e-12 * largest(j) {
                    1.0 / scales[j]
                } else {
                    0.0
                }
            })
            .collect();
        let correlations = DMatrix::from_fn(width, width, |i, j| {
            products[(i, j)] * per_scale[i] * per_scale[j]
        });
        Self {
            standardisation: Standardisation::new(means, scales),
            smallest: (width > 0).then(|| smallest(correlations)),
        }
    }

    /// The covariates' parts in a direction along which they add up to a constant, if there is one.
    pub fn collinear(&self) -> Option<&DVector<f64>> {
        let (value, direction) = self.smallest.as_ref()?;
        // The eigenvalue is a squared singular value: 1e-12 of the largest is rounding.
        (*value <= 1e-12 * direction.len() as f64).then_some(direction)
    }
}

fn smallest(correlations: DMatrix<f64>) -> (f64, DVector<f64>) {
    let decomposed = correlations.symmetric_eigen();
    let (at, value) = decomposed.eigenvalues.argmin();
    (value, decomposed.eigenvectors.column(at).into_owned())
}

/// Four sums side by side: one would wait for each addition.
fn centred_product(x: &[f64], x_mean: f64, y: &[f64], y_mean: f64) -> f64 {
    let product = |x: &f64, y: &f64| (x - x_mean) * (y - y_mean);
    let ((x, x_rest), (y, y_rest)) = (x.as_chunks::<4>(), y.as_chunks::<4>());
    let mut sums = [0.0; 4];
    for (x, y) in x.iter().zip(y) {
        for lane in 0..4 {
            sums[lane] += product(&x[lane], &y[lane]);
        }
    }
    let rest: f64 = x_rest.iter().zip(y_rest).map(|(x, y)| product(x, y)).sum();
    sums.iter().sum::<f64>() + rest
}
